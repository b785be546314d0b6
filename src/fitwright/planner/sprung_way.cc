#include "fitwright/planner/sprung_way.h"

#include <algorithm>
#include <cmath>

namespace fitwright::planner {
namespace {

constexpr double kBeside_mm = 2;    // a ring is drawn from its face or from its middle
constexpr double kOnAxis_mm = 0.5;
constexpr double kAlong = 1 - 1e-6;

double Off_mm(const Vec3& from, const Vec3& direction) { return (from - direction * direction.dot(from)).norm(); }

bool StandsIn(const Groove& groove, const Vec3& p_P) {
  const Vec3 from = p_P - groove.axis_P.point_mm;
  const double along = groove.axis_P.direction.dot(from);
  const auto [low, high] = std::minmax(groove.from_mm, groove.to_mm);
  return groove.internal && Off_mm(from, groove.axis_P.direction) < kOnAxis_mm && along > low - kBeside_mm && along < high + kBeside_mm;
}

// The widest bore that the groove lies in: its way in from the nearer open end.
std::optional<Vec3> WayIn_P(const Part& part, const Groove& groove) {
  const Vec3 middle = groove.axis_P.point_mm + groove.axis_P.direction * (0.5 * (groove.from_mm + groove.to_mm));
  std::optional<Vec3> way;
  double widest = 0;
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1 || std::abs(hole->into_P.dot(groove.axis_P.direction)) < kAlong) continue;
    const Vec3 from = middle - hole->entries_P_mm.front();
    const double in = hole->into_P.dot(from);
    if (Off_mm(from, hole->into_P) > kOnAxis_mm || in < 0 || in > hole->depth_mm || hole->diameter.middle_mm() <= widest) continue;
    widest = hole->diameter.middle_mm();
    way = hole->through && in > hole->depth_mm / 2 ? Vec3(-hole->into_P) : hole->into_P;
  }
  return way;
}

}  // namespace

std::optional<Vec3> SprungWay_W(const Machine& machine, const PartId& ring) {
  const auto at = machine.FindPlace(ring);
  if (!at) return std::nullopt;
  for (const PartUse& use : machine.uses) {
    const Part* part = machine.FindPart(use.part);
    const auto X_WP = machine.FindPlace(use.part);
    if (part == nullptr || !X_WP) continue;
    const Vec3 p_P = X_WP->inverse() * Vec3(at->translation());
    for (const Feature& f : part->features) {
      const auto* groove = std::get_if<Groove>(&f.shape);
      if (groove == nullptr || !StandsIn(*groove, p_P)) continue;
      if (const auto way_P = WayIn_P(*part, *groove)) return Vec3(X_WP->linear() * *way_P);
    }
  }
  return std::nullopt;
}

}  // namespace fitwright::planner
