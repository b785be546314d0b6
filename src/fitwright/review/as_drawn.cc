// Requirements that the drawn sizes themselves break.
#include <fmt/format.h>

#include <cmath>
#include <optional>

#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr double kSame_mm = 1e-6;

// How far a stands beyond b along b's outward normal.
std::optional<double> Beyond_mm(const Machine& machine, const FeatureRef& a, const FeatureRef& b) {
  const auto of = PlaceOfFace(machine, a);
  const auto over = PlaceOfFace(machine, b);
  if (!of || !over) return std::nullopt;
  return (of->point_W_mm - over->point_W_mm).dot(over->normal_W);
}

std::optional<double> Diameter_mm(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  if (feature == nullptr) return std::nullopt;
  if (const auto* hole = std::get_if<Hole>(&feature->shape)) return hole->diameter.middle_mm();
  if (const auto* outer = std::get_if<OuterDiameter>(&feature->shape)) return outer->diameter.middle_mm();
  return std::nullopt;
}

// Of the sizes in the middle of their limits; none for what is not told by them alone.
std::optional<double> AsDrawn_mm(const Machine& machine, const Requirement& r) {
  switch (r.kind) {
    case RequirementKind::kDistance:
    case RequirementKind::kProud:
      return Beyond_mm(machine, r.a, r.b);
    case RequirementKind::kFlush: {
      const auto step = Beyond_mm(machine, r.a, r.b);
      return step ? std::optional(std::abs(*step)) : std::nullopt;
    }
    case RequirementKind::kClearance:
    case RequirementKind::kInterference: {
      const auto shaft = Diameter_mm(machine, r.a);
      const auto bore = Diameter_mm(machine, r.b);
      if (!shaft || !bore) return std::nullopt;
      return r.kind == RequirementKind::kClearance ? *bore - *shaft : *shaft - *bore;
    }
    case RequirementKind::kEndFloat: {
      double sum = 0;
      for (const auto& [one, other] : r.gaps) {
        const auto gap = Beyond_mm(machine, one, other);
        if (!gap) return std::nullopt;
        sum += *gap;
      }
      return sum;
    }
    default:
      return std::nullopt;
  }
}

bool Within(const Requirement& r, double value) {
  return (!r.lower || value >= *r.lower - kSame_mm) && (!r.upper || value <= *r.upper + kSame_mm);
}

std::string LimitsText(const Requirement& r) {
  if (r.lower && r.upper) return fmt::format("{:.3f} to {:.3f} mm", *r.lower, *r.upper);
  if (r.upper) return fmt::format("at most {:.3f} mm", *r.upper);
  return fmt::format("at least {:.3f} mm", r.lower.value_or(0));
}

std::string Remedy(const Requirement& r, double value) {
  if (r.kind == RequirementKind::kDistance && Within(r, -value)) {
    return fmt::format("it counts outward from {}: exchange a and b, or name the face on the other side", r.b.text());
  }
  return "look at the sizes and places that it names, or at its limits";
}

}  // namespace

std::optional<FaceAt> PlaceOfFace(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  const auto X_WP = machine.FindPlace(ref.part);
  if (face == nullptr || !X_WP) return std::nullopt;
  return FaceAt{*X_WP * Vec3(face->at.middle_mm() * face->normal_P), X_WP->linear() * face->normal_P};
}

void ReviewRequirements(const Machine& machine, std::vector<Finding>& findings) {
  for (const Requirement& r : machine.requirements) {
    const auto value = AsDrawn_mm(machine, r);
    if (!value || Within(r, *value)) continue;
    findings.push_back({Rule::kNotAsDrawn, r.name.text(),
                        fmt::format("as drawn, at the middle of all limits, it is {:.3f} mm; {} is asked for", *value, LimitsText(r)), Remedy(r, *value)});
  }
}

}  // namespace fitwright::review
