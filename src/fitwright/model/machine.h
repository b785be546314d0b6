// The small machine: parts in place, joints, requirements. World frame W, mm, rad.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/part.h"

namespace fitwright {

// "ring" of "ring#2" and of "ring".
inline PartId SheetIdOf(const PartId& part) {
  const std::size_t mark = part.text().find('#');
  return mark == std::string::npos ? part : PartId(part.text().substr(0, mark));
}
// 2 of "ring#2", 1 of "ring"; 0 where no whole number from 2 to 9999 follows the mark.
inline std::size_t CopyNumberOf(const PartId& part) {
  const std::size_t mark = part.text().find('#');
  if (mark == std::string::npos) return 1;
  const std::string digits = part.text().substr(mark + 1);
  const bool plain = !digits.empty() && digits.size() <= 4 && digits.front() != '0' &&
                     digits.find_first_not_of("0123456789") == std::string::npos;
  const std::size_t number = plain ? std::stoul(digits) : 0;
  return number >= 2 ? number : 0;
}

struct PartUse {
  PartId part;
  int quantity = 1;
  Pose X_WP = Pose::Identity();  // nominal place in the assembled machine
  // Places of the copies that stand in the machine beside the first: "ring#2" is copies[0].
  std::vector<Pose> copies_X_WP = {};
};

// What is bought ready made. Kinds with a shape (the first five) are parts of the machine with features
// "outside", "bore", "low_end" and "high_end" about their own z axis; the rest are lines of the list.
enum class BoughtKind { kBearing, kCirclip, kPin, kWasher, kSleeve, kBelt, kScrew, kItem };
template <>
struct WordsOf<BoughtKind> {
  static constexpr auto kAll = std::to_array<Word<BoughtKind>>({{BoughtKind::kBearing, "bearing"},
                                                                {BoughtKind::kCirclip, "circlip"},
                                                                {BoughtKind::kPin, "pin"},
                                                                {BoughtKind::kWasher, "washer"},
                                                                {BoughtKind::kSleeve, "sleeve"},
                                                                {BoughtKind::kBelt, "belt"},
                                                                {BoughtKind::kScrew, "screw"},
                                                                {BoughtKind::kItem, "item"}});
};
struct BoughtPart {
  Part part;                     // its shape with the maker's limits; no features for lines of the list
  BoughtKind kind = BoughtKind::kItem;
  std::string what;              // "ball bearing 10 x 26 x 8"
  int quantity = 1;
  bool placed = false;           // stands in the machine: has a PartUse of its own in bought_uses
  double radial_play_mm = 0;     // bearing: most
  double axial_play_mm = 0;      // bearing: most
  double section_mm = 0;         // belt: diameter of a round one
  double pitch_length_mm = 0;    // belt
  std::string why;
  std::string stretch;           // belt: how it is drawn tight, in words
};

enum class JointKind {
  kScrewedPattern, kSpigotInBore, kFaceContact, kPressFit, kBearingSeat, kBearingOnShaft, kRunningFit,
  kSliderInBore, kBonded, kPinned, kHubOnShaft, kRingInGroove, kGasketedFace, kBelt
};
template <>
struct WordsOf<JointKind> {
  static constexpr auto kAll = std::to_array<Word<JointKind>>(
      {{JointKind::kScrewedPattern, "screwed_pattern"},
       {JointKind::kSpigotInBore, "spigot_in_bore"},
       {JointKind::kFaceContact, "face_contact"},
       {JointKind::kPressFit, "press_fit"},
       {JointKind::kBearingSeat, "bearing_seat"},
       {JointKind::kBearingOnShaft, "bearing_on_shaft"},
       {JointKind::kRunningFit, "running_fit"},
       {JointKind::kSliderInBore, "slider_in_bore"},
       {JointKind::kBonded, "bonded"},
       {JointKind::kPinned, "pinned"},
       {JointKind::kHubOnShaft, "hub_on_shaft"},
       {JointKind::kRingInGroove, "ring_in_groove"},
       {JointKind::kGasketedFace, "gasketed_face"},
       {JointKind::kBelt, "belt"}});
};
// An outer diameter in a hole.
constexpr bool IsRoundJoint(JointKind kind) {
  return kind == JointKind::kSpigotInBore || kind == JointKind::kPressFit ||
         kind == JointKind::kBearingSeat || kind == JointKind::kBearingOnShaft ||
         kind == JointKind::kRunningFit || kind == JointKind::kSliderInBore ||
         kind == JointKind::kBonded || kind == JointKind::kHubOnShaft;
}
// Two planar faces that look at each other and touch.
constexpr bool IsFaceJoint(JointKind kind) {
  return kind == JointKind::kFaceContact || kind == JointKind::kGasketedFace;
}

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
//   round joints (IsRoundJoint): an OuterDiameter and a Hole; face_contact, gasketed_face: two
//   PlanarFaces, opposed; pinned: Holes on the same lines across both parts, a pin through each pair;
//   ring_in_groove: the ring's OuterDiameter and the Groove; belt: two Grooves in one plane.
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
  std::vector<FeatureRef> between = {};  // screwed_pattern: clearance holes of parts (gaskets, plates) that the
                                    // screws pass between moving and fixed, from the head down
  double washer_mm = 0;             // screwed_pattern: thickness of the washers under the heads
  std::string compound = {};            // bonded: the adhesive's words
  double cure_min = 0;              // bonded: until it may be handled
  PartId belt = {};                     // belt: the bought belt
  std::optional<Size> pin = std::nullopt;  // pinned: diameter of each pin with its limits, where stated
};

enum class RequirementKind {
  kScrewsEnter, kClearance, kInterference, kFlush, kSquare, kDistance, kAxesMeet, kParallel, kAngle,
  kInLine, kRunOut, kProud, kEndFloat, kWallLeft, kEngagement, kFormula
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
       {RequirementKind::kAxesMeet, "axes_meet"},
       {RequirementKind::kParallel, "parallel"},
       {RequirementKind::kAngle, "angle"},
       {RequirementKind::kInLine, "in_line"},
       {RequirementKind::kRunOut, "run_out"},
       {RequirementKind::kProud, "proud"},
       {RequirementKind::kEndFloat, "end_float"},
       {RequirementKind::kWallLeft, "wall_left"},
       {RequirementKind::kEngagement, "engagement"},
       {RequirementKind::kFormula, "formula"}});
};

// A name in a formula and what it stands for. With b: how far apart the two are, above zero as drawn,
// whichever is named first: two planar faces at a's middle, two parallel axes, or a face and an axis
// that runs along it; else a's own size.
struct FormulaName {
  std::string name;
  FeatureRef a;
  std::optional<FeatureRef> b;
};
// value = expression over names, numbers, + - * / ^ ( ), pi, sqrt, sin, cos, tan, atan, abs, min, max
// (angles in degrees). Lengths in mm.
struct Formula {
  std::string expression;
  std::vector<FormulaName> names;
  std::string unit;   // words, as stated: "cm3", "rpm"; printed as it stands
};

// lower and upper bound the measured quantity; absent = not bounded on that side.
//   screws_enter: joint only; of a pinned joint: every pin goes in.
//   clearance: bore diameter - shaft diameter, mm (a = shaft, b = bore); interference: the negative.
//   flush: step between faces a and b at every corner of their overlap, mm, |step| <= upper.
//   square: angle between a's and b's axes or normals off its nominal, rad, |angle| <= upper.
//   distance: signed distance of face a beyond face b along b's normal at at_W_mm, mm.
//   axes_meet: shortest distance of two crossing axes, mm, <= upper.
//   parallel: angle between a's and b's axes or normals, rad, <= upper.
//   angle: angle between them less nominal_rad, rad, |difference| <= upper.
//   in_line: radial distance of a's axis from b's, mm, <= upper, at each end of a (extended = false) or
//   at each end of everything from a to b (extended = true). run_out: full reading of a turning about
//   b's axis, mm, <= upper, at each end of a.
//   proud: as distance at every corner of the overlap. end_float: sum of the gaps, each between faces
//   that look at each other, mm.
//   wall_left: least material between a and b, mm, >= lower. engagement: length of thread in mesh of
//   joint's screws, mm, >= lower. formula: its value.
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
  double nominal_rad = 0;                                // angle
  bool extended = false;                                 // in_line
  std::vector<std::pair<FeatureRef, FeatureRef>> gaps = {};   // end_float
  std::optional<Formula> formula = std::nullopt;
};

struct Machine {
  std::string name;
  LengthUnit display_unit = LengthUnit::kMillimetre;
  std::vector<Part> parts;       // one for each sheet used
  std::vector<PartUse> uses;     // in the order of the file
  std::vector<BoughtPart> bought;
  std::vector<PartUse> bought_uses;  // those that stand in the machine
  std::vector<Joint> joints;
  std::vector<Requirement> requirements;  // stated and derived
  std::vector<std::string> cautions;      // the machine's own, printed with the plan
  // Made or bought; of a copy ("ring#2") the part that it is a copy of.
  const Part* FindPart(const PartId& id) const {
    for (const Part& p : parts) {
      if (p.name == id) return &p;
    }
    if (const BoughtPart* ready = FindBought(id)) return &ready->part;
    const PartId sheet = SheetIdOf(id);
    return sheet == id ? nullptr : FindPart(sheet);
  }
  const BoughtPart* FindBought(const PartId& id) const {
    for (const BoughtPart& b : bought) {
      if (b.part.name == id) return &b;
    }
    return nullptr;
  }
  const Feature* Find(const FeatureRef& ref) const {
    const Part* part = FindPart(ref.part);
    return part == nullptr ? nullptr : part->Find(ref.feature);
  }
  // Of a part, or of one of its copies that stand in the machine.
  const PartUse* FindUse(const PartId& id) const {
    for (const std::vector<PartUse>* list : {&uses, &bought_uses}) {
      for (const PartUse& u : *list) {
        if (u.part == id) return &u;
      }
    }
    const PartId sheet = SheetIdOf(id);
    const PartUse* use = sheet == id ? nullptr : FindUse(sheet);
    const std::size_t number = CopyNumberOf(id);
    const bool stands = use != nullptr && number >= 2 && number <= use->copies_X_WP.size() + 1;
    return stands ? use : nullptr;
  }
  // Where the part or the copy stands.
  std::optional<Pose> FindPlace(const PartId& id) const {
    const PartUse* use = FindUse(id);
    if (use == nullptr) return std::nullopt;
    const std::size_t number = CopyNumberOf(id);
    return number == 1 ? use->X_WP : use->copies_X_WP[number - 2];
  }
};

}  // namespace fitwright
