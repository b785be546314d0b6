#include "fitwright/sheets/hole_labels.h"

#include <algorithm>
#include <cmath>

namespace fitwright::sheets {
namespace {

// Coordinates of one place given twice differ by no more than rounding.
constexpr double kSamePlace_mm = 5e-4;

// What the holes of a step belong to; a bore's last cut may finish its floor as well.
FeatureRef PatternOf(const Step& step) {
  return step.features.empty() ? FeatureRef{} : step.features.front();
}

bool SamePlaces(const Step& a, const Step& b) {
  if (PatternOf(a) != PatternOf(b) || a.coordinates.size() != b.coordinates.size()) return false;
  for (std::size_t i = 0; i < a.coordinates.size(); ++i) {
    const Coordinate& p = a.coordinates[i];
    const Coordinate& q = b.coordinates[i];
    if (p.hole != q.hole || std::abs(p.x_mm - q.x_mm) > kSamePlace_mm ||
        std::abs(p.y_mm - q.y_mm) > kSamePlace_mm || p.table_deg != q.table_deg) {
      return false;
    }
  }
  return true;
}

bool PlungesOnly(const Step& step) {
  return !step.path.empty() && std::all_of(step.path.begin(), step.path.end(),
                     [](const PathPiece& p) { return p.kind == PathKind::kPlunge; });
}

// A pattern's steps may come in several groups: one hole first, then the rest.
void LabelGroups(std::vector<PlaceGroup>& groups) {
  std::vector<FeatureRef> patterns;
  for (const PlaceGroup& group : groups) {
    const FeatureRef features = PatternOf(*group.steps.front());
    if (!IsHoleGroup(group)) continue;
    if (std::find(patterns.begin(), patterns.end(), features) == patterns.end()) {
      patterns.push_back(features);
    }
  }
  for (PlaceGroup& group : groups) {
    const auto found =
        std::find(patterns.begin(), patterns.end(), PatternOf(*group.steps.front()));
    const bool prefix = patterns.size() > 1 && IsHoleGroup(group);
    const auto letter = static_cast<char>('a' + std::min<std::ptrdiff_t>(found - patterns.begin(), 25));
    for (const Coordinate& c : group.steps.front()->coordinates) {
      group.labels.push_back(prefix ? letter + c.hole : c.hole);
    }
  }
}

}  // namespace

bool IsHoleGroup(const PlaceGroup& group) {
  switch (group.steps.front()->operation) {
    case Operation::kSpot:
    case Operation::kSpotThrough:
    case Operation::kDrill:
    case Operation::kReam:
    case Operation::kTap:
      return true;
    case Operation::kBore:
    case Operation::kCounterbore:
    case Operation::kChamfer:
      return PlungesOnly(*group.steps.front());
    default:
      return false;
  }
}

std::vector<PlaceGroup> FindPlaceGroups(const Setup& setup) {
  std::vector<PlaceGroup> groups;
  bool open = false;
  for (const Step& step : setup.steps) {
    if (step.coordinates.empty()) {
      open = false;
      continue;
    }
    if (!open || !SamePlaces(*groups.back().steps.front(), step)) groups.push_back({});
    groups.back().steps.push_back(&step);
    open = true;
  }
  LabelGroups(groups);
  return groups;
}

}  // namespace fitwright::sheets
