// What a reading costs: new odds, targets and what follows, and the ways out, on a planned project;
// by the thread's own processor time. Readings are taken step by step as the plan has them, each a
// sixth of its limits above their middle, until there are as many as asked for: round after round at
// the same steps, each a little off the one before. Usage: rework_bench PROJECT_FOLDER [READINGS]
// (with its plan.json)
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <optional>
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
  double MeanOf(std::size_t first, std::size_t count) const {
    double sum = 0;
    for (std::size_t i = first; i < first + count; ++i) sum += ms[i];
    return sum / static_cast<double>(count);
  }
  // Of the last hundred as a share of the first.
  void PrintGrowth() const {
    constexpr std::size_t kHundred = 100;
    if (ms.size() < 2 * kHundred) return;
    fmt::print("the first 100: {:.1f} ms each, the last 100: {:.1f}, ratio {:.2f}\n",
               MeanOf(0, kHundred), MeanOf(ms.size() - kHundred, kHundred),
               MeanOf(ms.size() - kHundred, kHundred) / MeanOf(0, kHundred));
  }
  void Print(const char* what) {
    if (ms.empty()) return;
    std::sort(ms.begin(), ms.end());
    fmt::print("{:40} {:4} times, median {:6.1f} ms, greatest {:6.1f} ms\n", what, ms.size(),
               ms[ms.size() / 2], ms.back());
  }
};

struct Measured {
  const Setup* setup;
  const Step* step;
};
std::vector<Measured> MeasuredIn(const Plan& plan) {
  std::vector<Measured> measured;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.measure && step.measure->upper_mm > step.measure->lower_mm)
        measured.push_back({&setup, &step});
    }
  }
  return measured;
}

rework::ReadingTaken TakenAt(const Measured& at, std::size_t round) {
  const MeasureLine& line = *at.step->measure;
  const double value = 0.5 * (line.lower_mm + line.upper_mm) + (line.upper_mm - line.lower_mm) / 6 +
                       0.0005 * static_cast<double>(round);
  return {line.feature, at.setup, at.step, value, 0.001, line.instrument};
}

class Run {
 public:
  explicit Run(const files::Project& project, const Plan& plan)
      : plan_(plan), standing_{&project.machine, &project.shop, &plan, {}, {}} {}

  bool Take(std::size_t count) {
    const std::vector<Measured> measured = MeasuredIn(plan_);
    const double start = ThreadSeconds();
    kept_ = Kept();
    if (!kept_) return false;
    fmt::print("the plan read: {:.1f} ms\n", 1000 * (ThreadSeconds() - start));
    for (std::size_t i = 0; i < count; ++i) {
      const Measured& at = measured[i % measured.size()];
      const PartId piece = at.setup->parts.empty() ? PartId() : at.setup->parts.front().part;
      standing_.done.insert({at.step->id, piece});
      standing_.readings.push_back(TakenAt(at, i / measured.size()));
      if (!Look(at)) return false;
    }
    return true;
  }
  void Print() {
    all_.PrintGrowth();
    all_.Print("a reading's odds and targets");
    counting_.Print("... of those that say something");
    ways_.Print("ways out");
  }

 private:
  std::optional<rework::ChangesKept> Kept() const {
    auto kept = rework::ChangesKept::Of(*standing_.machine, *standing_.shop, plan_, {});
    if (kept) return *std::move(kept);
    fmt::print("{}\n", Format(kept.error()));
    return std::nullopt;
  }
  bool Look(const Measured& at) {
    double start = ThreadSeconds();
    const auto changes = kept_->Calc(standing_);
    const double ms = 1000 * (ThreadSeconds() - start);
    if (!changes) return false;
    all_.ms.push_back(ms);
    if (!changes->counts) return true;
    counting_.ms.push_back(ms);
    const MeasureLine& line = *at.step->measure;
    fmt::print("{:8} {:32} {:8.1f} ms  all {:.3f} -> {:.3f}  builds {:6.0f}  targets {} follow {}\n",
               at.step->id.text(), line.feature.text(), ms, changes->all_before, changes->all_after,
               changes->effective_builds, changes->targets.size(), changes->following.size());
    const rework::PastLimits past{standing_.readings.back(), line.lower_mm, line.upper_mm, true, true};
    start = ThreadSeconds();
    (void)kept_->CalcRescues(standing_, past);
    ways_.ms.push_back(1000 * (ThreadSeconds() - start));
    return true;
  }

  const Plan& plan_;
  rework::Standing standing_;
  std::optional<rework::ChangesKept> kept_;
  Times all_;
  Times counting_;
  Times ways_;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2 || argc > 3) return 2;
  Diagnostics faults;
  const auto project = files::LoadProject(argv[1], {}, faults);
  const auto text = files::LoadPlanText(argv[1]);
  if (!project || !text) return 2;
  const auto plan = files::PlanFromJson(*text, "plan.json");
  if (!plan) return 2;
  const std::size_t count = argc == 3 ? std::strtoul(argv[2], nullptr, 10) : MeasuredIn(*plan).size();
  Run run(*project, *plan);
  if (!run.Take(count)) return 1;
  run.Print();
  return 0;
}
