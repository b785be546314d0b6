// Small geometry of feature shapes that several floors need. Frame P, mm.
#pragma once

#include <optional>
#include <utility>

#include "fitwright/model/part.h"

namespace fitwright {

// Greatest outer diameter of the part about the axis that covers any of from..to along it; 0 = none.
double CoveringDiameter(const Part& part, const Axis3& axis_P, double from_mm, double to_mm);

// Radius of the surface that a groove is cut into: the outer diameter, or the narrowest hole about its
// axis where it is cut inside; 0 = none.
double GrooveSurfaceRadius(const Part& part, const Groove& groove);

// Outward normal of flat `index`, and how far every flat lies from the axis. One or three flats:
// `across` is to the far side of the outer diameter.
Vec3 FlatNormal(const Flats& flats, int index);
double FlatDistance(const Part& part, const Flats& flats);

// Whether a shaft's keyway is open at its from_mm and its to_mm end.
std::pair<bool, bool> OpenEnds(const Part& part, const Keyway& keyway);

// What geometric limits are counted on: a planar face (direction = its outward normal) or the axis of
// a hole, outer diameter, groove or taper; of several holes the first. None for other features.
struct FeatureLine {
  Axis3 axis_P;
  bool round = false;    // an axis
  double length_mm = 0;  // along the axis; 0 for a face
  int places = 1;        // how many holes stand alike
};
std::optional<FeatureLine> FindLine(const Feature& feature);

}  // namespace fitwright
