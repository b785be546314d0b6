#include "fitwright/service/build_desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "fitwright/base/hash.h"
#include "fitwright/files/page_events_json.h"
#include "fitwright/store/build_log_store.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

using files::PageEvent;

constexpr std::chrono::milliseconds kBetweenLooks{200};
constexpr std::int64_t kToldAnew_ms = 1000;  // what rests until a moment is seen to be over so much later at most

std::filesystem::path LogFileIn(const std::filesystem::path& dir) {
  return dir / store::kBuildLogFileName;
}

std::string WordsOfReading(const Reading& reading) {
  return reading.typed.empty() ? fmt::format("{} mm", reading.value_mm) : reading.typed;
}

// The same in words, for the log of whoever has that plan on paper.
LogEvent AsNote(const LogEvent& event, const std::string& why) {
  LogEvent note = event;
  note.kind = LogKind::kNote;
  note.step = StepId();
  note.revision = 0;
  note.reading.reset();
  note.text = fmt::format("{} of step {}{}{}: {}", WordOf(event.kind), event.step.text(),
                          event.reading ? ", " + WordsOfReading(*event.reading) : "",
                          event.text.empty() ? "" : ", " + event.text, why);
  return note;
}

// Of the event that says the step is done because a reading was good: the same one each time.
std::string DoneIdOf(const std::string& reading_id) {
  return fmt::format("{:016x}{:016x}", StableHash(reading_id, 1), StableHash(reading_id, 2));
}

int CopyOf(const PartId& part) { return static_cast<int>(CopyNumberOf(part)); }

// Part, feature and instrument as the step has them.
void FillFromStep(const StepPlace& place, LogEvent& event) {
  event.part = place.piece;
  if (!event.reading) return;
  Reading& reading = *event.reading;
  const Step& step = *place.step;
  if (step.measure)
    reading.feature = step.measure->feature;
  else if (!step.features.empty())
    reading.feature = step.features.front();
  if (SheetIdOf(reading.feature.part) == SheetIdOf(place.piece)) reading.feature.part = place.piece;
  if (reading.instrument.empty() && step.measure) reading.instrument = step.measure->instrument;
}

// The plan that an event belongs to.
struct Followed {
  const Plan* plan = nullptr;
  int revision = 0;  // of the log; 0: the current plan, which the log may not have yet
};
std::optional<Followed> FindFollowed(const Workshop& workshop, const std::string& plan_id) {
  if (workshop.plan && workshop.plan_id == plan_id) return Followed{&*workshop.plan, 0};
  for (const PlanRevision& revision : workshop.whole_log.revisions) {
    const auto plan = workshop.followed.find(revision.number);
    if (plan != workshop.followed.end() && PlanIdOf(revision.plan_json) == plan_id)
      return Followed{&plan->second, revision.number};
  }
  return std::nullopt;
}

// Ticks and words change no odds that a page waits for.
bool IsWaitedFor(const PageEvent& sent) {
  const LogKind kind = sent.event.kind;
  return kind != LogKind::kStepDone && kind != LogKind::kStepUndone && kind != LogKind::kNote && kind != LogKind::kPhoto;
}

// One event made ready for the log, with what follows from it.
struct Ready {
  std::vector<LogEvent> events;
  bool of_current_plan = false;
  KeptEvent kept;
};

void FollowReading(const Workshop& workshop, const StepPlace& place, const LogEvent& event,
                   Ready& ready) {
  const double value_mm = event.reading->value_mm;
  const auto limits =
      FindLimits(place, workshop.machine(), workshop.log, workshop.followed, event.build);
  const ReadingCheck check = CheckReading(value_mm, limits, workshop.unit());
  ready.kept.say = CheckWords(check, value_mm, workshop.unit());
  if (check.verdict != Verdict::kWithin) return;
  LogEvent done = event;
  done.id = DoneIdOf(event.id);
  done.kind = LogKind::kStepDone;
  done.reading.reset();
  ready.events.push_back(std::move(done));
}

Ready MakeReady(const Workshop& workshop, const PageEvent& sent) {
  Ready ready;
  ready.kept.id = sent.event.id;
  LogEvent event = sent.event;
  if (event.step.empty()) {
    event.revision = 0;
    ready.events = {std::move(event)};
    return ready;
  }
  const auto followed = FindFollowed(workshop, sent.plan);
  const auto place =
      followed ? FindPlace(*followed->plan, event.step.text(), CopyOf(event.part)) : std::nullopt;
  if (!place) {
    const char* why = followed ? "that plan has no such step"
                               : "its plan is no longer here, and nothing was recorded to it";
    ready.events = {AsNote(event, why)};
    ready.kept.as = KeptAs::kNote;
    ready.kept.say = {fmt::format("Kept as a note: {}.", why)};
    return ready;
  }
  event.revision = followed->revision;
  ready.of_current_plan = followed->revision == 0;
  FillFromStep(*place, event);
  ready.events = {event};
  if (event.reading) FollowReading(workshop, *place, event, ready);
  return ready;
}

}  // namespace

BuildDesk::BuildDesk(OpenOptions open)
    : open_(std::move(open)), reckoner_([this](const std::stop_token& stop) { ReckonWhatIsAsked(stop); }) {}
BuildDesk::~BuildDesk() = default;

Status BuildDesk::EnterFolder() {
  FolderStamp now = ReadFolderStamp(open_.dir, open_.shop_file);
  if (workshop_ && now.settled && folder_.settled && now == folder_) return Ok{};
  auto entered = EnterWorkshop(open_);
  if (!entered) return Unexpected(entered.error());
  workshop_ = *std::move(entered);
  ++entry_;
  folder_ = std::move(now);
  log_file_.clear();
  return Ok{};
}

Status BuildDesk::EnterLog() {
  std::string file = FindFileIdentity(LogFileIn(open_.dir));
  if (file.empty()) {
    store_.reset();
    log_file_.clear();
    TakeLog(*workshop_, {});
    return Ok{};
  }
  if (!store_ || file != log_file_) {
    store_.reset();
    auto opened = store::BuildLogStore::OpenToRead(LogFileIn(open_.dir));
    if (!opened && opened.error().code == ErrorCode::kFileMissing) return Ok{};  // being begun
    if (!opened) return Unexpected(opened.error());
    store_ = std::make_unique<store::BuildLogStore>(*std::move(opened));
    foreign_ = -1;
    log_file_ = std::move(file);
  }
  const auto foreign = store_->CountForeign();
  if (!foreign) return Unexpected(foreign.error());
  if (*foreign == foreign_) return Ok{};
  auto log = store_->Read();
  if (!log) return Unexpected(log.error());
  TakeLog(*workshop_, *std::move(log));
  foreign_ = *foreign;
  return Ok{};
}

Status BuildDesk::Enter() {
  if (const Status entered = EnterFolder(); !entered) return entered;
  return EnterLog();
}

Status BuildDesk::OpenStoreToWrite() {
  if (store_) return Ok{};
  auto opened = store::BuildLogStore::Open(LogFileIn(open_.dir));
  if (!opened) return Unexpected(opened.error());
  store_ = std::make_unique<store::BuildLogStore>(*std::move(opened));
  log_file_ = FindFileIdentity(LogFileIn(open_.dir));
  foreign_ = -1;
  return EnterLog();
}

Status BuildDesk::Append(std::vector<LogEvent> events, bool of_current_plan, std::int64_t now_ms) {
  std::optional<store::FollowedPlan> plan;
  if (of_current_plan)
    plan = store::FollowedPlan{workshop_->plan_json, workshop_->plan->inputs_hash, now_ms};
  auto kept = store_->Append(std::move(events), plan);
  if (!kept) return Unexpected(kept.error());
  for (LogEvent& event : *kept) {
    const auto& known = workshop_->whole_log;
    const bool next = event.number == static_cast<std::int64_t>(known.events.size()) + 1 &&
                      event.revision <= static_cast<int>(known.revisions.size()) &&
                      event.kind != LogKind::kReadingUndone;
    if (!next) foreign_ = -1;  // read anew
    if (foreign_ == -1) continue;
    workshop_->log.events.push_back(event);
    workshop_->whole_log.events.push_back(std::move(event));
  }
  return EnterLog();
}

Status BuildDesk::Keep(std::vector<PageEvent> sent, const DeskUse& use,
                       std::vector<KeptEvent>& kept) {
  std::set<std::string> known;
  for (const LogEvent& event : workshop_->whole_log.events) known.insert(event.id);
  for (PageEvent& one : sent) {
    if (known.count(one.event.id) > 0) {
      kept.push_back({one.event.id, KeptAs::kKnown, {}});
      continue;
    }
    Ready ready;
    if (!one.fault) {
      ready = MakeReady(*workshop_, one);
      LogEvent as_kept = ready.events.front();
      if (ready.of_current_plan) as_kept.revision = 1;
      one.fault = FindFault(as_kept);
    }
    if (one.fault) {
      kept.push_back({one.event.id, KeptAs::kRefused, {one.fault->message}});
      continue;
    }
    if (const Status added = Append(ready.events, ready.of_current_plan, use.now_ms); !added)
      return added;
    kept.push_back(std::move(ready.kept));
  }
  return Ok{};
}

std::string BuildDesk::CalcSign() const {
  const std::uint64_t folder = StableHash(folder_.text);
  const std::size_t events = workshop_ ? workshop_->whole_log.events.size() : std::size_t{0};
  return fmt::format("{:016x}-{}-{}", folder, events, told_again_);
}

Result<std::string> BuildDesk::GetState(const DeskUse& use) {
  if (const Status good = CheckBuild(use.build); !good) return Unexpected(good.error());
  std::unique_lock lock(mutex_);
  if (const Status entered = Enter(); !entered) return Unexpected(entered.error());
  if (std::string sign = CalcSign(); sign != told_sign_) {
    told_.clear();
    told_sign_ = std::move(sign);
  }
  workshop_->said_unit = use.unit ? use.unit : open_.unit;
  const std::string which = fmt::format("{}/{}", use.build, UnitWord(workshop_->unit()));
  const auto told = told_.find(which);
  if (told != told_.end() && folder_.settled && use.now_ms >= told->second.made_ms && use.now_ms - told->second.made_ms < kToldAnew_ms)
    return told->second.state;
  Consequences consequences = ConsequencesOf(use, false, lock);
  workshop_->said_unit = use.unit ? use.unit : open_.unit;
  std::string sign = CalcSign();
  std::string state = BuildToJson(*workshop_, {use.build, use.now_ms, sign, {}, std::move(consequences)});
  if (sign == told_sign_) told_[which] = {use.now_ms, state};
  return state;
}

Result<std::string> BuildDesk::Record(std::string_view events_json, const DeskUse& use) {
  if (const Status good = CheckBuild(use.build); !good) return Unexpected(good.error());
  auto sent = files::PageEventsFromJson(events_json);
  if (!sent) return Unexpected(sent.error());
  std::unique_lock lock(mutex_);
  if (const Status entered = Enter(); !entered) return Unexpected(entered.error());
  if (const Status opened = OpenStoreToWrite(); !opened) return Unexpected(opened.error());
  workshop_->said_unit = use.unit ? use.unit : open_.unit;
  const bool waited_for = std::any_of(sent->begin(), sent->end(), IsWaitedFor);
  std::vector<KeptEvent> kept;
  const Status done = Keep(*std::move(sent), use, kept);
  added_.notify_all();
  if (!done) return Unexpected(done.error());
  Consequences consequences = ConsequencesOf(use, waited_for, lock);
  workshop_->said_unit = use.unit ? use.unit : open_.unit;
  return BuildToJson(*workshop_, {use.build, use.now_ms, CalcSign(), std::move(kept), std::move(consequences)});
}

std::string BuildDesk::ConsequencesKey(int build) const {
  // Words alone change nothing that is reckoned.
  const auto& events = workshop_->whole_log.events;
  const auto counting = std::count_if(events.begin(), events.end(), [&](const LogEvent& event) {
    return event.build == build && event.kind != LogKind::kNote && event.kind != LogKind::kPhoto;
  });
  return fmt::format("{}/{}/{:016x}/{}", build, workshop_->unit() == LengthUnit::kInch,
                     StableHash(folder_.text), counting);
}

Consequences BuildDesk::ConsequencesOf(const DeskUse& use, bool fresh, std::unique_lock<std::mutex>& lock) {
  const std::string key = ConsequencesKey(use.build);
  if (key == consequences_key_) return consequences_;
  const auto but_events = [](const std::string& of) { return of.substr(0, of.rfind('/')); };
  if (!fresh && but_events(key) == but_events(consequences_key_)) {
    told_earlier_ = true;
    asked_ = use;
    asked_for_.notify_one();
    return consequences_;
  }
  const std::optional<LengthUnit> unit = workshop_->said_unit;
  lock.unlock();
  const std::lock_guard reckoning(reckoning_);
  lock.lock();
  workshop_->said_unit = unit;
  std::string now = ConsequencesKey(use.build);
  if (now == consequences_key_) return consequences_;
  CopyToReckon();
  lock.unlock();
  Consequences reckoned = Reckon(use.build);
  lock.lock();
  consequences_key_ = std::move(now);
  consequences_ = reckoned;
  if (told_earlier_) ++told_again_;
  told_earlier_ = false;
  added_.notify_all();
  return reckoned;
}

void BuildDesk::ReckonWhatIsAsked(const std::stop_token& stop) {
  std::unique_lock lock(mutex_);
  while (asked_for_.wait(lock, stop, [&] { return asked_.has_value(); })) {
    const DeskUse use = *asked_;
    asked_.reset();
    workshop_->said_unit = use.unit ? use.unit : open_.unit;
    ConsequencesOf(use, true, lock);
  }
}

void BuildDesk::CopyToReckon() {
  if (reckoned_entry_ != entry_) {
    rework_.Forget();
    reckoned_ = *workshop_;
    reckoned_entry_ = entry_;
    return;
  }
  reckoned_->said_unit = workshop_->said_unit;
  if (reckoned_->log.revisions.size() != workshop_->log.revisions.size())
    reckoned_->followed = workshop_->followed;
  reckoned_->log = workshop_->log;
}

Consequences BuildDesk::Reckon(int build) {
  const Workshop& now = *reckoned_;
  if (!now.plan) return {};
  const auto answer = rework_.Ask(now, build);
  if (answer) return FindConsequences(now, *answer);
  const auto readings = FindReadings(*now.plan, now.log, now.followed, build);
  if (readings.empty()) return {};
  Consequences unreckoned;
  unreckoned.event = readings.back().event.id;
  unreckoned.words = {UnreckonedWords(answer.error())};
  return unreckoned;
}

std::string BuildDesk::WaitForChange(const std::string& seen, std::chrono::milliseconds most,
                                     const CancelFlag& cancel) {
  const auto until = std::chrono::steady_clock::now() + most;
  std::unique_lock lock(mutex_);
  while (true) {
    // What cannot be read now is told by whoever asks for it.
    (void)Enter();
    std::string sign = CalcSign();
    if (sign != seen || cancel.cancelled() || std::chrono::steady_clock::now() >= until)
      return sign;
    added_.wait_for(lock, kBetweenLooks);
  }
}

}  // namespace fitwright::service
