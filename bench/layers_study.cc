// Prints what one `plan` of a project costs on one thread, nothing remembered, and the share of each layer.
// Judging is one plan's time, many times over, by the number of plans judged.
// Usage: layers_study PROJECT_FOLDER
#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <filesystem>

#include "fitwright/planner/advice.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/search.h"
#include "fitwright/replay/replay.h"
#include "fitwright/service/solid/use_cases.h"
#include "fitwright/sheets/report.h"
#include "fitwright/variation/odds.h"

namespace {

using namespace fitwright;

template <typename Work>
double Seconds(const Work& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

struct Line {
  std::string what;
  double seconds;
};

template <typename T>
T Need(Result<T> result) {
  if (result) return *std::move(result);
  fmt::print(stderr, "{}\n", Format(result.error()));
  std::exit(2);
}

}  // namespace

int main(int argc, char** argv) {
  const std::filesystem::path folder = argc > 1 ? argv[1] : "examples/compressor-core";
  std::vector<Line> lines;
  const auto timed = [&](const std::string& what, const auto& work) { lines.push_back({what, Seconds(work)}); };

  Diagnostics faults;
  std::optional<service::Opened> opened;
  timed("files: read the folder", [&] { opened = Need(service::Open({folder, {}, {}}, faults)); });
  const Machine& machine = opened->project.machine;
  const Shop& shop = opened->project.shop;
  const Choices& choices = opened->project.choices;
  timed("review: check", [&] { service::Check(*opened); });

  planner::PlannerOptions options;
  options.threads = 1;
  planner::Search search(machine, shop, choices, options);
  std::optional<planner::Strategy> plain;
  std::optional<planner::Strategy> chosen;
  const double searching = Seconds([&] {
    plain = Need(search.Plain());
    chosen = search.Improve(*plain);
  });
  Plan plan = Need(planner::BuildPlan(machine, shop, search.subjects(), *chosen, choices));
  constexpr int kJudgings = 50;
  const double judging = Seconds([&] {
    for (int i = 0; i < kJudgings; ++i) Need(planner::Judge(machine, shop, plan, options));
  }) / kJudgings * static_cast<double>(search.judged());
  lines.push_back({"planner: routes and plans", searching - judging});
  lines.push_back({fmt::format("variation: {} plans judged", search.judged()), judging});
  timed("planner and variation: advice", [&] {
    planner::PlannerOptions finer = options;
    finer.search_builds = options.advice_builds;
    planner::Search neighbours(machine, shop, choices, finer);
    planner::AddAdvice(machine, neighbours, *plain, *chosen, plan);
  });
  timed("variation: odds of the plan", [&] {
    variation::OddsOptions odds;
    odds.builds = options.final_builds;
    odds.threads = 1;
    plan.odds = Need(variation::CalcOdds(machine, shop, plan, odds));
  });
  timed("replay, with the solids", [&] {
    replay::ReplayOptions once;
    once.threads = 1;
    Need(replay::Replay(machine, shop, plan, once));
  });
  timed("sheets: the report", [&] { sheets::MakeReport(machine, shop, plan, {}); });

  double total = 0;
  for (const Line& line : lines) total += line.seconds;
  for (const Line& line : lines) fmt::print("{:36s} {:7.3f} s {:6.1f} %\n", line.what, line.seconds, 100 * line.seconds / total);
  fmt::print("{:36s} {:7.3f} s\n", "together, one thread", total);
  return 0;
}
