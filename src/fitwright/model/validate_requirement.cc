#include <algorithm>
#include <cmath>

#include "fitwright/model/known_words.h"
#include "fitwright/model/machine_check.h"
#include "fitwright/units/expression.h"
#include "fitwright/units/length.h"

namespace fitwright {
namespace {

constexpr double kSameWay = 1e-6;
// A drawn angle and the one stated in the requirement: as near as two decimals of a degree.
constexpr double kSameAngle_rad = 2e-3;

bool HasAxis(const Feature& feature) {
  return std::holds_alternative<Hole>(feature.shape) ||
         std::holds_alternative<OuterDiameter>(feature.shape) ||
         std::holds_alternative<Groove>(feature.shape) ||
         std::holds_alternative<Taper>(feature.shape);
}

class RequirementCheck {
 public:
  RequirementCheck(MachineCheck& check, const Requirement& requirement)
      : c_(check),
        r_(requirement),
        path_(fmt::format("requirements.{}", requirement.name.text())) {}

  void Run() {
    Limits();
    switch (r_.kind) {
      case RequirementKind::kScrewsEnter:
      case RequirementKind::kEngagement:
        return Screws();
      case RequirementKind::kEndFloat:
        return Gaps();
      case RequirementKind::kFormula:
        return Names();
      default:
        break;
    }
    const Feature* a = c_.Resolve(r_.a, path_ + ".a");
    const Feature* b = c_.Resolve(r_.b, path_ + ".b");
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
    } else if (r_.kind == RequirementKind::kScrewsEnter && found->kind == JointKind::kPinned && found->pin) {
      return;
    } else if (found->kind != JointKind::kScrewedPattern) {
      c_.Add(ErrorCode::kWrongFeatureKind, path_ + ".joint",
             fmt::format("{} has no screws", found->name.text()), "name a screwed_pattern",
             found->name.text());
    }
  }

  void Limits() {
    if (r_.kind == RequirementKind::kScrewsEnter) return;
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
      case RequirementKind::kClearance:
      case RequirementKind::kInterference:
        c_.Expect<OuterDiameter>(&a, r_.a, path_ + ".a", "an outer diameter");
        c_.Expect<Hole>(&b, r_.b, path_ + ".b", "a bore");
        return;
      case RequirementKind::kFlush:
      case RequirementKind::kDistance:
      case RequirementKind::kProud:
        return Faces(a, b);
      case RequirementKind::kSquare:
        FaceOrAxis(a, r_.a, ".a");
        FaceOrAxis(b, r_.b, ".b");
        return;
      case RequirementKind::kParallel:
      case RequirementKind::kAngle:
        if (FaceOrAxis(a, r_.a, ".a") && FaceOrAxis(b, r_.b, ".b")) Directions(a, b);
        return;
      case RequirementKind::kAxesMeet:
        if (BothHaveAxes(a, b)) Cross(a, b);
        return;
      case RequirementKind::kInLine:
      case RequirementKind::kRunOut:
        if (BothHaveAxes(a, b)) OnOneLine(a, b);
        return;
      case RequirementKind::kWallLeft:
        FaceOrAxis(a, r_.a, ".a");
        FaceOrAxis(b, r_.b, ".b");
        return;
      case RequirementKind::kScrewsEnter:
      case RequirementKind::kEngagement:
      case RequirementKind::kEndFloat:
      case RequirementKind::kFormula:
        return;
    }
  }

  void Faces(const Feature& a, const Feature& b) {
    const auto* face_a = c_.Expect<PlanarFace>(&a, r_.a, path_ + ".a", "a planar face");
    const auto* face_b = c_.Expect<PlanarFace>(&b, r_.b, path_ + ".b", "a planar face");
    if (face_a == nullptr || face_b == nullptr || !c_.deep()) return;
    const Vec3 normal_a = c_.X_WP(r_.a).linear() * face_a->normal_P;
    const Vec3 normal_b = c_.X_WP(r_.b).linear() * face_b->normal_P;
    const bool same_way = r_.kind != RequirementKind::kDistance;
    if (same_way ? (normal_a - normal_b).norm() < kSameWay : AreParallel(normal_a, normal_b))
      return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".b",
           same_way ? "the two faces do not look the same way" : "the two faces are not parallel",
           "name two faces that are", r_.b.text());
  }

  bool FaceOrAxis(const Feature& feature, const FeatureRef& ref, const char* key) {
    if (HasAxis(feature) || std::holds_alternative<PlanarFace>(feature.shape)) return true;
    c_.WrongKind(ref, path_ + key, "a planar face, or a hole, outer diameter, groove or taper");
    return false;
  }

  bool BothHaveAxes(const Feature& a, const Feature& b) {
    constexpr std::string_view kRound = "a hole, outer diameter, groove or taper";
    if (!HasAxis(a)) c_.WrongKind(r_.a, path_ + ".a", kRound);
    if (!HasAxis(b)) c_.WrongKind(r_.b, path_ + ".b", kRound);
    return HasAxis(a) && HasAxis(b);
  }

  Vec3 DirectionOf(const Feature& feature, const FeatureRef& ref) const {
    const Pose X_WP = c_.X_WP(ref);
    if (const auto* face = std::get_if<PlanarFace>(&feature.shape))
      return X_WP.linear() * face->normal_P;
    const auto line = RoundLineIn(feature, X_WP);
    return line ? line->axis_W.direction : Vec3(Vec3::UnitZ());
  }

  // As drawn they must stand as the requirement says.
  void Directions(const Feature& a, const Feature& b) {
    if (!c_.deep()) return;
    const double cosine = std::clamp(DirectionOf(a, r_.a).dot(DirectionOf(b, r_.b)), -1.0, 1.0);
    const bool mixed = HasAxis(a) != HasAxis(b);
    if (r_.kind == RequirementKind::kParallel) {
      const double off = mixed ? std::abs(cosine) : std::sqrt(1 - cosine * cosine);
      if (off < kSameWay) return;
      c_.Add(ErrorCode::kNotParallel, path_ + ".b", "the two are not parallel as drawn",
             "name two that are, or write kind = \"angle\"", r_.b.text());
      return;
    }
    const double between_rad = std::acos(cosine);
    const double nearest_rad =
        std::abs(between_rad - r_.nominal_rad) < std::abs(kPi - between_rad - r_.nominal_rad)
            ? between_rad
            : kPi - between_rad;
    if (std::abs(nearest_rad - r_.nominal_rad) < kSameAngle_rad) return;
    c_.Add(ErrorCode::kWrongAngle, path_ + ".angle",
           fmt::format("as drawn the angle between the two is {} degrees",
                       FormatAngle_deg(nearest_rad, 3)),
           "write the angle as drawn, between normals of faces and axes of round features");
  }

  void Cross(const Feature& a, const Feature& b) {
    if (!c_.deep() || !AreParallel(DirectionOf(a, r_.a), DirectionOf(b, r_.b))) return;
    c_.Add(ErrorCode::kDoNotMeet, path_ + ".b", "the two axes are parallel and never meet",
           "name two axes that cross", r_.b.text());
  }

  void OnOneLine(const Feature& a, const Feature& b) {
    if (!c_.deep()) return;
    const auto line_a = RoundLineIn(a, c_.X_WP(r_.a));
    const auto line_b = RoundLineIn(b, c_.X_WP(r_.b));
    if (!line_a || !line_b) return;
    const double aside_mm = AsideOf(line_b->axis_W, line_a->middle_W());
    if (!AreParallel(line_a->axis_W.direction, line_b->axis_W.direction)) {
      c_.Add(ErrorCode::kNotParallel, path_ + ".b", "the two axes are not parallel as drawn",
             "name two features about one axis", r_.b.text());
    } else if (aside_mm > kDrawnAlike_mm) {
      c_.Add(ErrorCode::kNotInLine, path_ + ".b",
             fmt::format("as drawn the two axes stand {} apart", MmText(aside_mm)),
             "name two features about one axis", r_.b.text());
    }
  }

  void Gaps() {
    const std::string path = path_ + ".gaps";
    std::optional<Vec3> along;
    for (const auto& [ref_a, ref_b] : r_.gaps) {
      const auto* a = c_.Expect<PlanarFace>(c_.Resolve(ref_a, path), ref_a, path, "a planar face");
      const auto* b = c_.Expect<PlanarFace>(c_.Resolve(ref_b, path), ref_b, path, "a planar face");
      if (a == nullptr || b == nullptr || !c_.deep()) continue;
      const Vec3 normal_a = c_.X_WP(ref_a).linear() * a->normal_P;
      const Vec3 normal_b = c_.X_WP(ref_b).linear() * b->normal_P;
      if ((normal_a + normal_b).norm() > kSameWay) {
        c_.Add(ErrorCode::kDoNotMeet, path,
               fmt::format("{} and {} do not look at each other", ref_a.text(), ref_b.text()),
               "name the two faces on either side of the gap", ref_a.text());
      } else if (along && !AreParallel(*along, normal_a)) {
        c_.Add(ErrorCode::kNotParallel, path,
               fmt::format("the gap at {} lies another way than the first", ref_a.text()),
               "end_float adds gaps along one direction", ref_a.text());
      } else {
        along = normal_a;
      }
    }
  }

  void Names() {
    if (!r_.formula) return;
    Value();
    for (const FormulaName& name : r_.formula->names) {
      const std::string path = path_ + ".names";
      const Feature* a = c_.Resolve(name.a, path);
      const Feature* b = name.b ? c_.Resolve(*name.b, path) : nullptr;
      if (a == nullptr || (name.b && b == nullptr)) continue;
      if (name.b) {
        Distance(name, *a, *b, path);
      } else if (!HasSize(*a)) {
        c_.WrongKind(name.a, path,
                     "a feature with a size (hole, outer diameter, slot, groove, "
                     "flats, keyway)");
      }
    }
  }

  // The expression reads, and takes just the names that are stated.
  void Value() {
    const auto expression = Expression::Parse(r_.formula->expression);
    if (!expression) {
      c_.Add(expression.error().code, path_ + ".value", expression.error().message,
             expression.error().remedy);
      return;
    }
    std::vector<std::string> stated;
    for (const FormulaName& name : r_.formula->names) stated.push_back(name.name);
    const std::vector<std::string>& used = expression->names();
    for (const std::string& name : used) {
      if (std::find(stated.begin(), stated.end(), name) != stated.end()) continue;
      c_.Add(ErrorCode::kUnknownName, path_ + ".value",
             fmt::format("nothing says what {} stands for", name),
             stated.empty() ? fmt::format("write names = {{ {} = \"part.feature\" }}", name)
                            : fmt::format("write \"{}\", or add {} to names",
                                          NearestOf(name, stated), name));
    }
    for (const std::string& name : stated) {
      if (std::find(used.begin(), used.end(), name) != used.end()) continue;
      c_.Add(ErrorCode::kUnusedName, path_ + ".names",
             fmt::format("{} stands nowhere in the value", name),
             CanBeNamedInExpression(name)
                 ? "use it, or take it out"
                 : "use letters, digits and \"_\" that begin with a letter, and not the name of a "
                   "function",
             name);
    }
  }

  static bool HasSize(const Feature& feature) {
    return std::holds_alternative<Hole>(feature.shape) ||
           std::holds_alternative<OuterDiameter>(feature.shape) ||
           std::holds_alternative<Slot>(feature.shape) ||
           std::holds_alternative<Groove>(feature.shape) ||
           std::holds_alternative<Flats>(feature.shape) ||
           std::holds_alternative<Keyway>(feature.shape);
  }

  // Between two faces, two axes, or a face and an axis that runs along it.
  void Distance(const FormulaName& name, const Feature& a, const Feature& b,
                const std::string& path) {
    constexpr std::string_view kWanted =
        "a planar face, or a hole, outer diameter, groove or taper";
    const auto fits = [](const Feature& f) {
      return HasAxis(f) || std::holds_alternative<PlanarFace>(f.shape);
    };
    if (!fits(a)) c_.WrongKind(name.a, path, kWanted);
    if (!fits(b)) c_.WrongKind(*name.b, path, kWanted);
    if (!fits(a) || !fits(b) || !c_.deep()) return;
    const Vec3 way_a = DirectionOf(a, name.a);
    const Vec3 way_b = DirectionOf(b, *name.b);
    const bool mixed = HasAxis(a) != HasAxis(b);
    if (mixed ? std::abs(way_a.dot(way_b)) < kSameWay : AreParallel(way_a, way_b)) return;
    c_.Add(ErrorCode::kNotParallel, path,
           fmt::format("{} and {} are not parallel, so no one distance lies between them",
                       name.a.text(), name.b->text()),
           "name two that are", name.a.text());
  }

  MachineCheck& c_;
  const Requirement& r_;
  std::string path_;
};

}  // namespace

void CheckRequirement(MachineCheck& check, const Requirement& requirement) {
  RequirementCheck(check, requirement).Run();
}

}  // namespace fitwright
