// The small machine: parts in place, joints, requirements. World frame W, mm, rad.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/part.h"

namespace fitwright {

struct PartUse {
  PartId part;
  int quantity = 1;
  Pose X_WP = Pose::Identity();  // nominal place in the assembled machine
};

enum class JointKind { kScrewedPattern, kSpigotInBore, kFaceContact, kPressFit, kBearingSeat };
template <>
struct WordsOf<JointKind> {
  static constexpr auto kAll = std::to_array<Word<JointKind>>(
      {{JointKind::kScrewedPattern, "screwed_pattern"},
       {JointKind::kSpigotInBore, "spigot_in_bore"},
       {JointKind::kFaceContact, "face_contact"},
       {JointKind::kPressFit, "press_fit"},
       {JointKind::kBearingSeat, "bearing_seat"}});
};

// What becomes of the play that a joint leaves.
enum class FloatKind { kChance, kAdjustedByEye, kAdjustedByIndicator, kPushed };
template <>
struct WordsOf<FloatKind> {
  static constexpr auto kAll = std::to_array<Word<FloatKind>>(
      {{FloatKind::kChance, "chance"},
       {FloatKind::kAdjustedByEye, "adjusted_by_eye"},
       {FloatKind::kAdjustedByIndicator, "adjusted_by_indicator"},
       {FloatKind::kPushed, "pushed"}});
};

struct Screw {
  std::string thread;      // "M3"
  double length_mm = 0;
  double major_mm = 0;     // nominal
  double pitch_mm = 0;
};

// moving is placed on fixed. Meaning of the two features by kind:
//   screwed_pattern: moving or fixed holds the clearance holes, the other the tapped holes;
//   spigot_in_bore: an OuterDiameter and a Hole; face_contact: two PlanarFaces, opposed;
//   press_fit, bearing_seat: an OuterDiameter and a Hole.
struct Joint {
  JointId name;
  JointKind kind = JointKind::kFaceContact;
  FeatureRef fixed;
  FeatureRef moving;
  std::optional<Screw> screw;       // screwed_pattern
  FloatKind float_kind = FloatKind::kChance;
  bool float_assumed = true;        // not stated in the file
  Vec3 push_W = -Vec3::UnitZ();     // kPushed: the way it is pushed
  bool comes_apart = true;          // taken apart and put together in the machine's life
};

enum class RequirementKind {
  kScrewsEnter, kClearance, kInterference, kFlush, kSquare, kDistance, kAxesMeet
};
template <>
struct WordsOf<RequirementKind> {
  static constexpr auto kAll = std::to_array<Word<RequirementKind>>(
      {{RequirementKind::kScrewsEnter, "screws_enter"},
       {RequirementKind::kClearance, "clearance"},
       {RequirementKind::kInterference, "interference"},
       {RequirementKind::kFlush, "flush"},
       {RequirementKind::kSquare, "square"},
       {RequirementKind::kDistance, "distance"},
       {RequirementKind::kAxesMeet, "axes_meet"}});
};

// lower and upper bound the measured quantity; absent = not bounded on that side.
//   screws_enter: joint only.
//   clearance: bore diameter - shaft diameter, mm (a = shaft, b = bore); interference: the negative.
//   flush: step between faces a and b at every corner of their overlap, mm, |step| <= upper.
//   square: angle between a's and b's axes or normals off its nominal, rad, |angle| <= upper.
//   distance: signed distance of face a beyond face b along b's normal at at_W_mm, mm.
//   axes_meet: shortest distance of two crossing axes, mm, <= upper.
struct Requirement {
  RequirementId name;
  RequirementKind kind = RequirementKind::kClearance;
  std::optional<JointId> joint;
  FeatureRef a;
  FeatureRef b;
  std::optional<double> lower;
  std::optional<double> upper;
  std::optional<Vec3> at_W_mm;
  std::string words;     // the builder's own sentence, may be empty
  bool derived = false;  // follows from a joint or a fit, not stated by itself
};

struct Machine {
  std::string name;
  LengthUnit display_unit = LengthUnit::kMillimetre;
  std::vector<Part> parts;       // one for each sheet used
  std::vector<PartUse> uses;     // in the order of the file
  std::vector<Joint> joints;
  std::vector<Requirement> requirements;  // stated and derived
  std::vector<std::string> cautions;      // the machine's own, printed with the plan
  const Part* FindPart(const PartId& id) const {
    for (const Part& p : parts) {
      if (p.name == id) return &p;
    }
    return nullptr;
  }
  const Feature* Find(const FeatureRef& ref) const {
    const Part* part = FindPart(ref.part);
    return part == nullptr ? nullptr : part->Find(ref.feature);
  }
  const PartUse* FindUse(const PartId& id) const {
    for (const PartUse& u : uses) {
      if (u.part == id) return &u;
    }
    return nullptr;
  }
};

}  // namespace fitwright
