#include "fitwright/planner/level_faces.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/instruments.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

struct LevelPair {
  FeatureRef seat;
  FeatureRef read;
  double most_mm = 0;  // from side to side, by the indicator
};

std::optional<LevelPair> PairOf(const Shop& shop, const Setup& setup) {
  if (setup.holding != HoldingKind::kThreeJawShort || setup.zero.z_from.feature.empty()) return std::nullopt;
  for (const Contact& contact : setup.contacts) {
    if (contact.kind != ContactKind::kChuckFace || contact.surface.feature.empty() || contact.surface.part != setup.zero.z_from.part) continue;
    return LevelPair{contact.surface, setup.zero.z_from, MostWobble_mm(setup, shop)};
  }
  return std::nullopt;
}

bool IsOver(const Step& step, const LevelPair& pair) {
  if (step.operation != Operation::kMeasure || !step.measure || step.measure->feature.part != pair.seat.part) return false;
  const std::string& words = step.measure->words;
  return words.find(OverWords(pair.seat.feature, pair.read.feature)) != std::string::npos ||
         words.find(OverWords(pair.read.feature, pair.seat.feature)) != std::string::npos;
}

void ByTheFinest(const Shop& shop, MeasureLine& line) {
  const double size_mm = 0.5 * (line.lower_mm + line.upper_mm);
  const InstrumentChoice finest = ChooseInstrument(shop, {InstrumentKind::kCaliper, InstrumentKind::kMicrometer}, size_mm, 0, true);
  if (finest.instrument == nullptr || finest.instrument->name == line.instrument) return;
  for (const Instrument& before : shop.instruments) {
    const std::size_t at = before.name == line.instrument ? line.words.find(before.words) : std::string::npos;
    if (at != std::string::npos) line.words.replace(at, before.words.size(), finest.instrument->words);
  }
  line.instrument = finest.instrument->name;
}

// Out of the machine, after the last setup before `later` that finishes one of the two: on the plate, for nothing closes over both.
void AskOnThePlate(const Shop& shop, const LevelPair& pair, std::size_t later, Plan& plan) {
  const auto finishes = [&](const Step& step) {
    return step.finishes && std::any_of(step.features.begin(), step.features.end(), [&](const FeatureRef& ref) { return ref == pair.seat || ref == pair.read; });
  };
  Setup* last = nullptr;
  for (std::size_t i = 0; i < later; ++i) {
    if (std::any_of(plan.setups[i].steps.begin(), plan.setups[i].steps.end(), finishes)) last = &plan.setups[i];
  }
  if (last == nullptr) return;
  Step step;
  step.operation = Operation::kMeasure;
  step.time_min = shop.times.measure;
  step.id = StepId(fmt::format("{}.{}", last->id.text(), last->steps.size() + 1));
  step.words = fmt::format("Out of the machine: {} down on the plate, on three blocks of one height where anything hangs below it; the indicator over {} at four places: alike within "
                           "{:.3f} mm, else paper under the high side and a light cut over {} again: setup {} seats on the one and is indicated on the other.",
                           NameWords(pair.seat.feature), NameWords(pair.read.feature), 0.5 * pair.most_mm, NameWords(pair.read.feature), plan.setups[later].number);
  last->time_min += step.time_min;
  last->steps.push_back(std::move(step));
}

}  // namespace

std::string OverWords(const FeatureId& a, const FeatureId& b) { return fmt::format("Measure from {} over to {}", NameWords(a), NameWords(b)); }

void AskForLevelFaces(const Shop& shop, Plan& plan) {
  for (std::size_t later = 0; later < plan.setups.size(); ++later) {
    const auto pair = PairOf(shop, plan.setups[later]);
    Step* last = nullptr;
    for (std::size_t i = 0; pair && i < later; ++i) {
      for (Step& step : plan.setups[i].steps) {
        if (IsOver(step, *pair)) last = &step;
      }
    }
    if (pair && last == nullptr) AskOnThePlate(shop, *pair, later, plan);
    if (last == nullptr || last->measure->words.find("four places") != std::string::npos) continue;
    ByTheFinest(shop, *last->measure);
    last->measure->words += fmt::format(", at four places round it, alike within {:.3f} mm, else foil as thin as that (kitchen foil is 0.01 to 0.02 mm; paper is too thick) under the thick side, z found again and a light cut over {}: setup {} seats on the one and is indicated on the other",
                                        0.5 * pair->most_mm, NameWords(last->measure->feature.feature), plan.setups[later].number);
  }
}

}  // namespace fitwright::planner
