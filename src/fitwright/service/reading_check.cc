#include "fitwright/service/reading_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

const Size* DiameterOf(const Feature& feature) {
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) return &hole->diameter;
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return &outer->diameter;
  return nullptr;
}

Side SideOf(const Feature& feature) {
  if (std::holds_alternative<Hole>(feature.shape)) return Side::kHole;
  return std::holds_alternative<OuterDiameter>(feature.shape) ? Side::kShaft : Side::kUnknown;
}

// A measure line may name a bore and mean its depth: the figures say whether it is the diameter.
Side SideOfFigures(const Machine* machine, const FeatureRef& ref, double lower_mm,
                   double upper_mm) {
  const Feature* feature = machine == nullptr ? nullptr : machine->Find(ref);
  const Size* size = feature == nullptr ? nullptr : DiameterOf(*feature);
  const bool is_diameter =
      size != nullptr && lower_mm <= size->upper_mm && size->lower_mm <= upper_mm;
  return is_diameter ? SideOf(*feature) : Side::kUnknown;
}

bool HasFigures(const MeasureLine& line) { return line.upper_mm > line.lower_mm; }

// Where a face's aim says where it stands in the part, and a trial's what is left of a stack, no
// single reading shows it.
bool AimIsASize(const Step& step) {
  return step.aim && step.aim->closes.empty() && step.operation != Operation::kFace &&
         step.operation != Operation::kTrial && step.aim->upper_mm > step.aim->lower_mm;
}

// The last reading of the mate that is of the size meant, in this build.
std::optional<double> FindMateReading(const FeatureRef& mate, double expected_mm,
                                      const BuildLog& log, const FollowedPlans& followed,
                                      int build) {
  for (auto event = log.events.rbegin(); event != log.events.rend(); ++event) {
    if (event->build != build || !event->reading || event->reading->feature != mate) continue;
    const auto plan = followed.find(event->revision);
    if (plan == followed.end()) continue;
    const auto place = FindPlace(plan->second, event->step.text(), 1);
    if (!place || !place->step->measure || !HasFigures(*place->step->measure)) continue;
    const MeasureLine& line = *place->step->measure;
    const double slack_mm = line.upper_mm - line.lower_mm;
    if (expected_mm < line.lower_mm - slack_mm || expected_mm > line.upper_mm + slack_mm) continue;
    return event->reading->value_mm;
  }
  return std::nullopt;
}

std::optional<ReadingLimits> FindLimitsToSuit(const StepPlace& place, const Machine& machine,
                                              const BuildLog& log, const FollowedPlans& followed,
                                              int build) {
  const Step& step = *place.step;
  if (!step.aim || step.aim->kind != AimKind::kFitToMeasured || !step.aim->mate ||
      !step.aim->closes.empty() || step.features.empty()) {
    return std::nullopt;
  }
  const Aim& aim = *step.aim;
  const Feature* feature = machine.Find(step.features.front());
  const Side side = feature == nullptr ? Side::kUnknown : SideOf(*feature);
  if (side == Side::kUnknown) return std::nullopt;
  const double expected_mm =
      aim.target_mm + (side == Side::kHole ? -aim.clearance_mm : aim.clearance_mm);
  const auto mate_mm = FindMateReading(*aim.mate, expected_mm, log, followed, build);
  if (!mate_mm) return std::nullopt;
  if (side == Side::kHole) {
    return ReadingLimits{*mate_mm + aim.clearance_lower_mm, *mate_mm + aim.clearance_upper_mm,
                         mate_mm, *aim.mate, side};
  }
  return ReadingLimits{*mate_mm - aim.clearance_upper_mm, *mate_mm - aim.clearance_lower_mm,
                       mate_mm, *aim.mate, side};
}

int PlacesIn(LengthUnit unit) { return unit == LengthUnit::kInch ? 4 : 3; }

double AsPrinted(double mm, LengthUnit unit) {
  return RoundHalfAway(unit == LengthUnit::kInch ? mm / 25.4 : mm, PlacesIn(unit));
}

std::string Fine(double mm, LengthUnit unit) { return sheets::FineLength(mm, unit); }

// What can be done about it: metal goes off, and never on.
std::string_view RemedyWords(Verdict verdict, Side side) {
  if (side == Side::kUnknown) return "Measure again before it is believed.";
  const bool can_be_cut = (side == Side::kHole) == (verdict == Verdict::kUnder);
  return can_be_cut
             ? "There is metal to take off yet: cut and measure again."
             : "Too much is off, and it cannot be put back: measure again before it is believed.";
}

}  // namespace

std::optional<ReadingLimits> FindLimits(const StepPlace& place, const Machine* machine,
                                        const BuildLog& log, const FollowedPlans& followed,
                                        int build) {
  if (machine != nullptr) {
    if (auto to_suit = FindLimitsToSuit(place, *machine, log, followed, build)) return to_suit;
  }
  const Step& step = *place.step;
  if (step.measure) {
    const MeasureLine& line = *step.measure;
    if (!HasFigures(line)) return std::nullopt;
    return ReadingLimits{line.lower_mm,
                         line.upper_mm,
                         std::nullopt,
                         {},
                         SideOfFigures(machine, line.feature, line.lower_mm, line.upper_mm)};
  }
  if (!AimIsASize(step)) return std::nullopt;
  const FeatureRef feature = step.features.empty() ? FeatureRef{} : step.features.front();
  return ReadingLimits{step.aim->lower_mm,
                       step.aim->upper_mm,
                       std::nullopt,
                       {},
                       SideOfFigures(machine, feature, step.aim->lower_mm, step.aim->upper_mm)};
}

ReadingCheck CheckReading(double value_mm, const std::optional<ReadingLimits>& limits,
                          LengthUnit unit) {
  if (!limits) return {};
  const double read = AsPrinted(value_mm, unit);
  if (read > AsPrinted(limits->upper_mm, unit)) {
    return {Verdict::kOver, value_mm - limits->upper_mm, limits};
  }
  if (read < AsPrinted(limits->lower_mm, unit)) {
    return {Verdict::kUnder, limits->lower_mm - value_mm, limits};
  }
  return {Verdict::kWithin, 0, limits};
}

std::vector<std::string> CheckWords(const ReadingCheck& check, double value_mm, LengthUnit unit) {
  if (!check.limits) {
    return {"The plan has no figures to hold it against: the step's words say what is wanted."};
  }
  const ReadingLimits& limits = *check.limits;
  std::vector<std::string> words;
  if (limits.mate_mm) {
    words.push_back(fmt::format("Reckoned from the {} as measured, {}.",
                                sheets::NameText(limits.mate), Fine(*limits.mate_mm, unit)));
  }
  const std::string both = sheets::LimitsText(limits.lower_mm, limits.upper_mm, unit);
  if (check.verdict == Verdict::kWithin) {
    words.push_back(
        fmt::format("Within its limits, {} {}: {} above the least, {} below the greatest.", both,
                    UnitWord(unit), Fine(std::max(0.0, value_mm - limits.lower_mm), unit),
                    Fine(std::max(0.0, limits.upper_mm - value_mm), unit)));
    return words;
  }
  const bool over = check.verdict == Verdict::kOver;
  words.push_back(fmt::format("Outside its limits, {} {}: {} {} the {}.", both, UnitWord(unit),
                              Fine(check.off_mm, unit), over ? "over" : "under",
                              over ? "greatest" : "least"));
  words.emplace_back(RemedyWords(check.verdict, limits.side));
  return words;
}

}  // namespace fitwright::service
