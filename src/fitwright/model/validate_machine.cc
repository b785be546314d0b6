#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/model/known_words.h"
#include "fitwright/model/validate.h"
#include "fitwright/units/length.h"

namespace fitwright {
namespace {

constexpr double kParallel = 1e-6;  // sine of the angle between drawn directions that are the same
// Drawn gap beyond which two faces are not meant to touch; nearer ones are a matter for the checks.
constexpr double kFacesApart_mm = 2;

struct Check {
  const Machine& machine;
  ValidateDepth depth;
  std::vector<ModelFault>& faults;

  void Add(ErrorCode code, std::string path, std::string message, std::string remedy,
           std::string value = "") {
    faults.push_back(
        ModelFault{code, std::move(path), std::move(message), std::move(remedy), std::move(value)});
  }

  // The feature, when it is there and its part has a place in the machine; reports when not.
  const Feature* Resolve(const FeatureRef& ref, const std::string& path) {
    if (machine.FindUse(ref.part) == nullptr) {
      std::vector<std::string> names;
      for (const PartUse& use : machine.uses) names.push_back(use.part.text());
      Add(ErrorCode::kUnknownPart, path, fmt::format("the machine has no part {}", ref.part.text()),
          fmt::format("write \"{}.{}\", or one of: {}", NearestOf(ref.part.text(), names),
                      ref.feature.text(), ListOf(names)),
          ref.text());
      return nullptr;
    }
    const Part* part = machine.FindPart(ref.part);
    // A sheet with no readable features has been reported.
    if (part == nullptr || (part->features.empty() && depth == ValidateDepth::kNames))
      return nullptr;
    const Feature* feature = part->Find(ref.feature);
    if (feature != nullptr) return feature;
    std::vector<std::string> names;
    for (const Feature& f : part->features) names.push_back(f.name.text());
    Add(ErrorCode::kUnknownFeature, path,
        fmt::format("{} has no feature {}", ref.part.text(), ref.feature.text()),
        fmt::format("write \"{}.{}\", or one of: {}", ref.part.text(),
                    NearestOf(ref.feature.text(), names), ListOf(names)),
        ref.text());
    return nullptr;
  }

  template <typename Shape>
  const Shape* Expect(const Feature* feature, const FeatureRef& ref, const std::string& path,
                      std::string_view what) {
    if (feature == nullptr) return nullptr;
    const auto* shape = std::get_if<Shape>(&feature->shape);
    if (shape == nullptr) WrongKind(ref, path, what);
    return shape;
  }
  void WrongKind(const FeatureRef& ref, const std::string& path, std::string_view what) {
    Add(ErrorCode::kWrongFeatureKind, path, fmt::format("{} is not {}", ref.text(), what),
        fmt::format("name {}", what), ref.text());
  }
  Pose X_WP(const FeatureRef& ref) const { return machine.FindUse(ref.part)->X_WP; }
};

std::optional<Axis3> AxisIn(const Feature& feature, const Pose& X_WP) {
  Axis3 axis;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    if (hole->entries_P_mm.empty()) return std::nullopt;
    axis = Axis3{hole->entries_P_mm.front(), hole->into_P};
  } else if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    axis = outer->axis_P;
  } else {
    return std::nullopt;
  }
  return Axis3{X_WP * axis.point_mm, X_WP.linear() * axis.direction};
}

double Aside(const Axis3& axis, const Vec3& point) {
  const Vec3 offset = point - axis.point_mm;
  return (offset - offset.dot(axis.direction) * axis.direction).norm();
}

bool Parallel(const Vec3& a, const Vec3& b) { return a.cross(b).norm() < kParallel; }

std::string Mm(double mm) { return FormatTrimmed(mm, 3) + " mm"; }

class JointCheck {
 public:
  JointCheck(Check& check, const Joint& joint)
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
    switch (joint_.kind) {
      case JointKind::kScrewedPattern:
        return Screwed(*fixed, *moving);
      case JointKind::kFaceContact:
        return Faces(*fixed, *moving);
      case JointKind::kSpigotInBore:
      case JointKind::kPressFit:
      case JointKind::kBearingSeat:
        return Fitted(*fixed, *moving);
      default:
        return;
    }
  }

 private:
  bool deep() const { return c_.depth == ValidateDepth::kGeometry; }

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
             fmt::format("the screw of {} does not pass the hole of {}", Mm(joint_.screw->major_mm),
                         Mm(clear.diameter.nominal_mm)),
             "open the clearance holes, or take a smaller screw");
    }
    Pattern(*a, *b, clear);
  }

  void Pattern(const Hole& a, const Hole& b, const Hole& clear) {
    if (a.entries_P_mm.size() != b.entries_P_mm.size()) {
      c_.Add(ErrorCode::kPatternMismatch, path_ + ".moving",
             fmt::format("{} holes against {}", b.entries_P_mm.size(), a.entries_P_mm.size()),
             "give both patterns the same holes");
      return;
    }
    const Pose fixed = c_.X_WP(joint_.fixed);
    const Pose moving = c_.X_WP(joint_.moving);
    if (!Parallel(fixed.linear() * a.into_P, moving.linear() * b.into_P)) {
      c_.Add(ErrorCode::kDoNotMeet, path_ + ".moving", "the two patterns' holes are not parallel",
             "mend at and turn of the part, or from of the holes");
      return;
    }
    std::set<std::size_t> taken;
    for (std::size_t i = 0; i < b.entries_P_mm.size(); ++i) {
      const Axis3 axis{moving * b.entries_P_mm[i], moving.linear() * b.into_P};
      std::size_t nearest = 0;
      double nearest_mm = 1e300;
      for (std::size_t k = 0; k < a.entries_P_mm.size(); ++k) {
        const double aside_mm = Aside(axis, fixed * a.entries_P_mm[k]);
        if (aside_mm < nearest_mm) {
          nearest_mm = aside_mm;
          nearest = k;
        }
      }
      if (nearest_mm > 0.5 * clear.diameter.middle_mm() || !taken.insert(nearest).second) {
        c_.Add(ErrorCode::kPatternMismatch, path_ + ".moving",
               fmt::format("hole {} stands {} from the nearest of the other pattern", i + 1,
                           Mm(nearest_mm)),
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
           fmt::format("the two faces stand {} apart", Mm(std::abs(gap_mm))),
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
    const double aside_mm = Aside(axis, X_s * outer->axis_P.point_mm);
    if (!Parallel(axis.direction, direction) || aside_mm > 0.5 * bore->diameter.middle_mm()) {
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

  Check& c_;
  const Joint& joint_;
  std::string path_;
};

class RequirementCheck {
 public:
  RequirementCheck(Check& check, const Requirement& requirement)
      : c_(check),
        r_(requirement),
        path_(fmt::format("requirements.{}", requirement.name.text())) {}

  void Run() {
    if (r_.kind == RequirementKind::kScrewsEnter) return Screws();
    const Feature* a = c_.Resolve(r_.a, path_ + ".a");
    const Feature* b = c_.Resolve(r_.b, path_ + ".b");
    Limits();
    if (a == nullptr || b == nullptr) return;
    if (r_.a == r_.b) {
      c_.Add(ErrorCode::kSamePart, path_ + ".b", "a feature is measured against itself",
             "name another feature");
      return;
    }
    Kinds(*a, *b);
  }

 private:
  void Screws() {
    const auto named = [&](const Joint& j) { return r_.joint && j.name == *r_.joint; };
    const auto found = std::find_if(c_.machine.joints.begin(), c_.machine.joints.end(), named);
    if (found == c_.machine.joints.end()) {
      std::vector<std::string> names;
      for (const Joint& j : c_.machine.joints) names.push_back(j.name.text());
      const std::string text = r_.joint ? r_.joint->text() : "";
      c_.Add(ErrorCode::kUnknownJoint, path_ + ".joint",
             fmt::format("the machine has no joint {}", text),
             names.empty() ? "write the joint first"
                           : fmt::format("write \"{}\", or one of: {}", NearestOf(text, names),
                                         ListOf(names)),
             text);
    } else if (found->kind != JointKind::kScrewedPattern) {
      c_.Add(ErrorCode::kWrongFeatureKind, path_ + ".joint",
             fmt::format("{} has no screws", found->name.text()), "name a screwed_pattern",
             found->name.text());
    }
  }

  void Limits() {
    if (!r_.lower && !r_.upper) {
      c_.Add(ErrorCode::kMissingKey, path_ + ".limits", "no limit is stated",
             "write limits = [least, greatest]");
    } else if (r_.lower && r_.upper && !(*r_.lower < *r_.upper)) {
      c_.Add(ErrorCode::kLimitsSwapped, path_ + ".limits",
             "the first limit is not below the second", "write the least first");
    }
  }

  void Kinds(const Feature& a, const Feature& b) {
    switch (r_.kind) {
      case RequirementKind::kScrewsEnter:
        return;
      case RequirementKind::kClearance:
      case RequirementKind::kInterference:
        c_.Expect<OuterDiameter>(&a, r_.a, path_ + ".a", "an outer diameter");
        c_.Expect<Hole>(&b, r_.b, path_ + ".b", "a bore");
        return;
      case RequirementKind::kFlush:
      case RequirementKind::kDistance:
        return Faces(a, b);
      case RequirementKind::kSquare:
        FaceOrAxis(a, r_.a, ".a");
        FaceOrAxis(b, r_.b, ".b");
        return;
      case RequirementKind::kAxesMeet:
        if (!HasAxis(a)) c_.WrongKind(r_.a, path_ + ".a", "a hole or an outer diameter");
        if (!HasAxis(b)) c_.WrongKind(r_.b, path_ + ".b", "a hole or an outer diameter");
        if (HasAxis(a) && HasAxis(b)) Cross(a, b);
        return;
    }
  }

  void Faces(const Feature& a, const Feature& b) {
    const auto* face_a = c_.Expect<PlanarFace>(&a, r_.a, path_ + ".a", "a planar face");
    const auto* face_b = c_.Expect<PlanarFace>(&b, r_.b, path_ + ".b", "a planar face");
    if (face_a == nullptr || face_b == nullptr || c_.depth != ValidateDepth::kGeometry) return;
    const Vec3 normal_a = c_.X_WP(r_.a).linear() * face_a->normal_P;
    const Vec3 normal_b = c_.X_WP(r_.b).linear() * face_b->normal_P;
    const bool flush = r_.kind == RequirementKind::kFlush;
    if (flush ? (normal_a - normal_b).norm() < kParallel : Parallel(normal_a, normal_b)) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".b",
           flush ? "the two faces do not look the same way" : "the two faces are not parallel",
           "name two faces that are", r_.b.text());
  }

  void FaceOrAxis(const Feature& feature, const FeatureRef& ref, const char* key) {
    if (HasAxis(feature) || std::holds_alternative<PlanarFace>(feature.shape)) return;
    c_.WrongKind(ref, path_ + key, "a planar face, a hole or an outer diameter");
  }

  void Cross(const Feature& a, const Feature& b) {
    if (c_.depth != ValidateDepth::kGeometry) return;
    const auto axis_a = AxisIn(a, c_.X_WP(r_.a));
    const auto axis_b = AxisIn(b, c_.X_WP(r_.b));
    if (!axis_a || !axis_b || !Parallel(axis_a->direction, axis_b->direction)) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".b", "the two axes are parallel and never meet",
           "name two axes that cross", r_.b.text());
  }

  static bool HasAxis(const Feature& feature) {
    return std::holds_alternative<Hole>(feature.shape) ||
           std::holds_alternative<OuterDiameter>(feature.shape);
  }

  Check& c_;
  const Requirement& r_;
  std::string path_;
};

template <typename List, typename NameOf>
void CheckTwice(const List& list, NameOf name_of, const std::string& group, std::string_view key,
                Check& check) {
  std::set<std::string> seen;
  for (const auto& item : list) {
    const std::string name = name_of(item);
    if (seen.insert(name).second) continue;
    check.Add(ErrorCode::kDuplicateName, fmt::format("{}.{}.{}", group, name, key),
              "the name is given twice", "names are given once: choose another", name);
  }
}

}  // namespace

std::vector<ModelFault> ValidateMachine(const Machine& machine, ValidateDepth depth) {
  std::vector<ModelFault> faults;
  for (const Part& part : machine.parts) {
    std::vector<ModelFault> own;
    if (depth == ValidateDepth::kGeometry) {
      ValidatePart(part, own);
    } else {
      ValidatePartNames(part, own);
    }
    faults.insert(faults.end(), own.begin(), own.end());
  }
  // Places between parts mean nothing while a part is unsound.
  const ValidateDepth between = faults.empty() ? depth : ValidateDepth::kNames;
  Check check{machine, between, faults};
  CheckTwice(
      machine.uses, [](const PartUse& u) { return u.part.text(); }, "uses", "sheet", check);
  CheckTwice(
      machine.joints, [](const Joint& j) { return j.name.text(); }, "joints", "name", check);
  CheckTwice(
      machine.requirements, [](const Requirement& r) { return r.name.text(); }, "requirements",
      "name", check);
  for (const PartUse& use : machine.uses) {
    if (use.quantity >= 1) continue;
    check.Add(ErrorCode::kNotPositive, fmt::format("uses.{}.quantity", use.part.text()),
              "the quantity is not above zero", "write 1 or more");
  }
  for (const Joint& joint : machine.joints) JointCheck(check, joint).Run();
  for (const Requirement& requirement : machine.requirements) {
    RequirementCheck(check, requirement).Run();
  }
  return faults;
}

}  // namespace fitwright
