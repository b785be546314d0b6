// Putting parts together: contacts place a part on those that stand already; what stays free is
// float.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/variation/feature_forms.h"
#include "fitwright/variation/source.h"

namespace fitwright::variation {

// One condition on the in-plane move (t, theta) of a part: |offset + t + theta * J q| <= room, with
// J q = (-q.y, q.x). A screw at the joint face, a screw at its head's face, one end of a spigot.
struct FloatLimit {
  std::array<Form, 2> offset;
  Vec2 q = Vec2::Zero();   // from the float's origin, mm
  Form room;               // radial, mm; may come out negative
  int screw = -1;          // conditions of one screw share its rocking; -1 = spigot
  double rock_arm_mm = 0;  // how far this plane moves per rad of the screw's rocking
};

// Screws of one joint between two parts, or the spigots of a part: what limits its float.
struct FloatLimits {
  Vec3 origin_W = Vec3::Zero();
  Vec3 normal_W = Vec3::UnitZ();
  std::array<Vec3, 2> axes_W;
  std::vector<FloatLimit> limits;
  double engagement_mm = 1;  // rock = thread play / engagement
};

// Where a float came to rest in one build. Fills the sources tx, ty, theta (theta may be absent).
struct Play {
  std::uint64_t key = 0;
  PartId part;              // moves ...
  PartId anchor;            // ... on this one
  bool at_the_end = false;  // of the finished machine, not of a putting-together in the plan
  FloatKind kind = FloatKind::kChance;
  SourceIndex tx = 0;
  SourceIndex ty = 0;
  std::optional<SourceIndex> theta;
  FloatLimits within;
  Vec2 push = Vec2::Zero();  // kPushed: unit, in the axes
  // Adjusted: sources of the residual, and what is adjusted for (kAdjusted...), filled at the end.
  std::array<SourceIndex, 3> residual{};
  bool has_residual = false;
  std::vector<std::pair<Form, double>> targets;  // form without this play's sources, tolerance
  std::vector<std::array<double, 3>> target_factors;
  // Put together again on its marks: rests near where it was.
  bool returns = false;
  std::array<SourceIndex, 3> before{};
  bool before_turns = false;
  std::string words;
};

// A part placed: its displacement in W, the parts it stands on taken along.
using PlacedMap = std::map<PartId, Form6>;

struct AssemblyInput {
  const Machine* machine = nullptr;
  const FeatureMap* features = nullptr;
  SourceTable* sources = nullptr;
  double spread_scale = 1;
};

struct PlaceRequest {
  PartId part;
  std::vector<const Joint*> joints;  // of PlacingJoints, to parts that stand already
  std::uint64_t instance = 0;        // which putting-together: keys burrs and play
  bool screws_in = true;             // count the screws whose holes exist
  bool clamped_by_marks =
      false;  // what nothing limits is set by eye to the marks (spotting through)
  const Play* before = nullptr;  // the play it was cut together in; returns to it on its marks
};

struct PlaceResult {
  Form6 t_W;
  std::vector<Play> plays;  // in the order to be drawn
};

// The machine's joints as pairs of parts that place each other: belts place nothing, and the screws
// of a pattern also hold each part that they pass `between`.
std::vector<Joint> PlacingJoints(const Machine& machine);

// Places the part. Face contacts come first (three touch points each, as far as they are
// independent), then round joints and screws as limits of what is left in the plane. A round joint
// without a face holds at both its ends; two on one line, further apart than a face they stand
// beside is wide, hold at one end each and leave to the face the place along the line. A pin
// settles the turn, a groove its ring's place along the axis. What no joint settles stays as drawn.
// Errors: kNoPlan (a joint of unmade features).
Result<PlaceResult> PlacePart(const AssemblyInput& input, const PlacedMap& placed,
                              const PlaceRequest& request);

// The conditions of the joint's screws and of the spigots between its two parts, as they stand in
// `placed`; terms of `without` are left out (the part's own play). Empty when no hole pair exists
// yet. only_threaded: just the holes whose threads exist.
Result<FloatLimits> LimitsOf(const AssemblyInput& input, const PlacedMap& placed,
                             const Joint& joint, const std::vector<SourceIndex>& without,
                             bool only_threaded);

// Parts of a joint that stand in both of two lists; other end of a joint.
const FeatureRef& EndOn(const Joint& joint, const PartId& part);
const FeatureRef& OtherEnd(const Joint& joint, const PartId& part);
bool Joins(const Joint& joint, const PartId& part);

// Move of a feature's point in W, along direction_W.
void AddMoveInW(FormSum& sum, const AssemblyInput& input, const PlacedMap& placed,
                const FeatureRef& ref, const Vec3& point_W, const Vec3& direction_W,
                double factor = 1);

}  // namespace fitwright::variation
