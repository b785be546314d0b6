// What a reading costs: new odds, targets and what follows, and the ways out, on a planned project;
// by the thread's own processor time. Readings are taken step by step as the plan has them, each a
// third of its limits above their middle. Usage: rework_bench PROJECT_FOLDER (with its plan.json)
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/rework/changes.h"
#include "fitwright/rework/rescue.h"

namespace {

using namespace fitwright;

double ThreadSeconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

struct Times {
  std::vector<double> ms;
  void Print(const char* what) {
    if (ms.empty()) return;
    std::sort(ms.begin(), ms.end());
    fmt::print("{:40} {:4} times, median {:6.1f} ms, greatest {:6.1f} ms\n", what, ms.size(),
               ms[ms.size() / 2], ms.back());
  }
};

bool HasFigures(const Step& step) {
  return step.measure && step.measure->upper_mm > step.measure->lower_mm;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  Diagnostics faults;
  const auto project = files::LoadProject(argv[1], {}, faults);
  const auto text = files::LoadPlanText(argv[1]);
  if (!project || !text) return 2;
  const auto plan = files::PlanFromJson(*text, "plan.json");
  if (!plan) return 2;
  rework::Standing standing{&project->machine, &project->shop, &*plan, {}, {}};
  Times all;
  Times counting;
  Times ways;
  int surprising = 0;
  for (const Setup& setup : plan->setups) {
    for (const Step& step : setup.steps) {
      const PartId piece = setup.parts.empty() ? PartId() : setup.parts.front().part;
      standing.done.insert({step.id, piece});
      if (!HasFigures(step)) continue;
      const MeasureLine& line = *step.measure;
      const double value =
          0.5 * (line.lower_mm + line.upper_mm) + (line.upper_mm - line.lower_mm) / 6;
      standing.readings.push_back({line.feature, &setup, &step, value, 0.001, line.instrument});
      const double start = ThreadSeconds();
      const auto changes = rework::CalcChanges(standing, {});
      const double ms = 1000 * (ThreadSeconds() - start);
      if (!changes) {
        fmt::print("{}\n", Format(changes.error()));
        return 1;
      }
      all.ms.push_back(ms);
      if (!changes->counts) continue;
      counting.ms.push_back(ms);
      surprising += changes->surprising ? 1 : 0;
      fmt::print(
          "{:8} {:32} {:8.1f} ms  all {:.3f} -> {:.3f}  builds {:6.0f}  targets {} follow {}\n",
          step.id.text(), line.feature.text(), ms, changes->all_before, changes->all_after,
          changes->effective_builds, changes->targets.size(), changes->following.size());
      const rework::PastLimits past{standing.readings.back(), line.lower_mm, line.upper_mm, true,
                                    true};
      const double before = ThreadSeconds();
      if (rework::FindRescues(standing, past, 2048))
        ways.ms.push_back(1000 * (ThreadSeconds() - before));
    }
  }
  all.Print("a reading's odds and targets");
  counting.Print("... of those that say something");
  ways.Print("ways out");
  fmt::print("surprising: {}\n", surprising);
  return 0;
}
