// The bodies of a machine as they stand in it, and their features seen from there. Internal to
// recognize/.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"

namespace fitwright::recognize {

// Drawn on one line or in one plane, as assemblies are: what a designer meant to meet.
inline constexpr double kMeant_mm = 0.005;
inline constexpr double kSameWay = 1e-6;

// One part where it stands; a copy ("ring#2") is a body of its own.
struct Body {
  PartId id;
  const Part* part = nullptr;
  const BoughtPart* bought = nullptr;  // null of a part that is made
  Pose X_WP = Pose::Identity();
  Box3 box_P;  // its envelope
};

struct Shaft {
  std::size_t body = 0;  // place in Standing::bodies
  FeatureRef ref;
  Axis3 axis_W;
  double from_mm = 0;
  double to_mm = 0;
  Size diameter;
};

// Every place of the holes, bores and counterbores, each from its entry along `axis_W`.
struct Bore {
  std::size_t body = 0;
  FeatureRef ref;
  std::size_t place = 0;
  std::size_t places = 1;
  Axis3 axis_W;
  double depth_mm = 0;
  Size diameter;
  const Hole* hole = nullptr;
};

struct Face {
  std::size_t body = 0;
  FeatureRef ref;
  Vec3 normal_W = Vec3::UnitZ();
  double at_mm = 0;
};

struct StandingGroove {
  std::size_t body = 0;
  FeatureRef ref;
  Axis3 axis_W;
  double from_mm = 0;
  double to_mm = 0;
  double surface_mm = 0;  // diameter of what it is cut into
  const Groove* groove = nullptr;
};

struct Standing {
  std::vector<Body> bodies;
  std::vector<Shaft> shafts;
  std::vector<Bore> bores;
  std::vector<Face> faces;
  std::vector<StandingGroove> grooves;
  const Feature* Find(const FeatureRef& ref) const;
};

// In the order of the machine: made parts with their copies, then bought ones. The machine must
// outlive it.
Standing StandUp(const Machine& machine);

// Whether the point lies in the material: block and outer diameters less steps, pockets, outlines,
// holes, slots and square grooves. Chamfers, flats, tapers and keyways do not count.
bool Contains(const Body& body, const Vec3& p_W_mm);

double DistanceFrom(const Axis3& axis, const Vec3& point);
bool OnOneLine(const Axis3& a, const Axis3& b);
inline bool AreParallel(const Vec3& a, const Vec3& b) { return a.cross(b).norm() < kSameWay; }

// Area over which the two faces look at each other with material behind both, by points over their
// common rectangle, 32 each way; 0 where they do not look at each other. free: only where no third
// body stands half way between them.
double FacingArea_mm2(const Standing& standing, const Face& a, const Face& b, bool free = false);
// The distance between two faces that look at each other, seen along a's normal: below 0 where they
// run into each other.
double GapBetween_mm(const Face& a, const Face& b);

}  // namespace fitwright::recognize
