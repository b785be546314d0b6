#include "fitwright/planner/measured_before.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <string>

#include "fitwright/model/measured_between.h"
#include "fitwright/planner/finished_grip.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/process_length.h"

namespace fitwright::planner {
namespace {

bool IsFirst(const Step& step, const std::vector<FeatureRef>& features) {
  if (!step.measure || step.features.empty()) return false;
  if (features.size() > 1) return step.operation == Operation::kMeasure && step.features == features;
  return step.finishes && step.measure->feature == features.front();
}

bool IsGaugedAgain(const Step& step, const FeatureRef& feature) {
  return step.operation == Operation::kMeasure && step.measure && step.measure->feature == feature && (step.measure->words.starts_with(kOutOfTheChuck) || step.measure->words.starts_with(kOutOfTheVise));
}

// What a shaft that was turned to its bore must still leave.
void KeepFit(const Step& first, MeasureLine& line) {
  if (!first.aim || first.aim->kind != AimKind::kFitToMeasured || !first.aim->mate) return;
  line.lower_mm = line.upper_mm = 0;
  line.words += fmt::format(", and {:.3f} to {:.3f} mm under the {} of the {} as measured", first.aim->clearance_lower_mm, first.aim->clearance_upper_mm,
                            NameWords(first.aim->mate->feature), NameWords(FeatureId(first.aim->mate->part.text())));
}

void Say(const Plan& plan, const Setup& until, Step& again) {
  for (const Setup& setup : plan.setups) {
    if (&setup == &until) return;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (!IsFirst(setup.steps[i], again.features)) continue;
      again.measure->words += fmt::format("{} at step {}.{} (________)", again.features.size() > 1 ? "; as" : "", setup.number, i + 1);
      KeepFit(setup.steps[i], *again.measure);
      return;
    }
  }
}

// A mate that has a box of its own by then: its figure stands there, and its instrument need not be fetched again.
void SayMateMeasured(const Machine& machine, const Plan& plan, Setup& until, Step& step) {
  if (!step.aim || step.aim->kind != AimKind::kFitToMeasured || !step.aim->mate) return;
  const FeatureRef& mate = *step.aim->mate;
  const std::string first = MeasureFirstWords(mate);
  const std::size_t at = step.words.find(first);
  if (at == std::string::npos) return;
  std::string last;  // free of the jaws, where it was gauged again
  const Setup* there = nullptr;
  for (const Setup& setup : plan.setups) {
    if (&setup == &until) break;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (!IsFirst(setup.steps[i], {mate}) && !IsGaugedAgain(setup.steps[i], mate)) continue;
      last = fmt::format("{}.{}", setup.number, i + 1);
      there = &setup;
    }
  }
  if (there == nullptr) return;
  if (std::find(until.waits_for.begin(), until.waits_for.end(), there->id) == until.waits_for.end()) until.waits_for.push_back(there->id);
  const Feature* feature = machine.Find(mate);
  const bool bore = feature != nullptr && std::holds_alternative<Hole>(feature->shape);
  step.words.replace(at, first.size(), fmt::format("Take the {} of the {} as measured at step {} (________), its {} reading; let both be equally warm.", NameWords(mate.feature),
                                                   NameWords(FeatureId(mate.part.text())), last, bore ? "smallest" : "largest"));
}

// A face that is cut to stand proud of its mate: where the depth under that was measured, it is told what it is for.
void SayFacedToSuit(const Machine& machine, const Setup& setup, const Step& step, Plan& plan) {
  if (!step.aim || step.aim->kind != AimKind::kFitToMeasured || !step.aim->mate || step.features.empty()) return;
  const FeatureRef& own = step.features.front();
  const Feature* face = machine.Find(own);
  if (face == nullptr || !std::holds_alternative<PlanarFace>(face->shape)) return;
  const auto seat = SeatOn(machine, own.part, step.aim->mate->part);
  const std::string at = seat ? StepMeasuring(plan, *step.aim->mate, *seat) : "";
  for (Setup& earlier : plan.setups) {
    for (std::size_t i = 0; i < earlier.steps.size(); ++i) {
      if (fmt::format("{}.{}", earlier.number, i + 1) != at) continue;
      std::string& words = earlier.steps[i].measure->words;
      words += fmt::format("; write it down as fine as it reads, {} of {} is cut to suit it in setup {}", NameWords(own.feature), NameWords(FeatureId(own.part.text())), setup.number);
    }
  }
}

bool IsBeforeHolding(const Step& step) { return step.measure && step.measure->words.starts_with(kBeforeHolding); }
void BeginWith(const std::string& first, std::string& words) {
  if (!words.empty()) words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
  words = first + words;
}

bool IsBeforeOthers(const Step& step) { return step.measure && step.measure->words.find(kBeforeOthers) != std::string::npos; }

}  // namespace

void SayMeasuredBefore(const Machine& machine, Plan& plan) {
  for (Setup& setup : plan.setups) {
    for (Step& step : setup.steps) {
      SayFacedToSuit(machine, setup, step, plan);
      if (step.operation == Operation::kMeasure && step.measure && !step.features.empty()) Say(plan, setup, step);
      SayMateMeasured(machine, plan, setup, step);
    }
  }
}

void SayMeasuredFirst(Plan& plan) {
  for (Setup& setup : plan.setups) {
    std::string steps;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      if (IsBeforeOthers(setup.steps[i])) BeginWith(fmt::format("First, {}, do the first measuring of step {}.{}. ", kBeforeOthers, setup.number, i + 1), setup.hold_words);
      if (IsBeforeHolding(setup.steps[i])) steps += fmt::format("{}step {}.{}", steps.empty() ? "" : " and ", setup.number, i + 1);
    }
    if (steps.empty()) continue;
    BeginWith(fmt::format("First, while it is free, do the measuring of {}, which sets z. ", steps), setup.hold_words);
  }
}

}  // namespace fitwright::planner
