#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/trade/fasteners.h"
#include "fitwright/model/known_words.h"
#include "fitwright/model/machine_check.h"
#include "fitwright/units/length.h"

namespace fitwright {
namespace {

constexpr double kParallel = 1e-6;  // length of the sum of drawn normals that look at each other
// Drawn gap beyond which two faces are not meant to touch; nearer ones are a matter for the checks.
constexpr double kFacesApart_mm = 2;

class JointCheck {
 public:
  JointCheck(MachineCheck& check, const Joint& joint)
      : c_(check), joint_(joint), path_(fmt::format("joints.{}", joint.name.text())) {}

  void Run() {
    const Feature* fixed = c_.Resolve(joint_.fixed, path_ + ".fixed");
    const Feature* moving = c_.Resolve(joint_.moving, path_ + ".moving");
    if (joint_.fixed.part == joint_.moving.part) {
      c_.Add(ErrorCode::kSamePart, path_ + ".moving", "a part cannot be joined to itself",
             "name a feature of another part");
      return;
    }
    if (fixed == nullptr || moving == nullptr) return;
    OfKind(*fixed, *moving);
  }

 private:
  bool deep() const { return c_.deep(); }

  void OfKind(const Feature& fixed, const Feature& moving) {
    switch (joint_.kind) {
      case JointKind::kScrewedPattern:
        return Screwed(fixed, moving);
      case JointKind::kFaceContact:
      case JointKind::kGasketedFace:
        return Faces(fixed, moving);
      case JointKind::kSpigotInBore:
      case JointKind::kPressFit:
      case JointKind::kBearingSeat:
      case JointKind::kBearingOnShaft:
      case JointKind::kRunningFit:
      case JointKind::kSliderInBore:
      case JointKind::kBonded:
      case JointKind::kHubOnShaft:
        return Fitted(fixed, moving);
      case JointKind::kPinned:
        return Pinned(fixed, moving);
      case JointKind::kRingInGroove:
        return Ring(fixed, moving);
      case JointKind::kBelt:
        return Belt(fixed, moving);
    }
  }

  void Screwed(const Feature& fixed, const Feature& moving) {
    const auto* a = c_.Expect<Hole>(&fixed, joint_.fixed, path_ + ".fixed", "a hole");
    const auto* b = c_.Expect<Hole>(&moving, joint_.moving, path_ + ".moving", "a hole");
    if (!joint_.screw) {
      if (!deep()) return;
      c_.Add(ErrorCode::kMissingKey, path_ + ".screw", "the screws are not stated",
             "write screw = { thread = \"M3\", length = 12 }");
      return;
    }
    if (a == nullptr || b == nullptr || !deep()) return;
    if (a->thread.has_value() == b->thread.has_value()) {
      c_.Add(ErrorCode::kWrongFeatureKind, path_ + ".moving",
             a->thread ? "both patterns are tapped" : "neither pattern is tapped",
             "one holds the clearance holes, the other the tapped ones");
      return;
    }
    const Hole& tapped = a->thread ? *a : *b;
    const Hole& clear = a->thread ? *b : *a;
    if (tapped.thread->designation != joint_.screw->thread) {
      c_.Add(ErrorCode::kThreadMismatch, path_ + ".screw",
             fmt::format("the holes are tapped {}", tapped.thread->designation),
             fmt::format("write thread = \"{}\", or mend the holes", tapped.thread->designation));
    } else if (clear.diameter.upper_mm <= joint_.screw->major_mm) {
      c_.Add(ErrorCode::kScrewTooBig, path_ + ".screw",
             fmt::format("the screw of {} does not pass the hole of {}",
                         MmText(joint_.screw->major_mm), MmText(clear.diameter.nominal_mm)),
             "open the clearance holes, or take a smaller screw");
    }
    Pattern(*a, *b, clear, joint_.moving, path_ + ".moving");
    for (std::size_t i = 0; i < joint_.between.size(); ++i) Between(*a, joint_.between[i]);
  }

  // The screws also pass the holes of what is clamped between.
  void Between(const Hole& fixed, const FeatureRef& ref) {
    const std::string path = path_ + ".between";
    const Feature* feature = c_.Resolve(ref, path);
    const auto* hole = c_.Expect<Hole>(feature, ref, path, "a hole");
    if (hole == nullptr) return;
    if (ref.part == joint_.fixed.part || ref.part == joint_.moving.part) {
      c_.Add(ErrorCode::kSamePart, path, fmt::format("{} is not between", ref.part.text()),
             "name holes of parts that lie between the two", ref.text());
      return;
    }
    if (hole->thread) {
      c_.Add(ErrorCode::kWrongFeatureKind, path, fmt::format("{} is tapped", ref.text()),
             "name holes that the screws pass through", ref.text());
      return;
    }
    if (hole->diameter.upper_mm <= joint_.screw->major_mm) {
      c_.Add(ErrorCode::kScrewTooBig, path,
             fmt::format("the screw of {} does not pass {} of {}", MmText(joint_.screw->major_mm),
                         ref.text(), MmText(hole->diameter.nominal_mm)),
             "open these holes, or take a smaller screw", ref.text());
    }
    Pattern(fixed, *hole, *hole, ref, path);
  }

  void Pattern(const Hole& a, const Hole& b, const Hole& clear, const FeatureRef& ref_b,
               const std::string& path) {
    if (a.entries_P_mm.size() != b.entries_P_mm.size()) {
      c_.Add(ErrorCode::kPatternMismatch, path,
             fmt::format("{} holes against {}", b.entries_P_mm.size(), a.entries_P_mm.size()),
             "give both patterns the same holes");
      return;
    }
    const Pose fixed = c_.X_WP(joint_.fixed);
    const Pose moving = c_.X_WP(ref_b);
    if (!AreParallel(fixed.linear() * a.into_P, moving.linear() * b.into_P)) {
      c_.Add(ErrorCode::kDoNotMeet, path, "the two patterns' holes are not parallel",
             "mend at and turn of the part, or from of the holes");
      return;
    }
    std::set<std::size_t> taken;
    for (std::size_t i = 0; i < b.entries_P_mm.size(); ++i) {
      const Axis3 axis{moving * b.entries_P_mm[i], moving.linear() * b.into_P};
      std::size_t nearest = 0;
      double nearest_mm = 1e300;
      for (std::size_t k = 0; k < a.entries_P_mm.size(); ++k) {
        const double aside_mm = AsideOf(axis, fixed * a.entries_P_mm[k]);
        if (aside_mm < nearest_mm) {
          nearest_mm = aside_mm;
          nearest = k;
        }
      }
      if (nearest_mm > 0.5 * clear.diameter.middle_mm() || !taken.insert(nearest).second) {
        c_.Add(ErrorCode::kPatternMismatch, path,
               fmt::format("hole {} stands {} from the nearest of the other pattern", i + 1,
                           MmText(nearest_mm)),
               "mend at and turn of the part, or first, zero and towards of a pattern");
        return;
      }
    }
  }

  void Faces(const Feature& fixed, const Feature& moving) {
    const auto* a = c_.Expect<PlanarFace>(&fixed, joint_.fixed, path_ + ".fixed", "a planar face");
    const auto* b =
        c_.Expect<PlanarFace>(&moving, joint_.moving, path_ + ".moving", "a planar face");
    if (a == nullptr || b == nullptr || !deep()) return;
    const Pose X_a = c_.X_WP(joint_.fixed);
    const Pose X_b = c_.X_WP(joint_.moving);
    const Vec3 normal = X_a.linear() * a->normal_P;
    if ((normal + X_b.linear() * b->normal_P).norm() > kParallel) {
      c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving", "the two faces do not look at each other",
             "mend at and turn of the part, or name the face on the other side");
      return;
    }
    const double gap_mm = normal.dot(X_b * (b->at.nominal_mm * b->normal_P)) -
                          normal.dot(X_a * (a->at.nominal_mm * a->normal_P));
    if (std::abs(gap_mm) <= kFacesApart_mm) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving",
           fmt::format("the two faces stand {} apart", MmText(std::abs(gap_mm))),
           "mend at of the part, or the faces");
  }

  void Fitted(const Feature& fixed, const Feature& moving) {
    // Where neither is a shaft, the one that is not a bore should have been.
    const bool shaft_moves = std::holds_alternative<OuterDiameter>(moving.shape) ||
                             (!std::holds_alternative<OuterDiameter>(fixed.shape) &&
                              std::holds_alternative<Hole>(fixed.shape));
    const Feature& shaft = shaft_moves ? moving : fixed;
    const FeatureRef& shaft_ref = shaft_moves ? joint_.moving : joint_.fixed;
    const FeatureRef& bore_ref = shaft_moves ? joint_.fixed : joint_.moving;
    const auto* outer = c_.Expect<OuterDiameter>(
        &shaft, shaft_ref, path_ + (shaft_moves ? ".moving" : ".fixed"), "an outer diameter");
    const auto* bore = c_.Expect<Hole>(shaft_moves ? &fixed : &moving, bore_ref,
                                       path_ + (shaft_moves ? ".fixed" : ".moving"), "a bore");
    if (outer == nullptr || bore == nullptr || !deep()) return;
    const Pose X_s = c_.X_WP(shaft_ref);
    const Pose X_b = c_.X_WP(bore_ref);
    const Axis3 axis{X_b * bore->entries_P_mm.front(), X_b.linear() * bore->into_P};
    const Vec3 direction = X_s.linear() * outer->axis_P.direction;
    const double aside_mm = AsideOf(axis, X_s * outer->axis_P.point_mm);
    if (!AreParallel(axis.direction, direction) || aside_mm > 0.5 * bore->diameter.middle_mm()) {
      c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving",
             fmt::format("{} does not stand in {}", shaft_ref.text(), bore_ref.text()),
             "mend at and turn of the part");
      return;
    }
    const auto along = [&](double s_mm) {
      const Vec3 end = X_s * Vec3(outer->axis_P.point_mm + s_mm * outer->axis_P.direction);
      return (end - axis.point_mm).dot(axis.direction);
    };
    const double low = std::min(along(outer->from_mm), along(outer->to_mm));
    const double high = std::max(along(outer->from_mm), along(outer->to_mm));
    if (high > kGeometryNoise_mm && low < bore->depth_mm - kGeometryNoise_mm) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving",
           fmt::format("{} does not reach into {}", shaft_ref.text(), bore_ref.text()),
           "mend at and turn of the part");
  }

  // Holes of both parts, one in each for every pin that goes through.
  void Pinned(const Feature& fixed, const Feature& moving) {
    const auto* a = c_.Expect<Hole>(&fixed, joint_.fixed, path_ + ".fixed", "a hole");
    const auto* b = c_.Expect<Hole>(&moving, joint_.moving, path_ + ".moving", "a hole");
    if (a == nullptr || b == nullptr || !deep()) return;
    PinFits(*a, joint_.fixed);
    PinFits(*b, joint_.moving);
    if (a->entries_P_mm.size() > 1 || b->entries_P_mm.size() > 1)
      return Pattern(*a, *b, *b, joint_.moving, path_ + ".moving");
    const auto line_a = RoundLineIn(fixed, c_.X_WP(joint_.fixed));
    const auto line_b = RoundLineIn(moving, c_.X_WP(joint_.moving));
    if (!line_a || !line_b) return;
    const double aside_mm = AsideOf(line_a->axis_W, line_b->axis_W.point_mm);
    if (AreParallel(line_a->axis_W.direction, line_b->axis_W.direction) &&
        aside_mm < 0.5 * std::min(line_a->diameter_mm, line_b->diameter_mm)) {
      return;
    }
    c_.Add(
        ErrorCode::kNotInLine, path_ + ".moving",
        fmt::format("a pin through {} does not find {}", joint_.fixed.text(), joint_.moving.text()),
        "put the two holes on one line");
  }

  void PinFits(const Hole& hole, const FeatureRef& ref) {
    if (!joint_.pin || joint_.pin->lower_mm <= hole.diameter.upper_mm + trade::kSpringPinOver_mm) return;
    c_.Add(ErrorCode::kScrewTooBig, path_ + ".pin",
           fmt::format("the pin of {} does not go into {} of {}", MmText(joint_.pin->nominal_mm), ref.text(),
                       MmText(hole.diameter.nominal_mm)),
           "open the holes, or take a thinner pin");
  }

  void Ring(const Feature& fixed, const Feature& moving) {
    const bool ring_moves = !std::holds_alternative<Groove>(moving.shape);
    const auto* outer = c_.Expect<OuterDiameter>(
        ring_moves ? &moving : &fixed, ring_moves ? joint_.moving : joint_.fixed,
        path_ + (ring_moves ? ".moving" : ".fixed"), "a ring's outer diameter");
    const auto* groove =
        c_.Expect<Groove>(ring_moves ? &fixed : &moving, ring_moves ? joint_.fixed : joint_.moving,
                          path_ + (ring_moves ? ".fixed" : ".moving"), "a groove");
    if (outer == nullptr || groove == nullptr || !deep()) return;
    const auto a = RoundLineIn(fixed, c_.X_WP(joint_.fixed));
    const auto b = RoundLineIn(moving, c_.X_WP(joint_.moving));
    if (!a || !b) return;
    const double aside_mm = AsideOf(a->axis_W, b->middle_W());
    if (!AreParallel(a->axis_W.direction, b->axis_W.direction) || aside_mm > 1) {
      c_.Add(ErrorCode::kNotInLine, path_ + ".moving",
             fmt::format("{} and {} are not about one axis", joint_.moving.text(),
                         joint_.fixed.text()),
             "mend at and turn of the part");
      return;
    }
    const double apart_mm = std::abs((b->middle_W() - a->middle_W()).dot(a->axis_W.direction));
    const double halves_mm =
        0.5 * (std::abs(a->to_mm - a->from_mm) + std::abs(b->to_mm - b->from_mm));
    if (apart_mm < halves_mm) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving",
           fmt::format("{} does not stand in {}", joint_.moving.text(), joint_.fixed.text()),
           "mend at of the part");
  }

  void Belt(const Feature& fixed, const Feature& moving) {
    const BoughtPart* belt = c_.machine.FindBought(joint_.belt);
    if (belt == nullptr || belt->kind != BoughtKind::kBelt) {
      std::vector<std::string> names;
      for (const BoughtPart& b : c_.machine.bought) {
        if (b.kind == BoughtKind::kBelt) names.push_back(b.part.name.text());
      }
      c_.Add(ErrorCode::kUnknownBelt, path_ + ".belt",
             fmt::format("no belt {} is bought", joint_.belt.text()),
             names.empty() ? "write a [[bought]] with kind = \"belt\" first"
                           : fmt::format("write one of: {}", ListOf(names)),
             joint_.belt.text());
    }
    c_.Expect<Groove>(&fixed, joint_.fixed, path_ + ".fixed", "a groove");
    const auto* b = c_.Expect<Groove>(&moving, joint_.moving, path_ + ".moving", "a groove");
    if (belt == nullptr || b == nullptr || !std::holds_alternative<Groove>(fixed.shape) || !deep())
      return;
    const auto line_a = RoundLineIn(fixed, c_.X_WP(joint_.fixed));
    const auto line_b = RoundLineIn(moving, c_.X_WP(joint_.moving));
    if (!AreParallel(line_a->axis_W.direction, line_b->axis_W.direction)) {
      c_.Add(ErrorCode::kNotParallel, path_ + ".moving", "the two grooves' axes are not parallel",
             "mend turn of the part; a belt runs over parallel shafts");
      return;
    }
    const double apart_mm = (line_b->middle_W() - line_a->middle_W()).dot(line_a->axis_W.direction);
    if (std::abs(apart_mm) <= 0.5 * belt->section_mm) return;
    c_.Add(ErrorCode::kNotInOnePlane, path_ + ".moving",
           fmt::format("the two grooves stand {} out of one plane", MmText(std::abs(apart_mm))),
           "mend at of the part until both grooves stand in one plane");
  }

  MachineCheck& c_;
  const Joint& joint_;
  std::string path_;
};

}  // namespace

void CheckJoint(MachineCheck& check, const Joint& joint) { JointCheck(check, joint).Run(); }

}  // namespace fitwright
