#include "fitwright/planner/cut_requests.h"

#include <algorithm>

#include "fitwright/planner/pieces.h"

namespace fitwright::planner {
namespace {

// A size whose limits are narrower than this many one-shot spreads is brought in by measuring.
constexpr double kOneShotSpreads = 6;

double OneShotSpread_mm(const Feature& feature, const Shop& shop) {
  const char* id = std::holds_alternative<OuterDiameter>(feature.shape) ? "turned_diameter" : "boring_head_diameter";
  const auto row = shop.spreads.find(id);
  return row == shop.spreads.end() ? 0.01 : FigureOf(shop, row->second).spread;
}

const Size* SizeOf(const Feature& feature) {
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return &outer->diameter;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) return hole->thread ? nullptr : &hole->diameter;
  return nullptr;
}

bool IsFitted(const Strategy& strategy, const SuitPair& pair) {
  const auto choice = strategy.suits.find(pair.requirement);
  return choice != strategy.suits.end() && choice->second == Technique::kFitToMeasured;
}

// What a bore is aimed at where it is made already, else the middle of its limits.
double ExpectedBore_mm(const RequestInput& in, const FeatureRef& bore) {
  double expected = std::get<Hole>(in.machine.Find(bore)->shape).diameter.middle_mm();
  for (const Setup& setup : in.so_far.setups) {
    for (const Step& step : setup.steps) {
      const bool ends = step.finishes && step.aim && !step.features.empty() && step.features.front() == bore;
      if (ends && step.aim->target_mm > 0) expected = step.aim->target_mm;
    }
  }
  return expected;
}

Aim SuitedAim(const RequestInput& in, const SuitPair& pair, const Feature& feature) {
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  if (pair.closes) aim.closes = pair.requirement;
  if (!pair.closes) aim.mate = pair.bore;
  const auto share = in.strategy.aim_share.find(pair.requirement);
  const double f = share == in.strategy.aim_share.end() ? 0.5 : share->second;
  aim.clearance_mm = pair.lower_mm + f * (pair.upper_mm - pair.lower_mm);
  aim.clearance_lower_mm = pair.lower_mm;
  aim.clearance_upper_mm = pair.upper_mm;
  aim.target_mm = pair.faces ? std::get<PlanarFace>(feature.shape).at.middle_mm() : ExpectedBore_mm(in, pair.bore) - aim.clearance_mm;
  // More clearance is a smaller shaft, but a higher face.
  const double below = pair.faces && !pair.closes ? aim.clearance_mm - pair.lower_mm : pair.upper_mm - aim.clearance_mm;
  aim.lower_mm = aim.target_mm - below;
  aim.upper_mm = aim.lower_mm + pair.upper_mm - pair.lower_mm;
  return aim;
}

bool IsMeasuredFor(const RequestInput& in, const SuitPair& pair, const FeatureRef& ref, const Feature& feature) {
  if (pair.shaft == ref || pair.bore == ref) return true;
  return std::any_of(pair.seats.begin(), pair.seats.end(), [&](const FeatureRef& seat) {
    if (seat == ref) return true;
    if (seat.part != ref.part) return false;
    const auto carried = CarriedFaces(*in.machine.FindPart(ref.part), feature);
    return std::find(carried.begin(), carried.end(), seat.feature) != carried.end();
  });
}

// A strategy may ask for one cut at the middle of the limits.
bool PlainSize(const RequestInput& in, const FeatureRef& ref) {
  return std::any_of(in.subjects.suits.begin(), in.subjects.suits.end(), [&](const SuitPair& pair) {
    const auto choice = in.strategy.suits.find(pair.requirement);
    return pair.shaft == ref && choice != in.strategy.suits.end() && choice->second == Technique::kByCoordinates;
  });
}

}  // namespace

CutRequest RequestFor(const RequestInput& in, const FeatureRef& ref) {
  CutRequest request;
  request.features = {ref};
  const Feature& feature = *in.machine.Find(ref);
  for (const SuitPair& pair : in.subjects.suits) {
    if (!IsFitted(in.strategy, pair)) continue;
    if (IsMeasuredFor(in, pair, ref, feature)) request.measure_finely = true;
    if (pair.shaft != ref) continue;
    request.aim = AimKind::kFitToMeasured;
    request.given_aim = SuitedAim(in, pair, feature);
    return request;
  }
  const Size* size = SizeOf(feature);
  const bool tight = size != nullptr && size->width_mm() < kOneShotSpreads * OneShotSpread_mm(feature, in.shop) &&
                     size->origin != LimitsOrigin::kGeneralTolerance;
  if (tight && !PlainSize(in, ref)) request.aim = AimKind::kBringToSize;
  if (const auto own = in.strategy.own_aims.find(ref); own != in.strategy.own_aims.end()) {
    request.aimed_mm = own->second.size_mm;
    request.aim = own->second.kind.value_or(request.aim);
  }
  return request;
}

std::vector<FeatureRef> MeasuredFinely(const Subjects& subjects, const Strategy& strategy) {
  std::vector<FeatureRef> found;
  for (const SuitPair& pair : subjects.suits) {
    if (IsFitted(strategy, pair)) found.insert(found.end(), pair.seats.begin(), pair.seats.end());
  }
  return found;
}

}  // namespace fitwright::planner
