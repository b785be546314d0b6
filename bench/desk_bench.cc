// What a reading costs where pages are served: from the events that a page sends to the answer, log
// and all, by the process's own processor time. Readings go round after round over the plan's
// measured steps, each a sixth of its limits above their middle. Usage: desk_bench PROJECT_FOLDER
// [READINGS [all_in_one_build]] (with its plan.json; its build.db is made anew). Without the last
// word each round is a build of its own.
#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/files/plan_json.h"
#include "fitwright/service/build_desk.h"
#include "fitwright/service/build_use.h"

namespace {

using namespace fitwright;

double Seconds(const timeval& t) {
  return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
}
double ProcessMs() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  return 1000 * (Seconds(used.ru_utime) + Seconds(used.ru_stime));
}
double WallMs() {
  const auto now = std::chrono::steady_clock::now().time_since_epoch();
  return std::chrono::duration<double, std::milli>(now).count();
}

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

std::string EventOf(const Measured& at, const std::string& plan, std::size_t number, int build,
                    std::size_t round) {
  const MeasureLine& line = *at.step->measure;
  const double value = 0.5 * (line.lower_mm + line.upper_mm) + (line.upper_mm - line.lower_mm) / 6 +
                       0.0005 * static_cast<double>(round);
  return fmt::format(
      R"({{"schema":"fitwright-events/1","events":[{{"id":"{:032x}","time_ms":1700000000000,)"
      R"("build":{},"plan":"{}","kind":"reading","part":"{}","step":"{}","text":"",)"
      R"("value_mm":{:.4f},"typed":"{:.3f}mm","instrument":""}}]}})",
      number + 1, build, plan, at.setup->parts.empty() ? "" : at.setup->parts.front().part.text(),
      at.step->id.text(), value, value);
}

double MeanOf(const std::vector<double>& ms, std::size_t first, std::size_t count) {
  double sum = 0;
  for (std::size_t i = first; i < first + count; ++i) sum += ms[i];
  return sum / static_cast<double>(count);
}

void Print(const char* what, std::vector<double> ms) {
  const std::size_t hundred = std::min<std::size_t>(100, ms.size());
  const double first = MeanOf(ms, 0, hundred);
  const double last = MeanOf(ms, ms.size() - hundred, hundred);
  fmt::print("{} by hundreds:", what);
  for (std::size_t i = 0; i + hundred <= ms.size(); i += hundred) fmt::print(" {:.1f}", MeanOf(ms, i, hundred));
  fmt::print("\n");
  std::sort(ms.begin(), ms.end());
  fmt::print("{}: first {} {:.1f} ms each, last {} {:.1f}, ratio {:.2f}; median {:.1f}, 99 of 100 {:.1f}, greatest {:.1f}\n",
             what, hundred, first, hundred, last, last / first, ms[ms.size() / 2],
             ms[ms.size() * 99 / 100], ms.back());
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2 || argc > 4) return 2;
  const std::filesystem::path dir = argv[1];
  const auto text = files::LoadPlanText(dir);
  if (!text) return 2;
  const auto plan = files::PlanFromJson(*text, "plan.json");
  if (!plan) return 2;
  const std::vector<Measured> measured = MeasuredIn(*plan);
  const std::size_t count = argc > 2 ? std::strtoul(argv[2], nullptr, 10) : measured.size();
  for (const char* name : {"build.db", "build.db-wal", "build.db-shm"}) std::filesystem::remove(dir / name);
  service::BuildDesk desk({dir, {}, {}});
  const std::string plan_id = service::PlanIdOf(*text);
  std::vector<double> process;
  std::vector<double> wall;
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t round = i / measured.size();
    const int build = argc > 3 ? 1 : static_cast<int>(round) + 1;
    const std::string event = EventOf(measured[i % measured.size()], plan_id, i, build, argc > 3 ? round : 0);
    const double begun = ProcessMs();
    const double wall_begun = WallMs();
    const auto answer = desk.Record(event, {build, {}, 1700000000000});
    process.push_back(ProcessMs() - begun);
    wall.push_back(WallMs() - wall_begun);
    if (!answer || answer->find("\"as\":\"event\"") == std::string::npos) {
      fmt::print("{}\n", answer ? *answer : Format(answer.error()));
      return 1;
    }
  }
  Print("processor", process);
  Print("wall", wall);
  return 0;
}
