#include "fitwright/rework/standing_project.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "fitwright/rework/standing_odds.h"
#include "fitwright/rework/weighed_builds.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/met_counts.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::Project;

// A reading by the places of its step in the plan: it stands for any plan of the same setups.
struct PlacedTaken {
  ReadingTaken taken;
  std::size_t setup = 0;
  std::size_t step = 0;
};

std::vector<PlacedTaken> PlacesOf(const Standing& standing) {
  std::vector<PlacedTaken> placed;
  for (const ReadingTaken& taken : standing.readings) {
    placed.push_back({taken, static_cast<std::size_t>(taken.setup - standing.plan->setups.data()),
                      static_cast<std::size_t>(taken.step - taken.setup->steps.data())});
  }
  return placed;
}

std::vector<ReadingTaken> ReadingsIn(const Plan& plan, const std::vector<PlacedTaken>& placed) {
  std::vector<ReadingTaken> readings;
  for (const PlacedTaken& one : placed) {
    readings.push_back(one.taken);
    readings.back().setup = &plan.setups[one.setup];
    readings.back().step = &readings.back().setup->steps[one.step];
  }
  return readings;
}

Analysis KnownBy(const Project& project, const std::vector<PlacedTaken>& placed,
                 Analysis analysis) {
  const Observed observed = Observe(project.machine, project.shop, project.plan,
                                    ReadingsIn(project.plan, placed), analysis);
  const Conditioning given(analysis, observed);
  Analysis now = given.Given(analysis, EveryPlace(analysis));
  // What else is asked of them than their odds is asked of the plan.
  now.features = std::move(analysis.features);
  now.placed_W = std::move(analysis.placed_W);
  now.fits = std::move(analysis.fits);
  now.setting_min = analysis.setting_min;
  now.blunders_expected = analysis.blunders_expected;
  now.assumed = std::move(analysis.assumed);
  return now;
}

Chance Counted(double met, double builds) {
  const auto trials = static_cast<std::int64_t>(std::max(1.0, builds));
  const auto good = static_cast<std::int64_t>(std::llround(met * static_cast<double>(trials)));
  const stats::Interval i = stats::CountedInterval(std::min(good, trials), trials);
  return {met, i.low, i.high, met, met};
}

StandingCounts CountWeighed(const Analysis& analysis, const Conditioning& given,
                            const variation::MetWanted& wanted) {
  BuildsAsked asked;
  asked.requirements = EveryPlace(analysis);
  asked.builds = wanted.builds;
  asked.seed = wanted.seed;
  const WeighedBuilds built = BuildGiven(analysis, given, asked);
  StandingCounts out;
  out.builds = built.effective;
  out.all = Counted(built.Chance(AllMet(built)), built.effective);
  for (const auto& met : built.met)
    out.requirements.push_back(Counted(built.Chance(met), built.effective));
  return out;
}

int PiecesOf(const Plan& plan, const Setup& setup) {
  if (setup.parts.empty()) return 1;
  for (const PlannedPart& part : plan.parts) {
    if (part.name == setup.parts.front().part) return std::max(1, part.quantity);
  }
  return 1;
}

}  // namespace

std::set<StepId> DoneOnEveryPiece(const Standing& standing) {
  std::set<StepId> done;
  for (const Setup& setup : standing.plan->setups) {
    const auto pieces = static_cast<std::ptrdiff_t>(PiecesOf(*standing.plan, setup));
    for (const Step& step : setup.steps) {
      const auto on = std::count_if(standing.done.begin(), standing.done.end(),
                                    [&](const auto& one) { return one.first == step.id; });
      if (on >= pieces) done.insert(step.id);
    }
  }
  return done;
}

Project ProjectOf(const Standing& standing) {
  Project project{*standing.machine, *standing.shop, *standing.plan};
  project.made.done = DoneOnEveryPiece(standing);
  if (standing.readings.empty()) return project;
  project.made.known = [placed = PlacesOf(standing)](const Project& asked, Analysis analysis) {
    return KnownBy(asked, placed, std::move(analysis));
  };
  return project;
}

Result<PlanKnown> KnowPlan(const Project& project, const Standing& standing) {
  Project planned = project;
  planned.made.known = nullptr;
  auto analysis = variation::AnalyseProject(planned);
  if (!analysis) return Unexpected(analysis.error());
  const Observed observed = Observe(project.machine, project.shop, project.plan,
                                    ReadingsIn(project.plan, PlacesOf(standing)), *analysis);
  Conditioning given(*analysis, observed);
  return PlanKnown{*std::move(analysis), std::move(given)};
}

StandingCounts CountEvenly(const Analysis& now, const variation::MetWanted& wanted) {
  const variation::BuildCompiler compiler(now);
  const variation::MetCounts counts = *variation::CountMet(compiler, now.figures, wanted);
  StandingCounts out;
  out.builds = static_cast<double>(counts.builds);
  out.all = Counted(static_cast<double>(counts.all) / out.builds, out.builds);
  for (const std::int64_t met : counts.met)
    out.requirements.push_back(Counted(static_cast<double>(met) / out.builds, out.builds));
  return out;
}

Result<StandingCounts> CountStanding(const Project& project, const Standing& standing,
                                     const variation::MetWanted& wanted) {
  const auto known = KnowPlan(project, standing);
  if (!known) return Unexpected(known.error());
  const auto& [analysis, given] = *known;
  if (given.misses().empty())
    return CountEvenly(given.Given(analysis, EveryPlace(analysis)), wanted);
  return CountWeighed(analysis, given, wanted);
}

}  // namespace fitwright::rework
