// Solids from part sheets. Frame P, mm, every size at the middle of its limits. Threads are not
// modelled: a tapped hole is a hole of its drill's diameter.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// Block and bosses, or union of the outer diameters; nothing taken away yet.
Result<Solid> MakeEnvelope(const Part& part);

// The finished part: the envelope without the volume of every feature that removes material, in one
// cut. Errors: kOutOfRange for sizes that leave nothing, kUnknownFeature and kWrongFeatureKind for
// a chamfer on something that cannot bear one (message names part and feature), kKernel.
Result<Solid> MakeDesign(const Part& part);

// The same in two steps. What the design is cut from, and all that its features take away; cheap
// beside the cut, and telling: equal, equal designs.
struct DesignCut {
  Solid envelope;
  std::vector<Solid> removed;
};
Result<DesignCut> MakeDesignCut(const Part& part);
Result<Solid> MakeDesign(const Part& part, const DesignCut& cut);

// The bar as the sheet says it lies around the part, less what is already made on it (model/already_made.h).
Result<Solid> MakeStock(const Part& part);

// What a feature takes away. Holes, slots, pockets, steps, chamfers, grooves, flats: their own
// volume, run out a little where only air can be. PlanarFace: the stock beyond it (may be empty).
// OuterDiameter: the stock around it (may be empty).
Result<Solid> MakeFeatureVolume(const Part& part, const Feature& feature);

}  // namespace fitwright::solid
