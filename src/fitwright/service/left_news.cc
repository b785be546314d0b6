// What `next` says of a plan that was made anew, and of making it anew.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/planner/underway.h"
#include "fitwright/rework/standing_odds.h"
#include "fitwright/rework/targets.h"
#include "fitwright/service/left_use.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using rework::SizeTarget;
using sheets::NameText;

constexpr std::size_t kMostSaid = 3;
constexpr double kWorse = 0.05;  // of a chance: opinion, as after a reading (rework_words.cc)
constexpr std::int64_t kBuilds = 2048;

std::string Count(int n, const char* what) {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
}

// ---- A plan of what was left.

// The plan that work was last done to, where that is not the one of now.
const Plan* FindPlanBefore(const Workshop& w, int& revision) {
  const auto& revisions = w.log.revisions;
  for (auto at = revisions.rbegin(); at != revisions.rend(); ++at) {
    const auto known = w.followed.find(at->number);
    if (known == w.followed.end() || at->plan_json == w.plan_json) continue;
    revision = at->number;
    return &known->second;
  }
  return nullptr;
}

// A step of an earlier revision in the plan of now, found as what was done to it is.
std::optional<StepPlace> FindSameWork(const Workshop& w, int revision, const StepPlace& place) {
  BuildLog log;
  LogEvent done;
  done.kind = LogKind::kStepDone;
  done.revision = revision;
  done.part = place.piece;
  done.step = place.step->id;
  log.events.push_back(done);
  const BuildProgress progress = CalcProgress(*w.plan, log, w.followed, done.build);
  if (progress.done.empty()) return std::nullopt;
  auto same = FindPlace(*w.plan, progress.done.begin()->first.first.text(), 1);
  if (same) same->piece = place.piece;
  return same;
}

std::string StepText(const StepPlace& place) {
  const std::string piece = NameText(place.piece.text());
  return fmt::format("step {}{}{}", place.number(), piece.empty() ? "" : " of the ", piece);
}

// Where something else came next before.
void AddOrderNews(const NextAnswer& answer, const Plan& before, int revision, PlanNews& news) {
  const Workshop& w = answer.workshop;
  const BuildProgress then = CalcProgress(before, w.log, w.followed, answer.build);
  const Next next = FindNext(before, then, 0);
  if (!next.step) return;
  const auto same = FindSameWork(w, revision, next.step->place);
  const StepPlace& now = answer.next.step->place;
  if (same && same->step == now.step && same->piece == now.piece) return;
  news.next_changed = true;
  const std::string was =
      fmt::format("By the plan before, {} came next", StepText(next.step->place));
  const bool done = same && answer.progress.IsDone(*same);
  if (done)
    news.about.push_back(was + ": it is done.");
  else if (same)
    news.about.push_back(fmt::format("{}: it is step {} now.", was, same->number()));
  else
    news.about.push_back(was + ": it is done otherwise now.");
}

const MovedAim* FindMoved(const PlannedAnew& anew, const Step& step) {
  for (const MovedAim& aim : anew.aims) {
    const bool is_it = std::any_of(step.features.begin(), step.features.end(),
                                   [&](const FeatureRef& f) { return f == aim.feature; });
    if (is_it && step.aim) return &aim;
  }
  return nullptr;
}

// What the changes are for.
void AddWhy(const PlannedAnew& anew, std::vector<std::string>& words) {
  std::vector<std::string> moved;
  for (const OddsMoved& one : anew.why) {
    if (moved.size() == kMostSaid) break;
    moved.push_back(fmt::format("{} {} instead of {}", NameText(one.name.text()),
                                sheets::ChanceText(one.after), sheets::ChanceText(one.before)));
  }
  if (!moved.empty())
    words.push_back(fmt::format("What that is for: {}.", sheets::ListText(moved)));
}

bool HasSetup(const Plan& plan, const Setup& setup) {
  return std::any_of(plan.setups.begin(), plan.setups.end(),
                     [&](const Setup& other) { return planner::IsSameWork(other, setup); });
}

void AddStepNews(const NextAnswer& answer, const PlannedAnew& anew, const Plan* before,
                 PlanNews& news) {
  const StepPlace& place = answer.next.step->place;
  const LengthUnit unit = answer.workshop.unit();
  const auto said = news.about.size();
  if (const MovedAim* aim = FindMoved(anew, *place.step)) {
    news.about.push_back(
        fmt::format("This size is another than before: {} {}, where it was {}.",
                    sheets::LimitsText(aim->lower_mm, aim->upper_mm, unit), UnitWord(unit),
                    sheets::LimitsText(aim->lower_before_mm, aim->upper_before_mm, unit)));
  }
  if (before != nullptr && !HasSetup(*before, *place.setup)) {
    news.about.push_back(fmt::format("Setup {} is not as it was before.", place.setup->number));
    for (std::size_t i = 0; i < std::min(kMostSaid, anew.changes.size()); ++i)
      news.about.push_back(anew.changes[i]);
  }
  if (news.about.size() == said) return;
  news.next_changed = true;
  AddWhy(anew, news.about);
}

void AddAnew(const NextAnswer& answer, const PlannedAnew& anew, PlanNews& news) {
  news.anew = true;
  const int left = static_cast<int>(answer.workshop.plan->setups.size()) - anew.setups_done;
  news.about.push_back(
      fmt::format("This plan is of what was left after {}: {} begun or done stayed, {} of the {} "
                  "after them {} changed.",
                  Count(anew.readings, "reading"), Count(anew.setups_done, "setup"),
                  anew.setups_changed, left, anew.setups_changed == 1 ? "was" : "were"));
  if (!answer.next.step) return;
  int revision = 0;
  const Plan* before = FindPlanBefore(answer.workshop, revision);
  AddStepNews(answer, anew, before, news);
  if (before != nullptr) AddOrderNews(answer, *before, revision, news);
}

// ---- Making it anew.

std::string MovedText(const SizeTarget& t, LengthUnit unit) {
  return fmt::format("{} is better brought to {} {} than to {}: saves {} of remedies on average.",
                     sheets::Capital(NameText(t.size.feature)),
                     sheets::LimitsText(t.now.lower_mm, t.now.upper_mm, unit), UnitWord(unit),
                     sheets::LimitsText(t.planned.lower_mm, t.planned.upper_mm, unit),
                     sheets::TimeText(t.saves_min));
}

// Sizes in setups that are not begun: planning anew moves them, for what it counts a change.
Result<std::vector<SizeTarget>> FindWorthMoving(const rework::Standing& standing) {
  auto targets = rework::FindTargetsNow(standing);
  if (!targets) return targets;
  const std::set<SetupId> begun = BegunSetups(standing);
  std::erase_if(*targets,
                [&](const SizeTarget& t) { return !t.moved || begun.contains(t.size.setup->id); });
  std::stable_sort(targets->begin(), targets->end(), [](const SizeTarget& a, const SizeTarget& b) {
    return a.saves_min > b.saves_min;
  });
  return targets;
}

// Requirements that stand worse than the plan says.
Result<std::vector<OddsMoved>> FindWorse(const rework::Standing& standing) {
  const Odds& said = standing.plan->odds;
  const auto now = rework::CalcStandingOdds(standing, kBuilds, said.seed);
  if (!now) return Unexpected(now.error());
  std::vector<OddsMoved> worse;
  const std::size_t known = std::min(said.requirements.size(), now->per_requirement.size());
  for (std::size_t r = 0; r < known; ++r) {
    const double before = said.requirements[r].chance.odds;
    const double after = now->per_requirement[r];
    if (after < before - kWorse) worse.push_back({said.requirements[r].name, before, after});
  }
  std::stable_sort(worse.begin(), worse.end(), [](const OddsMoved& a, const OddsMoved& b) {
    return a.before - a.after > b.before - b.after;
  });
  return worse;
}

void AddWorth(const NextAnswer& answer, const rework::Standing& standing, PlanNews& news) {
  const auto moved = FindWorthMoving(standing);
  const auto worse = FindWorse(standing);
  if (!moved || !worse || (moved->empty() && worse->empty())) return;
  const LengthUnit unit = answer.workshop.unit();
  for (std::size_t i = 0; i < std::min(kMostSaid, moved->size()); ++i)
    news.worth.push_back(MovedText((*moved)[i], unit));
  if (moved->size() > kMostSaid)
    news.worth.push_back(
        fmt::format("So are {} more.", Count(static_cast<int>(moved->size() - kMostSaid), "size")));
  for (std::size_t i = 0; i < std::min(kMostSaid, worse->size()); ++i) {
    const OddsMoved& one = (*worse)[i];
    news.worth.push_back(fmt::format(
        "{} stands at {}; the plan said {}.", sheets::Capital(NameText(one.name.text())),
        sheets::ChanceText(one.after), sheets::ChanceText(one.before)));
  }
  const std::string build = answer.build == 1 ? "" : fmt::format(" --build {}", answer.build);
  news.worth.push_back(
      fmt::format("{} {} taken since this plan was made, and {} worth planning what is left by {}: "
                  "fitwright plan {}{}",
                  Count(news.readings_since, "reading"), news.readings_since == 1 ? "was" : "were",
                  moved->empty() ? "it may be" : "it is", news.readings_since == 1 ? "it" : "them",
                  answer.workshop.dir.string(), build));
}

}  // namespace

PlanNews FindPlanNews(const NextAnswer& answer, const PlanOrigin& origin) {
  PlanNews news;
  const auto standing = StandingOf(answer.workshop, answer.build);
  if (!standing) return news;
  const auto& anew = origin.anew;
  const bool of_this = anew && anew->build == answer.build;
  if (of_this) AddAnew(answer, *anew, news);
  const int readings = static_cast<int>(standing->readings.size());
  news.readings_since = std::max(0, readings - (of_this ? anew->readings : 0));
  if (news.readings_since > 0 && answer.next.step) AddWorth(answer, *standing, news);
  return news;
}

}  // namespace fitwright::service
