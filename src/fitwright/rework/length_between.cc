#include "fitwright/rework/length_between.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "fitwright/variation/geometry.h"

namespace fitwright::rework {
namespace {

using variation::Datum;
using variation::DatumKind;

constexpr double kDrawn_mm =
    0.03;  // figures' middles are rounded, and fits stand off their nominal
constexpr double kSquare = 1e-6;

std::string SpacedName(const FeatureId& id) {
  std::string name = id.text();
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

// A face's outward normal, or the direction from one axis across to another.
std::optional<Vec3> Across(const Datum& a, const Datum& b) {
  const bool a_is_plane = a.kind == DatumKind::kPlane;
  const bool b_is_plane = b.kind == DatumKind::kPlane;
  const double along = a.direction_P.dot(b.direction_P);
  if (a_is_plane && b_is_plane)
    return std::abs(along) > 1 - kSquare ? std::optional(a.direction_P) : std::nullopt;
  if (a_is_plane != b_is_plane) {
    const Vec3& normal = a_is_plane ? a.direction_P : b.direction_P;
    return std::abs(along) < kSquare ? std::optional(normal) : std::nullopt;
  }
  if (std::abs(along) < 1 - kSquare) return std::nullopt;
  const Vec3 r = a.point_P_mm - b.point_P_mm;
  const Vec3 across = r - a.direction_P * a.direction_P.dot(r);
  return across.norm() > kDrawn_mm ? std::optional(Vec3(across.normalized())) : std::nullopt;
}

struct Walls {
  double own;
  double other;
};
// To axes, to the far wall or over pins, to the near wall.
constexpr std::array kOfAxis = {0.5, 0.0, -0.5};
std::vector<Walls> WallsOf(const Datum& a, const Datum& b) {
  std::vector<Walls> walls;
  const bool a_is_plane = a.kind == DatumKind::kPlane;
  const bool b_is_plane = b.kind == DatumKind::kPlane;
  for (const double own : kOfAxis) {
    if (a_is_plane && own != 0) continue;
    for (const double other : kOfAxis) {
      if (b_is_plane && other != 0) continue;
      walls.push_back({own, other});
    }
  }
  return walls;
}

std::optional<LengthBetween> LengthTo(const FeatureRef& other, const Datum& a, const Datum& b,
                                      double middle_mm) {
  const auto across = Across(a, b);
  if (!across) return std::nullopt;
  const double apart = across->dot(a.point_P_mm - b.point_P_mm);
  const Vec3 along = apart < 0 ? Vec3(-*across) : *across;
  for (const Walls& w : WallsOf(a, b)) {
    const double drawn = std::abs(apart) + w.own * a.diameter_mm + w.other * b.diameter_mm;
    if (std::abs(drawn - middle_mm) > kDrawn_mm) continue;
    return LengthBetween{other, along, drawn, w.own, w.other};
  }
  return std::nullopt;
}

bool IsDatum(const Datum& datum) { return datum.kind != DatumKind::kOther; }

// Where the move is read: a face in the middle of its region, an axis half way along.
Vec3 ReadAt(const Part& part, const Feature& feature, const Datum& datum) {
  return datum.kind == DatumKind::kPlane ? variation::RegionOf(part, feature).centre
                                         : datum.middle_P_mm();
}

void AddMove(variation::FormSum& sum, const Feature& feature, const variation::FeatureForms& forms,
             const Vec3& point, const Vec3& along, double factor) {
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole != nullptr && !forms.holes.empty()) {
    const double depth = hole->into_P.dot(point - hole->entries_P_mm.front());
    variation::AddHoleMove(sum, forms.holes.front(), point, depth, along, factor);
  } else {
    variation::AddFeatureMove(sum, forms, point, along, factor);
  }
}

}  // namespace

std::optional<LengthBetween> FindLength(const Machine& machine, const FeatureRef& feature,
                                        double middle_mm, const std::string& words) {
  const Part* part = machine.FindPart(feature.part);
  const Feature* own = machine.Find(feature);
  if (part == nullptr || own == nullptr) return std::nullopt;
  const Datum a = variation::DatumOf(*own);
  if (!IsDatum(a)) return std::nullopt;
  const bool over_pins = words.find(" pin ") != std::string::npos;
  std::vector<LengthBetween> found;
  std::vector<LengthBetween> named;
  for (const Feature& other : part->features) {
    if (other.name == feature.feature) continue;
    const Datum b = variation::DatumOf(other);
    if (!IsDatum(b)) continue;
    auto length = LengthTo({feature.part, other.name}, a, b, middle_mm);
    if (!length) continue;
    if (over_pins) length->of_own_size = length->of_other_size = 0;  // the pins are true
    if (words.find(SpacedName(other.name)) != std::string::npos) named.push_back(*length);
    found.push_back(*std::move(length));
  }
  if (named.size() == 1) return named.front();
  return found.size() == 1 ? std::optional(found.front()) : std::nullopt;
}

std::optional<variation::Form> FormOfLength(const Machine& machine,
                                            const variation::FeatureMap& features,
                                            const FeatureRef& feature,
                                            const LengthBetween& length) {
  const Part* part = machine.FindPart(feature.part);
  const Feature* own = machine.Find(feature);
  const Feature* other = machine.Find(length.other);
  const auto own_forms = features.find(feature);
  const auto other_forms = features.find(length.other);
  if (part == nullptr || own == nullptr || other == nullptr || own_forms == features.end() ||
      other_forms == features.end() || !own_forms->second.made || !other_forms->second.made)
    return std::nullopt;
  const Vec3 at_own = ReadAt(*part, *own, variation::DatumOf(*own));
  const Vec3 at_other = ReadAt(*part, *other, variation::DatumOf(*other));
  variation::FormSum sum;
  sum.Add(length.drawn_mm);
  AddMove(sum, *own, own_forms->second, at_own, length.along_P, 1);
  AddMove(sum, *other, other_forms->second, at_other, length.along_P, -1);
  if (length.of_own_size != 0) {
    sum.Add(own_forms->second.size, length.of_own_size);
    sum.Add(-length.of_own_size * variation::NominalSize_mm(*own));
  }
  if (length.of_other_size != 0) {
    sum.Add(other_forms->second.size, length.of_other_size);
    sum.Add(-length.of_other_size * variation::NominalSize_mm(*other));
  }
  return sum.Take();
}

}  // namespace fitwright::rework
