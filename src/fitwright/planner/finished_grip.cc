#include "fitwright/planner/finished_grip.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "fitwright/model/gripped_ring.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/instruments.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/rings.h"

namespace fitwright::planner {
namespace {

constexpr double kShort = 0.5;       // of the diameter, what a chuck should hold over (common practice)
constexpr double kClose_mm = 0.06;   // limits no wider than this are worth another look (opinion)
constexpr double kLobesShare = 0.2;  // of the width between a bore's limits, opinion
constexpr double kRing = 0.5;        // bore over outside: what is thinner is pressed out of round (opinion)

const Contact* FinishedGrip(const Setup& setup) {
  const auto found = std::find_if(setup.contacts.begin(), setup.contacts.end(),
                                  [](const Contact& c) { return c.kind == ContactKind::kChuckGrip && !c.surface.feature.empty(); });
  return found == setup.contacts.end() ? nullptr : &*found;
}

bool IsClose(const Size& size) { return size.origin != LimitsOrigin::kGeneralTolerance && size.width_mm() <= kClose_mm; }

// The hole runs about the outside's axis, inside the length that the jaws may press on.
bool LiesUnder(const Hole& hole, const OuterDiameter& outer) {
  if (hole.entries_P_mm.size() != 1 || hole.thread) return false;
  const Vec3& d = outer.axis_P.direction;
  if (std::abs(d.dot(hole.into_P)) < 1 - kDirection) return false;
  const Vec3 from = hole.entries_P_mm.front() - outer.axis_P.point_mm;
  if ((from - d * d.dot(from)).norm() > kZone_mm) return false;
  const double a = d.dot(from);
  const double b = a + d.dot(hole.into_P) * hole.depth_mm;
  const double low = std::min(outer.from_mm, outer.to_mm);
  const double high = std::max(outer.from_mm, outer.to_mm);
  return std::max(a, b) > low + kZone_mm && std::min(a, b) < high - kZone_mm;
}

Step Again(const Shop& shop, const FeatureRef& ref, const Size& size, bool inside, std::string_view out = kOutOfTheChuck) {
  constexpr double kLeastChange_mm = 0.005;  // the same hand and instrument, on the same piece (opinion)
  Step step;
  step.operation = Operation::kMeasure;
  step.features = {ref};
  step.time_min = shop.times.measure;
  MeasureLine line;
  line.feature = ref;
  line.lower_mm = size.lower_mm;
  line.upper_mm = size.upper_mm;
  const std::vector<InstrumentKind> kinds =
      inside ? std::vector{InstrumentKind::kTelescopicGauge, InstrumentKind::kBoreGauge} : std::vector{InstrumentKind::kMicrometer};
  const InstrumentChoice choice = ChooseInstrument(shop, kinds, size.middle_mm(), size.width_mm(), false);
  std::string with;
  if (choice.instrument != nullptr) {
    line.instrument = choice.instrument->name;
    with = " with the " + choice.instrument->words;
  }
  const double readings_mm = choice.instrument == nullptr ? 0 : std::numbers::sqrt2 * choice.spread_mm;  // two of one spread, independent
  const double most_mm = std::max(kLeastChange_mm, readings_mm);
  line.words = fmt::format("{}{} again{} in three directions; the jaws pressed there, and every reading must be within {:.3f} mm of what "
                           "it was", out, NameWords(ref.feature), with, most_mm);
  step.measure = line;
  return step;
}

}  // namespace

bool IsCloseOutside(const Feature& feature) {
  const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
  return outer != nullptr && !IsAsSupplied(feature) && IsClose(outer->diameter);
}

bool IsHeldShortOnFinished(const Setup& setup) {
  if (FinishedGrip(setup) == nullptr || setup.grip_depth_mm >= kShort * setup.opening_mm) return false;
  return std::none_of(setup.fixtures.begin(), setup.fixtures.end(),
                      [](const FixtureSolid& f) { return f.role == FixtureRole::kTailstock || f.role == FixtureRole::kSteady; });
}

std::string HeldShortWords(const Setup& setup) {
  if (!IsHeldShortOnFinished(setup)) return {};
  return fmt::format(" Held over less than half its diameter, and on a finished size: cuts of {} mm at most.", Num(kLightCut_mm));
}

std::string ThinRingWords(const Shop& shop, const PieceStates& pieces, const Setup& setup) {
  const auto force = shop.spreads.find("jaw_force");
  if (force == shop.spreads.end() || setup.parts.empty()) return {};
  const auto piece = pieces.find(setup.parts.front().part);
  if (piece == pieces.end()) return {};
  const Part& part = *piece->second.part;
  const trade::Material* material = trade::FindMaterial(part.material);
  if (material == nullptr) return {};
  for (const Step& step : setup.steps) {
    const bool here = step.finishes && !step.features.empty() && step.features.front().part == part.name;
    const Feature* feature = here ? part.Find(step.features.front().feature) : nullptr;
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    const auto ring = hole == nullptr ? std::nullopt : FindGrippedRing(shop, setup, *hole, setup.parts.front().X_PS);
    if (!ring || hole->thread) continue;
    const double lobes =
        FigureOf(shop, force->second).mean * trade::ThreeForceLobes_mm_N(ring->outer_mm, ring->inner_mm, ring->length_mm, material->modulus_MPa);
    if (lobes < kLobesShare * hole->diameter.width_mm()) continue;
    return fmt::format(" Thin under the jaws: no tighter than it wants, a wide ring or pie jaws round it where there are any. Bored round as it is held, {} "
                       "comes out with three lobes of about {:.3f} mm, and no gauge of two points shows them.",
                       NameWords(feature->name), lobes);
  }
  return {};
}

namespace {

// What was bored in a vise that presses it oval is told by what it is when it is free.
void GaugeOutOfVise(const Shop& shop, const PieceStates& pieces, Setup& setup) {
  const auto piece = setup.parts.empty() ? pieces.end() : pieces.find(setup.parts.front().part);
  if (piece == pieces.end()) return;
  const Part& part = *piece->second.part;
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    const auto bores = [&](const Step& step) {
      return step.operation == Operation::kBore && step.finishes && std::find(step.features.begin(), step.features.end(), FeatureRef{part.name, f.name}) != step.features.end();
    };
    if (hole != nullptr && IsClose(hole->diameter) && std::any_of(setup.steps.begin(), setup.steps.end(), bores) && PressedOval(setup, piece->second, {f.name}, hole->diameter.width_mm()) != nullptr)
      setup.steps.push_back(Again(shop, {part.name, f.name}, hole->diameter, true, kOutOfTheVise));
  }
}

}  // namespace

void GaugeAgain(const Shop& shop, const PieceStates& pieces, Setup& setup) {
  GaugeOutOfVise(shop, pieces, setup);
  const Contact* grip = FinishedGrip(setup);
  if (grip == nullptr) return;
  const auto piece = pieces.find(grip->surface.part);
  if (piece == pieces.end()) return;
  const Part& part = *piece->second.part;
  const Feature* held = part.Find(grip->surface.feature);
  const auto* outer = held == nullptr ? nullptr : std::get_if<OuterDiameter>(&held->shape);
  if (outer == nullptr || IsAsSupplied(*held)) return;
  if (IsCloseOutside(*held)) setup.steps.push_back(Again(shop, {part.name, held->name}, outer->diameter, false));
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !piece->second.IsMade(f.name) || !IsClose(hole->diameter) || !LiesUnder(*hole, *outer)) continue;
    if (hole->diameter.middle_mm() < kRing * outer->diameter.middle_mm()) continue;
    setup.steps.push_back(Again(shop, {part.name, f.name}, hole->diameter, true));
  }
}

}  // namespace fitwright::planner
