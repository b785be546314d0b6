#include "fitwright/service/rework_use.h"

#include <algorithm>
#include <cmath>

namespace fitwright::service {
namespace {

// "40.03": a hundredth; "1.5765in": a ten-thousandth of an inch. Fractions say no last place.
double LastPlace_mm(const std::string& typed, LengthUnit unit) {
  const std::size_t point = typed.find('.');
  if (typed.find('/') != std::string::npos) return 0;
  std::size_t places = 0;
  if (point != std::string::npos) {
    while (point + 1 + places < typed.size() && typed[point + 1 + places] >= '0' &&
           typed[point + 1 + places] <= '9')
      ++places;
  }
  const bool inch = typed.find("in") != std::string::npos ||
                    (typed.find("mm") == std::string::npos && unit == LengthUnit::kInch);
  return (inch ? 25.4 : 1) * std::pow(10.0, -static_cast<double>(places));
}

rework::ReadingTaken TakenFrom(const PlacedReading& reading, LengthUnit unit) {
  rework::ReadingTaken taken;
  taken.feature = reading.event.reading->feature;
  taken.setup = reading.place.setup;
  taken.step = reading.place.step;
  taken.value_mm = reading.event.reading->value_mm;
  taken.digit_mm = LastPlace_mm(reading.event.reading->typed, unit);
  taken.instrument = reading.event.reading->instrument;
  return taken;
}

Error NoReading(std::int64_t event) {
  return {ErrorCode::kNoPlan,
          event == 0 ? "nothing was read in this build yet"
                     : "the log has no reading of that number at a step of this plan",
          event == 0 ? "" : fmt::format("{}", event),
          "record a size first",
          {}};
}

Error CannotReadSheets() {
  return {ErrorCode::kFileUnreadable,
          "the sheets cannot be read now",
          "",
          "run 'fitwright check'",
          {}};
}

std::optional<rework::PastLimits> FindPast(const Workshop& workshop, const ReworkAnswer& answer) {
  const PlacedReading& last = answer.readings.back();
  const auto limits =
      FindLimits(last.place, workshop.machine(), workshop.log, workshop.followed, answer.build);
  const ReadingCheck check = CheckReading(last.event.reading->value_mm, limits, workshop.unit());
  if (check.verdict != Verdict::kOver && check.verdict != Verdict::kUnder) return std::nullopt;
  rework::PastLimits past;
  past.taken = answer.standing.readings.back();
  past.lower_mm = limits->lower_mm;
  past.upper_mm = limits->upper_mm;
  past.is_hole = limits->side == Side::kHole;
  past.is_round = limits->side != Side::kUnknown;
  return past;
}

Result<rework::Standing> StandingBy(const Workshop& workshop, int build,
                                    std::vector<PlacedReading>& readings) {
  if (!workshop.opened) return Unexpected(CannotReadSheets());
  if (!workshop.plan) {
    return Unexpected(Error{
        ErrorCode::kFileMissing, "there is no plan here yet", "", "run 'fitwright plan'", {}});
  }
  rework::Standing standing;
  standing.machine = workshop.machine();
  standing.shop = &workshop.opened->project.shop;
  standing.plan = &*workshop.plan;
  readings = FindReadings(*workshop.plan, workshop.log, workshop.followed, build);
  for (const PlacedReading& reading : readings)
    standing.readings.push_back(TakenFrom(reading, workshop.unit()));
  const BuildProgress progress =
      CalcProgress(*workshop.plan, workshop.log, workshop.followed, build);
  for (const auto& [step, by] : progress.done) standing.done.insert(step);
  return standing;
}

}  // namespace

Result<rework::Standing> StandingOf(const Workshop& workshop, int build) {
  std::vector<PlacedReading> readings;
  return StandingBy(workshop, build, readings);
}

Result<ReworkAnswer> ReworkKept::Ask(const Workshop& workshop, int build, std::int64_t event) {
  ReworkAnswer answer;
  answer.build = build;
  auto standing = StandingBy(workshop, build, answer.readings);
  if (!standing) return Unexpected(standing.error());
  answer.standing = *std::move(standing);
  if (event != 0) {
    const auto at = std::find_if(answer.readings.begin(), answer.readings.end(),
                                 [&](const PlacedReading& r) { return r.event.number == event; });
    if (at == answer.readings.end()) return Unexpected(NoReading(event));
    answer.readings.erase(at + 1, answer.readings.end());
    answer.standing.readings.resize(answer.readings.size());
  }
  if (answer.readings.empty()) return Unexpected(NoReading(event));
  if (!changes_) {
    auto kept = rework::ChangesKept::Of(*answer.standing.machine, *answer.standing.shop,
                                        *answer.standing.plan, {});
    if (!kept) return Unexpected(kept.error());
    changes_ = *std::move(kept);
  }
  auto changes = changes_->Calc(answer.standing);
  if (!changes) return Unexpected(changes.error());
  answer.changes = *std::move(changes);
  answer.past = FindPast(workshop, answer);
  if (answer.past) answer.rescues = changes_->CalcRescues(answer.standing, *answer.past);
  return answer;
}

Result<ReworkAnswer> AskChanges(const Workshop& workshop, int build, std::int64_t event) {
  return ReworkKept().Ask(workshop, build, event);
}

std::optional<ReworkAnswer> ChangesOf(const RecordAnswer& record) {
  for (const LogEvent& event : record.events) {
    if (!event.reading || !record.workshop.plan) continue;
    auto answer = AskChanges(record.workshop, event.build, event.number);
    if (answer) return *std::move(answer);
  }
  return std::nullopt;
}

Result<std::string> AnswerReading(const Workshop& workshop, const LogEvent& event) {
  const auto answer = AskChanges(workshop, event.build, event.number);
  if (!answer) return Unexpected(answer.error());
  return ChangesToJson(workshop, *answer);
}

}  // namespace fitwright::service
