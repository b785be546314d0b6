// Volumes swept by cutters, from nothing but the tool's sizes and its path, in the setup frame S.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// What the cutting part of the tool sweeps; solids that may overlap, to be taken away in one Cut.
// - plunge: at each point the tip (end of the cone, or flat) is at the point; the cutting body,
// diameter
//   set_diameter_mm if > 0, else the tool's, stands from there to flute_mm above where it entered
//   (from_z_mm). Cone from point_deg (180 = flat). Boring heads and hones cut flat.
// - mill: the tip moves along straight lines, level or upright (a sloping one is kOutOfRange); the
//   cutting body reaches flute_mm above the tip. Round ends at each point. set_diameter_mm as above
//   (fly cutters are swept as full discs).
// - turn: section_T_mm moved along the polyline (x = radius, z; y ignored) and turned about S's z;
//   what would lie at r < 0 is left out. One point alone = the section standing there.
// - cut_around, cut_out: the prism on the closed outline of lines and arcs from the points' z up to
//   from_z_mm, or all that stands around it.
// - stroke: a box from the axis to the edge's x, as wide as the tool, over the stroke's length.
// - saw: all beyond the plane through points[0] on the side of points[1].
// Form tools, and files that round an edge (radius = half of set_diameter_mm), are swept where they
// stand at the end of their path, on the side that they come from. A die's own room (die and holder
// as a ring about the work) is given for it, and threading and knurling tools' as they pass beside
// the blank: nothing is to be cut with these.
// Taps, punches, files on other paths, and paths without points sweep nothing (empty vector).
// Errors: kOutOfRange (missing or senseless sizes, message names the tool), kKernel.
Result<std::vector<Solid>> MakeSweptCutter(const Tool& tool, const PathPiece& piece);

// What must not touch anything: shank (shank_mm, from flute_mm to stick_out_mm above the tip) and
// holder (holder_diameter_mm, holder_length_mm above that), swept likewise over the same path.
// Lathe single points have their shank in section_T: nothing here. Missing sizes (0) leave that
// cylinder out.
Result<std::vector<Solid>> MakeSweptHolder(const Tool& tool, const PathPiece& piece);

// The tool's half outline (r, z) from the tip at (0, 0) up to body_mm, for drawing and sweeping.
std::vector<Vec2> CalcToolOutline(double diameter_mm, double point_deg, double body_mm);

// Length of the cone of a pointed tool, mm: (d / 2) / tan(point / 2); 0 when flat.
double CalcPointLength_mm(double diameter_mm, double point_deg);

// A fixture's solid, in S.
Result<Solid> MakeFixture(const FixtureSolid& fixture);

}  // namespace fitwright::solid
