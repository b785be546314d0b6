#include "fitwright/service/left_use.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "fitwright/files/plan_json.h"
#include "fitwright/planner/underway.h"
#include "fitwright/rework/standing_odds.h"
#include "fitwright/rework/targets.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using rework::Standing;

constexpr std::int64_t kTargetBuilds = 4096;
constexpr double kWorthSaying = 0.01;  // of a chance
constexpr std::size_t kMostWhy = 5;

}  // namespace

std::set<SetupId> BegunSetups(const Standing& standing) {
  std::set<SetupId> begun;
  for (const Setup& setup : standing.plan->setups) {
    for (const Step& step : setup.steps) {
      const auto is_this = [&](const auto& done) { return done.first == step.id; };
      if (std::any_of(standing.done.begin(), standing.done.end(), is_this)) begun.insert(setup.id);
    }
  }
  for (const rework::ReadingTaken& reading : standing.readings) begun.insert(reading.setup->id);
  return begun;
}

namespace {

// What is done and read of the plan that is followed, said of a plan whose first setups are its
// setups at `places`.
Standing StandingIn(const Standing& followed, const std::vector<std::size_t>& places,
                    const Plan& plan) {
  Standing in = followed;
  in.plan = &plan;
  in.done.clear();
  std::map<const Step*, std::pair<const Setup*, const Step*>> steps;
  std::map<StepId, StepId> ids;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Setup& from = followed.plan->setups[places[i]];
    const Setup& to = plan.setups[i];
    for (std::size_t k = 0; k < from.steps.size(); ++k) {
      steps[&from.steps[k]] = {&to, &to.steps[k]};
      ids[from.steps[k].id] = to.steps[k].id;
    }
  }
  for (rework::ReadingTaken& reading : in.readings)
    std::tie(reading.setup, reading.step) = steps.at(reading.step);
  for (const auto& [step, piece] : followed.done) {
    if (const auto id = ids.find(step); id != ids.end()) in.done.insert({id->second, piece});
  }
  return in;
}

// Minutes of the steps that are not done, and of seating what is not begun.
double MinutesLeft(const Standing& standing, std::size_t begun) {
  double minutes = 0;
  for (std::size_t i = 0; i < standing.plan->setups.size(); ++i) {
    const Setup& setup = standing.plan->setups[i];
    if (i >= begun) minutes += setup.time_min;
    for (const Step& step : setup.steps) {
      const auto is_this = [&](const auto& done) { return done.first == step.id; };
      const bool done = std::any_of(standing.done.begin(), standing.done.end(), is_this);
      if (i < begun && !done) minutes += step.time_min;
    }
  }
  return minutes;
}

Result<planner::Judged> JudgeStanding(const Standing& standing, std::size_t begun,
                                      const planner::PlannerOptions& options) {
  const auto odds = rework::CalcStandingOdds(standing, options.search_builds, options.seed);
  if (!odds) return Unexpected(odds.error());
  planner::Judged judged;
  judged.minutes = MinutesLeft(standing, begun);
  judged.expected_min = judged.minutes + odds->rework_min;
  for (const double minutes : odds->remedies_min) judged.expected_min += minutes;
  judged.odds = odds->all;
  judged.setups = static_cast<int>(standing.plan->setups.size());
  judged.per_requirement = odds->per_requirement;
  judged.remedies_min = odds->remedies_min;
  return judged;
}

// Of sizes in setups that are not begun; those made to suit follow their mates by themselves.
Result<std::vector<planner::NewAim>> NewAimsOf(const Standing& standing, std::size_t begun) {
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const rework::Observed observed = rework::Observe(*standing.machine, *standing.shop,
                                                    *standing.plan, standing.readings, *analysis);
  const rework::Conditioning given(*analysis, observed);
  std::vector<planner::NewAim> aims;
  for (const auto& target : rework::FindTargets(standing, *analysis, given, kTargetBuilds)) {
    const auto place =
        static_cast<std::size_t>(target.size.setup - standing.plan->setups.data());
    if (!target.moved || place < begun || target.size.step->aim->kind != AimKind::kBringToSize)
      continue;
    aims.push_back(
        {target.size.feature, target.now.aim_mm, {target.now.lower_mm, target.now.upper_mm}});
  }
  return aims;
}

Result<planner::CountedOdds> CountStanding(const Standing& standing, const planner::PlannerOptions& options) {
  const auto odds = rework::CalcStandingOdds(standing, options.final_builds, options.seed);
  if (!odds) return Unexpected(odds.error());
  return planner::CountedOdds{odds->all, odds->effective_builds};
}

planner::Underway UnderwayOf(const Standing& followed, std::vector<std::string> decided,
                             const planner::PlannerOptions& options) {
  planner::Underway underway;
  underway.followed = followed.plan;
  underway.decided = std::move(decided);
  underway.begun = BegunSetups(followed);
  for (const rework::ReadingTaken& reading : followed.readings)
    underway.read.insert({SheetIdOf(reading.feature.part), reading.feature.feature});
  underway.judge = [&followed, &options](const Plan& plan, const std::vector<std::size_t>& done) {
    return JudgeStanding(StandingIn(followed, done, plan), done.size(), options);
  };
  underway.count = [&followed, &options](const Plan& plan, const std::vector<std::size_t>& done) {
    return CountStanding(StandingIn(followed, done, plan), options);
  };
  underway.aims = [&followed](const Plan& plan, const std::vector<std::size_t>& done) {
    return NewAimsOf(StandingIn(followed, done, plan), done.size());
  };
  return underway;
}

const Aim* WorkedAimOf(const Plan& plan, const FeatureRef& feature) {
  const Aim* found = nullptr;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      const bool is_it = !step.features.empty() && step.features.front() == feature;
      if (is_it && step.aim && step.aim->kind == AimKind::kBringToSize) found = &*step.aim;
    }
  }
  return found;
}

std::vector<MovedAim> MovedAims(const Plan& before, const Plan& after) {
  std::vector<MovedAim> moved;
  for (const Setup& setup : after.setups) {
    for (const Step& step : setup.steps) {
      if (step.features.empty() || !step.aim || step.aim->kind != AimKind::kBringToSize) continue;
      const Aim* was = WorkedAimOf(before, step.features.front());
      const Aim& is = *step.aim;
      if (was == nullptr || (was->lower_mm == is.lower_mm && was->upper_mm == is.upper_mm))
        continue;
      moved.push_back({step.features.front(), was->target_mm, was->lower_mm, was->upper_mm,
                       is.target_mm, is.lower_mm, is.upper_mm});
    }
  }
  return moved;
}

std::vector<OddsMoved> WhatMoved(const Machine& machine, const planner::WhatIsLeft& left) {
  std::vector<OddsMoved> why;
  for (std::size_t r = 0; r < machine.requirements.size(); ++r) {
    const double before = left.before.per_requirement[r];
    const double after = left.after.per_requirement[r];
    if (std::abs(after - before) >= kWorthSaying)
      why.push_back({machine.requirements[r].name, before, after});
  }
  std::stable_sort(why.begin(), why.end(), [](const OddsMoved& a, const OddsMoved& b) {
    return std::abs(a.after - a.before) > std::abs(b.after - b.before);
  });
  if (why.size() > kMostWhy) why.resize(kMostWhy);
  return why;
}

PlannedAnew AnewOf(const Standing& followed, int build, const planner::WhatIsLeft& left,
                   std::size_t done) {
  PlannedAnew anew;
  anew.build = build;
  anew.setups_done = static_cast<int>(done);
  anew.readings = static_cast<int>(followed.readings.size());
  anew.odds_before = left.before.odds;
  anew.odds_after = left.after.odds;
  anew.hours_before = left.before.expected_min / 60;
  anew.hours_after = left.after.expected_min / 60;
  anew.setups_changed = left.setups_changed;
  anew.changes = left.changes;
  anew.aims = MovedAims(*followed.plan, left.plan);
  anew.why = WhatMoved(*followed.machine, left);
  return anew;
}

Error SaysNothing() {
  return {ErrorCode::kNoPlan, "the plan that is followed does not say what it was worked out from", "",
          "plan from the sheets alone: 'fitwright plan --afresh'", {}};
}

}  // namespace

bool IsUnderway(const Workshop& workshop, int build) {
  const auto standing = StandingOf(workshop, build);
  return standing && !BegunSetups(*standing).empty();
}

PlanOrigin OriginOf(const Workshop& workshop) {
  PlanOrigin origin;
  (void)files::PlanFromJson(workshop.plan_json, std::string(files::kPlanFileName), &origin);
  return origin;
}

Error NoWishUnderway() {
  return {ErrorCode::kUsage, "work was begun: what is left is planned for the fewest expected hours", {},
          "add --afresh to plan from the sheets alone", {}};
}

Result<LeftPlanned> PlanLeft(const Workshop& workshop, int build,
                             const planner::PlannerOptions& options) {
  const auto followed = StandingOf(workshop, build);
  if (!followed) return Unexpected(followed.error());
  PlanOrigin origin = OriginOf(workshop);
  if (origin.decided.empty()) return Unexpected(SaysNothing());
  const planner::Underway underway = UnderwayOf(*followed, std::move(origin.decided), options);
  const files::Project& project = workshop.opened->project;
  auto left = planner::PlanWhatIsLeft(project.machine, project.shop, project.choices, options, underway);
  if (!left) return Unexpected(left.error());
  const std::vector<std::size_t> done = planner::FindStaying(*followed->plan, underway.begun);
  LeftPlanned out;
  out.origin.decided = left->decided;
  out.origin.anew = AnewOf(*followed, build, *left, done.size());
  out.better = !left->changes.empty() || !out.origin.anew->aims.empty();
  out.plan = std::move(left->plan);
  variation::OddsOptions wanted;
  wanted.builds = options.final_builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.work.cancel;
  auto odds = rework::CalcOddsGiven(StandingIn(*followed, done, out.plan), wanted);
  if (!odds) return Unexpected(odds.error());
  out.plan.odds = *std::move(odds);
  out.plan.seed = options.seed;
  return out;
}

Result<std::vector<planner::Why>> AskWhyOfLeft(const Workshop& workshop, int build, const planner::PlannerOptions& options,
                                               const std::string& subject) {
  const auto followed = StandingOf(workshop, build);
  if (!followed) return Unexpected(followed.error());
  PlanOrigin origin = OriginOf(workshop);
  if (origin.decided.empty()) return Unexpected(SaysNothing());
  const planner::Underway underway = UnderwayOf(*followed, std::move(origin.decided), options);
  const files::Project& project = workshop.opened->project;
  return planner::TellWhyOfLeft(project.machine, project.shop, project.choices, options, underway, subject);
}

std::vector<std::string> AnewWords(const PlannedAnew& anew, LengthUnit unit) {
  std::vector<std::string> words;
  const char* of_unit = unit == LengthUnit::kInch ? "in" : "mm";
  words.push_back(fmt::format(
      "What is left was planned by {} reading{}; {} setup{} begun or done stay as they were.",
      anew.readings, anew.readings == 1 ? "" : "s", anew.setups_done,
      anew.setups_done == 1 ? "" : "s"));
  words.emplace_back("What is done is no longer a choice: advice and choices are of the setups after it.");
  if (anew.changes.empty() && anew.aims.empty())
    words.emplace_back("Nothing that is left is better done otherwise.");
  for (const MovedAim& aim : anew.aims) {
    words.push_back(fmt::format(
        "{}: bring it to {} {}, aim {}; before it was {}.",
        sheets::Capital(sheets::NameText(aim.feature)),
        sheets::LimitsText(aim.lower_mm, aim.upper_mm, unit), of_unit,
        sheets::FineLength(aim.aim_mm, unit),
        sheets::LimitsText(aim.lower_before_mm, aim.upper_before_mm, unit)));
  }
  words.insert(words.end(), anew.changes.begin(), anew.changes.end());
  for (const OddsMoved& one : anew.why) {
    words.push_back(fmt::format("{}: {} to {}.", sheets::Capital(sheets::NameText(one.name.text())),
                                sheets::ChanceText(one.before), sheets::ChanceText(one.after)));
  }
  words.push_back(fmt::format(
      "All together {}, before {}; {:.1f} hours left, before {:.1f}, remedies counted.",
      sheets::ChanceText(anew.odds_after), sheets::ChanceText(anew.odds_before), anew.hours_after,
      anew.hours_before));
  return words;
}

std::vector<sheets::Piece> AnewPieces(const PlannedAnew& anew, LengthUnit unit, int level) {
  std::vector<sheets::Piece> pieces;
  pieces.emplace_back(
      sheets::Heading{level, "What is left, planned anew", fmt::format("machine {}", anew.build)});
  for (const std::string& words : AnewWords(anew, unit))
    pieces.emplace_back(sheets::Paragraph{words, sheets::Tone::kPlain});
  return pieces;
}

std::string AnewText(const PlannedAnew& anew, const sheets::ReportOptions& options) {
  sheets::Book book;
  book.pieces = AnewPieces(anew, options.unit, 2);
  return sheets::RenderText(book, {options.width, options.colour});
}

}  // namespace fitwright::service
