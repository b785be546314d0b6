#include "fitwright/planner/vise_strips.h"

#include <algorithm>
#include <cmath>

#include "fitwright/planner/holding_internal.h"
#include "fitwright/units/geometry.h"

namespace fitwright::planner {
namespace {

constexpr double kGripPerBeside = 2;  // a drill that presses beside the parallels is held by the jaws so many times as deep (opinion)

// Of one thickness: one at each jaw, moved inwards clear of the through holes; one alone, or none, where the holes
// leave no room.
std::vector<double> StripPlaces(const Box3& box, double thickness, const std::vector<std::pair<Vec2, double>>& holes) {
  constexpr double kBetween_mm = 1;
  constexpr double kBeside_mm = 0.5;
  const double low = box.min_mm.y();
  const double high = box.max_mm.y();
  std::vector<double> places;
  const auto is_clear = [&](double y0) {
    if (!places.empty() && std::abs(y0 - places.front()) < thickness + kBetween_mm) return false;
    return std::none_of(holes.begin(), holes.end(), [&](const auto& h) {
      return h.first.y() + h.second > y0 - kBeside_mm && h.first.y() - h.second < y0 + thickness + kBeside_mm;
    });
  };
  const auto place = [&](double start, double step) {
    for (double y0 = start; y0 >= low - 1e-9 && y0 + thickness <= high + 1e-9; y0 += step) {
      if (!is_clear(y0)) continue;
      places.push_back(y0);
      return;
    }
  };
  place(high - thickness, -0.5);
  if (!places.empty() && high - low > 2 * thickness + kBetween_mm) place(low, 0.5);
  return places;
}

}  // namespace

Box3 BesideSteps(Box3 rest_S, const PieceState& piece, const Pose& X_PS) {
  const Pose X_SP = X_PS.inverse();
  for (const FeatureId& id : piece.made) {
    const auto* step = std::get_if<StepCut>(&CutOf(piece, id).shape);
    if (step == nullptr) continue;
    const Vec3 a = X_SP * step->removed_P.min_mm;
    const Vec3 b = X_SP * step->removed_P.max_mm;
    const Vec3 low = a.cwiseMin(b);
    const Vec3 high = a.cwiseMax(b);
    const bool below = low.z() < rest_S.min_mm.z() + kDrawnAlike_mm;
    const bool whole = low.x() < rest_S.min_mm.x() + kDrawnAlike_mm && high.x() > rest_S.max_mm.x() - kDrawnAlike_mm;
    if (!below || !whole) continue;
    if (high.y() > rest_S.max_mm.y() - kDrawnAlike_mm) rest_S.max_mm.y() = std::min(rest_S.max_mm.y(), low.y());
    if (low.y() < rest_S.min_mm.y() + kDrawnAlike_mm) rest_S.min_mm.y() = std::max(rest_S.min_mm.y(), high.y());
  }
  return rest_S;
}

double BesideStrips_mm(const Strips& strips, const std::vector<double>& presses_y) {
  const auto [low, high] = std::minmax_element(strips.places.begin(), strips.places.end());
  double beside = 0;
  for (const double y : presses_y) beside = std::max({beside, *low - y, y - *high - strips.thickness_mm});
  return beside < kDrawnAlike_mm ? 0 : beside;
}

std::optional<Strips> ChooseStrips(const HoldingDevice& vise, const Box3& rest_S, const std::vector<std::pair<Vec2, double>>& holes,
                                   const std::vector<double>& presses_y, double grip_mm) {
  std::optional<Strips> best;
  double least_mm = 0;
  for (const double thickness : {vise.parallel_thickness_mm, vise.thin_parallel_thickness_mm}) {
    if (thickness <= 0) continue;
    const Strips strips{StripPlaces(rest_S, thickness, holes), thickness};
    if (strips.places.empty()) continue;
    const double beside = BesideStrips_mm(strips, presses_y);
    if (best && beside >= least_mm) continue;
    best = strips;
    least_mm = beside;
  }
  if (!best || kGripPerBeside * least_mm > grip_mm) return std::nullopt;
  return best;
}

}  // namespace fitwright::planner
