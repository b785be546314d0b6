#include "fitwright/service/build_use.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/hash.h"
#include "fitwright/files/build_log_json.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/store/build_log_store.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

fs::path LogFile(const fs::path& dir) { return dir / store::kBuildLogFileName; }

Result<BuildLog> LoadLog(const fs::path& dir) {
  const auto store = store::BuildLogStore::OpenToRead(LogFile(dir));
  if (!store) {
    if (store.error().code == ErrorCode::kFileMissing) return BuildLog{};
    return Unexpected(store.error());
  }
  return store->Read();
}

FollowedPlans ReadFollowed(const BuildLog& log) {
  FollowedPlans followed;
  for (const PlanRevision& revision : log.revisions) {
    auto plan =
        files::PlanFromJson(revision.plan_json, fmt::format("revision {}", revision.number));
    if (plan) followed.emplace(revision.number, *std::move(plan));
  }
  return followed;
}

Status LoadFollowedPlan(Workshop& workshop) {
  auto text = files::LoadPlanText(workshop.dir);
  if (!text) {
    if (text.error().code == ErrorCode::kFileMissing) return Ok{};
    return Unexpected(text.error());
  }
  auto plan = files::PlanFromJson(*text, std::string(files::kPlanFileName));
  if (!plan) return Unexpected(plan.error());
  workshop.plan_json = *std::move(text);
  workshop.plan_id = PlanIdOf(workshop.plan_json);
  workshop.plan = *std::move(plan);
  workshop.older_than_sheets =
      workshop.opened && workshop.opened->project.inputs_hash != workshop.plan->inputs_hash;
  return Ok{};
}

}  // namespace

Status CheckBuild(int build) {
  if (build >= 1 && build <= kHighestBuild) return Ok{};
  return Unexpected(Error{ErrorCode::kOutOfRange,
                          fmt::format("builds are 1 to {}", kHighestBuild),
                          fmt::format("{}", build),
                          "count them from 1",
                          {}});
}

std::string PlanIdOf(std::string_view plan_json) {
  return fmt::format("{:016x}", StableHash(plan_json));
}

void TakeLog(Workshop& workshop, BuildLog log) {
  workshop.whole_log = std::move(log);
  workshop.log = StandingLog(workshop.whole_log);
  workshop.followed = ReadFollowed(workshop.log);
}

LengthUnit Workshop::unit() const {
  if (said_unit) return *said_unit;
  return opened ? opened->unit : LengthUnit::kMillimetre;
}

Result<Workshop> EnterWorkshop(const OpenOptions& options) {
  Workshop workshop;
  workshop.dir = options.dir;
  workshop.said_unit = options.unit;
  std::error_code failed;
  if (!fs::is_directory(options.dir, failed)) {
    return Unexpected(Error{ErrorCode::kFileMissing,
                            "there is no such folder",
                            options.dir.string(),
                            "name the project's folder",
                            {}});
  }
  Diagnostics faults;
  auto opened = Open(options, faults);
  if (opened) workshop.opened = *std::move(opened);
  if (const Status loaded = LoadFollowedPlan(workshop); !loaded) return Unexpected(loaded.error());
  auto log = LoadLog(options.dir);
  if (!log) return Unexpected(log.error());
  TakeLog(workshop, *std::move(log));
  return workshop;
}

Result<NextAnswer> AskNext(const NextUse& use) {
  if (const Status good = CheckBuild(use.build); !good) return Unexpected(good.error());
  auto workshop = EnterWorkshop(use.open);
  if (!workshop) return Unexpected(workshop.error());
  NextAnswer answer;
  answer.workshop = *std::move(workshop);
  answer.build = use.build;
  if (!answer.workshop.plan) {
    return Unexpected(Error{ErrorCode::kFileMissing,
                            "there is no plan here yet",
                            "",
                            fmt::format("run 'fitwright plan {}' first", use.open.dir.string()),
                            {std::string(files::kPlanFileName), 0, 0, ""}});
  }
  const Plan& plan = *answer.workshop.plan;
  answer.progress = CalcProgress(plan, answer.workshop.log, answer.workshop.followed, use.build);
  answer.next = FindNext(plan, answer.progress, use.now_ms);
  answer.steps = PlacesOf(plan).size();
  return answer;
}

namespace {

// What is to be kept, before it is.
struct Draft {
  Workshop* workshop = nullptr;
  const RecordUse* use = nullptr;
  BuildProgress progress;
  std::vector<StepPlace> places;  // one, or all of a setup
  std::vector<LogEvent> events;
  std::optional<ReadingCheck> check;
  std::vector<std::string> remarks;
};

Error NoSuchStep(const std::string& step) {
  return {ErrorCode::kUnknownFeature,
          "the plan has no such step, and no step measures such a feature",
          step,
          "take a step's number from the plan, such as 7.3, or a feature such as body.crank_bore",
          {}};
}

Error NoPlan(const RecordUse& use) {
  return {ErrorCode::kFileMissing,
          "there is no plan here whose step it could be",
          use.step,
          fmt::format("run 'fitwright plan {}' first, or keep it as a note: --note",
                      use.open.dir.string()),
          {std::string(files::kPlanFileName), 0, 0, ""}};
}

// The first piece on which the step is open, the first of all when it is done on each.
int FirstOpenCopy(const Draft& draft, const Setup& setup, const Step& step) {
  const int pieces = PiecesOf(*draft.workshop->plan, setup);
  for (int copy = 1; copy <= pieces; ++copy) {
    if (!draft.progress.IsDone({&setup, &step, PieceOf(setup, copy)})) return copy;
  }
  return 1;
}

Result<StepPlace> PlaceOn(const Draft& draft, const Setup& setup, const Step& step, int copy) {
  const int pieces = PiecesOf(*draft.workshop->plan, setup);
  if (copy == 0) copy = FirstOpenCopy(draft, setup, step);
  if (copy >= 1 && copy <= pieces) return StepPlace{&setup, &step, PieceOf(setup, copy)};
  return Unexpected(Error{ErrorCode::kUnknownCopy,
                          fmt::format("{} is wanted {} time{}", PieceOf(setup, 1).text(), pieces,
                                      pieces == 1 ? "" : "s"),
                          fmt::format("{}", copy),
                          "count the pieces from 1",
                          {}});
}

// How far a value lies from a step's figures: 0 within, and steps without figures last.
double DistanceFrom(const Draft& draft, const StepPlace& place, double value_mm) {
  constexpr double kNoFigures = 1e9;
  const Workshop& workshop = *draft.workshop;
  const auto limits =
      FindLimits(place, workshop.machine(), workshop.log, workshop.followed, draft.use->build);
  if (!limits) return kNoFigures;
  return std::max({0.0, limits->lower_mm - value_mm, value_mm - limits->upper_mm});
}

// Among the steps that measure a feature, the one whose figures are nearest; of equals the first
// that is open, then the first.
Result<StepPlace> PlaceOfFeature(const Draft& draft, const FeatureRef& ref, double value_mm) {
  std::optional<StepPlace> best;
  std::pair<double, bool> best_rank;
  const PartId sheet = SheetIdOf(ref.part);
  const int copy = ref.part == sheet ? draft.use->copy : static_cast<int>(CopyNumberOf(ref.part));
  for (const Setup& setup : draft.workshop->plan->setups) {
    for (const Step& step : setup.steps) {
      if (!step.measure || step.measure->feature != FeatureRef{sheet, ref.feature}) continue;
      const auto place = PlaceOn(draft, setup, step, copy);
      if (!place) return place;
      const std::pair<double, bool> rank = {DistanceFrom(draft, *place, value_mm),
                                            draft.progress.IsDone(*place)};
      if (best && rank >= best_rank) continue;
      best = *place;
      best_rank = rank;
    }
  }
  if (!best) return Unexpected(NoSuchStep(ref.text()));
  return *best;
}

std::optional<FeatureRef> AsFeature(const std::string& text) {
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos || dot == 0 || dot + 1 == text.size()) return std::nullopt;
  return FeatureRef{PartId(text.substr(0, dot)), FeatureId(text.substr(dot + 1))};
}

// "7", "s07": every step of the setup.
Result<std::vector<StepPlace>> PlacesOfSetup(const Draft& draft, const std::string& text) {
  std::vector<StepPlace> places;
  for (const Setup& setup : draft.workshop->plan->setups) {
    if (setup.id.text() != text && fmt::format("{}", setup.number) != text) continue;
    for (const Step& step : setup.steps) {
      const int copy =
          draft.use->copy == 0 ? FirstOpenCopy(draft, setup, setup.steps.back()) : draft.use->copy;
      const auto place = PlaceOn(draft, setup, step, copy);
      if (!place) return Unexpected(place.error());
      places.push_back(*place);
    }
  }
  return places;
}

Status FindPlaces(Draft& draft, double value_mm) {
  const RecordUse& use = *draft.use;
  if (use.step.empty()) return Ok{};
  if (!draft.workshop->plan) return Unexpected(NoPlan(use));
  const auto named = FindPlace(*draft.workshop->plan, use.step, 1);
  const auto feature = AsFeature(use.step);
  if (!named && use.value.empty()) {
    auto all = PlacesOfSetup(draft, use.step);
    if (!all) return Unexpected(all.error());
    draft.places = *std::move(all);
    if (!draft.places.empty()) return Ok{};
  }
  if (!named && !feature) return Unexpected(NoSuchStep(use.step));
  const auto place = named ? PlaceOn(draft, *named->setup, *named->step, use.copy)
                           : PlaceOfFeature(draft, *feature, value_mm);
  if (!place) return Unexpected(place.error());
  draft.places = {*place};
  return Ok{};
}

LogEvent BlankEvent(const RecordUse& use, LogKind kind, std::string text) {
  LogEvent event;
  event.kind = kind;
  event.time_ms = use.now_ms;
  event.build = use.build;
  event.text = std::move(text);
  return event;
}
LogEvent EventAt(const RecordUse& use, LogKind kind, const StepPlace& place) {
  LogEvent event = BlankEvent(use, kind, "");
  event.part = place.piece;
  event.step = place.step->id;
  return event;
}

// By its name in the shop, else the one of that kind that reaches so far; else as it was said.
InstrumentId InstrumentOf(Draft& draft, double value_mm) {
  const std::string& said = draft.use->instrument;
  const auto& opened = draft.workshop->opened;
  if (said.empty()) {
    const auto& measure = draft.places.front().step->measure;
    return measure ? measure->instrument : InstrumentId();
  }
  if (!opened) return InstrumentId(said);
  if (opened->project.shop.Find(InstrumentId(said)) != nullptr) return InstrumentId(said);
  for (const Instrument& instrument : opened->project.shop.instruments) {
    const bool reaches = value_mm >= instrument.from_mm && value_mm <= instrument.to_mm;
    if (WordOf(instrument.kind) == said && reaches) return instrument.name;
  }
  draft.remarks.push_back(fmt::format("The shop has no {} for this: kept as it was said.", said));
  return InstrumentId(said);
}

// A bare number in the other unit is the commonest slip: said when it would have been right.
void RemarkOnUnit(Draft& draft, double value_mm) {
  const bool bare = draft.use->value.find_first_not_of("0123456789.+-") == std::string::npos;
  if (!bare || !draft.check->limits || draft.check->verdict == Verdict::kWithin) return;
  const bool inch = draft.workshop->unit() == LengthUnit::kInch;
  const double other_mm = inch ? value_mm / 25.4 : value_mm * 25.4;
  const LengthUnit other = inch ? LengthUnit::kMillimetre : LengthUnit::kInch;
  if (CheckReading(other_mm, draft.check->limits, other).verdict != Verdict::kWithin) return;
  draft.remarks.push_back(
      fmt::format("Read as {0}; {1} {2} would be within: if that was meant, record {1}{2}.",
                  inch ? "inches" : "mm", draft.use->value, UnitWord(other)));
}

void DraftReading(Draft& draft, double value_mm) {
  const RecordUse& use = *draft.use;
  const StepPlace& place = draft.places.front();
  const Workshop& workshop = *draft.workshop;
  LogEvent event = EventAt(use, LogKind::kReading, place);
  FeatureRef feature;
  if (place.step->measure)
    feature = place.step->measure->feature;
  else if (!place.step->features.empty())
    feature = place.step->features.front();
  if (SheetIdOf(feature.part) == SheetIdOf(place.piece)) feature.part = place.piece;
  event.reading = Reading{value_mm, use.value, InstrumentOf(draft, value_mm), feature};
  draft.events.push_back(std::move(event));
  const auto limits =
      FindLimits(place, workshop.machine(), workshop.log, workshop.followed, use.build);
  draft.check = CheckReading(value_mm, limits, workshop.unit());
  RemarkOnUnit(draft, value_mm);
}

void DraftRest(Draft& draft) {
  const RecordUse& use = *draft.use;
  const bool good = draft.check && draft.check->verdict == Verdict::kWithin;
  for (const StepPlace& place : draft.places) {
    if (use.undone)
      draft.events.push_back(EventAt(use, LogKind::kStepUndone, place));
    else if (use.done || good)
      draft.events.push_back(EventAt(use, LogKind::kStepDone, place));
  }
  const auto add_words = [&](LogKind kind, const std::string& text) {
    if (text.empty()) return;
    LogEvent event = BlankEvent(use, kind, text);
    if (draft.places.size() == 1) {
      event.part = draft.places.front().piece;
      event.step = draft.places.front().step->id;
    }
    draft.events.push_back(std::move(event));
  };
  add_words(LogKind::kNote, use.note);
  add_words(LogKind::kPhoto, use.photo);
  add_words(LogKind::kShopChange, use.shop_change);
  if (use.remade.empty()) return;
  LogEvent event = BlankEvent(use, LogKind::kPartRemade, "");
  event.part = PartId(use.remade);
  draft.events.push_back(std::move(event));
}

Status CheckRemade(const Draft& draft) {
  if (draft.use->remade.empty() || !draft.workshop->plan) return Ok{};
  const PartId part(draft.use->remade);
  for (const PlannedPart& planned : draft.workshop->plan->parts) {
    const std::size_t copy = CopyNumberOf(part);
    if (planned.name != SheetIdOf(part)) continue;
    if (copy >= 1 && copy <= static_cast<std::size_t>(planned.quantity)) return Ok{};
    return Unexpected(Error{ErrorCode::kUnknownCopy,
                            fmt::format("it is wanted {} times", planned.quantity),
                            part.text(),
                            "count the pieces from 1, as in ring#2",
                            {}});
  }
  return Unexpected(Error{ErrorCode::kUnknownPart,
                          "the plan makes no such part",
                          part.text(),
                          "name a part of the plan",
                          {}});
}

// A bare number is in the machine's unit; where that cannot be read, it is not guessed.
Result<double> ReadValue(const Workshop& workshop, const std::string& text) {
  const auto value_mm = ParseLength_mm(text, workshop.unit());
  if (!value_mm || workshop.opened || workshop.said_unit) return value_mm;
  if (text.find_first_not_of("0123456789.+- /") != std::string::npos) return value_mm;
  return Unexpected(Error{ErrorCode::kBadLength,
                          "the sheets cannot be read now, so the unit is not known",
                          text,
                          fmt::format("say it: {0}mm or {0}in", text),
                          {}});
}

Status Draw(Draft& draft) {
  const RecordUse& use = *draft.use;
  double value_mm = 0;
  if (!use.value.empty()) {
    const auto read = ReadValue(*draft.workshop, use.value);
    if (!read) return Unexpected(read.error());
    value_mm = *read;
  }
  if (Status found = FindPlaces(draft, value_mm); !found) return found;
  if (Status known = CheckRemade(draft); !known) return known;
  if (!use.value.empty()) {
    if (draft.places.empty()) return Unexpected(NoSuchStep(use.step));
    DraftReading(draft, value_mm);
  }
  DraftRest(draft);
  if (!draft.events.empty()) return Ok{};
  return Unexpected(
      Error{ErrorCode::kUsage,
            "there is nothing to record",
            use.step,
            "give a value, --done, --undone, --note, --photo, --remade or --shop-change",
            {}});
}

}  // namespace

namespace {

// What was kept stands in the log that was read before, too.
void TakeIn(const std::vector<LogEvent>& events, Workshop& workshop) {
  const auto known = [&](const LogEvent& event) {
    return std::any_of(workshop.log.events.begin(), workshop.log.events.end(),
                       [&](const LogEvent& other) { return other.id == event.id; });
  };
  for (const LogEvent& event : events) {
    if (!known(event)) workshop.log.events.push_back(event);
    if (workshop.plan && event.revision != 0) workshop.followed.emplace(event.revision, *workshop.plan);
  }
}

}  // namespace

Result<RecordAnswer> Record(const RecordUse& use) {
  if (const Status good = CheckBuild(use.build); !good) return Unexpected(good.error());
  auto workshop = EnterWorkshop(use.open);
  if (!workshop) return Unexpected(workshop.error());
  RecordAnswer answer;
  answer.workshop = *std::move(workshop);
  Draft draft;
  draft.workshop = &answer.workshop;
  draft.use = &use;
  std::optional<store::FollowedPlan> followed;
  if (answer.workshop.plan) {
    const Workshop& w = answer.workshop;
    draft.progress = CalcProgress(*w.plan, w.log, w.followed, use.build);
    followed = store::FollowedPlan{w.plan_json, w.plan->inputs_hash, use.now_ms};
  }
  if (const Status drawn = Draw(draft); !drawn) return Unexpected(drawn.error());
  auto store = store::BuildLogStore::Open(LogFile(use.open.dir));
  if (!store) return Unexpected(store.error());
  auto kept = store->Append(std::move(draft.events), followed);
  if (!kept) return Unexpected(kept.error());
  answer.events = *std::move(kept);
  TakeIn(answer.events, answer.workshop);
  if (!draft.places.empty()) answer.place = draft.places.front();
  answer.check = draft.check;
  answer.remarks = std::move(draft.remarks);
  return answer;
}

Status ExportLog(const fs::path& dir, const fs::path& to) {
  const auto store = store::BuildLogStore::OpenToRead(LogFile(dir));
  if (!store) return Unexpected(store.error());
  const auto log = store->Read();
  if (!log) return Unexpected(log.error());
  return WriteFileAtomically(to, files::BuildLogToJson(*log, files::Plans::kWith));
}

Result<ImportAnswer> ImportLog(const fs::path& dir, const fs::path& from) {
  std::ifstream in(from, std::ios::binary);
  if (!in) {
    return Unexpected(Error{ErrorCode::kFileMissing,
                            "this file cannot be read",
                            from.string(),
                            "take a file that fitwright log --out wrote",
                            {}});
  }
  const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  const auto log = files::BuildLogFromJson(text, from.string());
  if (!log) return Unexpected(log.error());
  auto store = store::BuildLogStore::Open(LogFile(dir));
  if (!store) return Unexpected(store.error());
  const auto merged = store->Merge(*log);
  if (!merged) return Unexpected(merged.error());
  return ImportAnswer{merged->added, merged->known};
}

}  // namespace fitwright::service
