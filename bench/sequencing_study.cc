// Runs the planner's sequence search on the instances of bench/instances beside a textbook dynamic programme: cost, the
// proved bound, states expanded, processor time.
// Usage: sequencing_study INSTANCES_FOLDER [BUDGET [TABLE_BUDGET [PART_OF_A_NAME]]]
#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <cstdio>

#include "bench/sequence_table.h"
#include "bench/sequencing.h"

namespace {

using namespace fitwright;

template <typename Work>
double Seconds(const Work& work) {
  const std::clock_t start = std::clock();
  work();
  return static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
}

void RunCase(const bench::SequencingInstance& instance, const bench::SequencingCase& run, std::int64_t budget, std::int64_t table_budget) {
  const bench::SequencingPolicy policy(instance, run);
  planner::SequenceOptions options;
  options.work.budget = budget;
  planner::SequenceResult found;
  const double seconds = Seconds([&] { found = planner::SequenceSearch(policy, options).Run(); });
  bench::TableResult table;
  const double table_seconds = Seconds([&] { table = bench::SequenceByTable(policy, table_budget); });
  const auto units = [](planner::SequenceCost cost) { return static_cast<double>(cost) / bench::kHundredths; };
  const double gap = 100.0 * static_cast<double>(found.cost - found.bound) / static_cast<double>(found.cost);
  fmt::print("{:52s} {:3d} {:9.2f} {:9.2f} {:5.2f} {:>9s} {:9d} {:8.3f} {:>9s} {:10d} {:8.3f} {:>8.1f}\n", run.name, instance.operations.size(), units(found.cost),
             units(found.bound), gap, run.optimum ? fmt::format("{:.2f}", units(*run.optimum)) : "-", found.expanded, seconds,
             table.cost ? fmt::format("{:.2f}", units(*table.cost)) : "-", table.expanded, table_seconds,
             static_cast<double>(table.expanded) / static_cast<double>(found.expanded));
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const std::int64_t budget = argc > 2 ? std::stoll(argv[2]) : 0;
  const std::int64_t table_budget = argc > 3 ? std::stoll(argv[3]) : 5'000'000;
  const std::string named = argc > 4 ? argv[4] : "";
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(argv[1])) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  fmt::print("{:52s} {:>3s} {:>9s} {:>9s} {:>5s} {:>9s} {:>9s} {:>8s} {:>9s} {:>10s} {:>8s} {:>8s}\n", "", "ops", "cost", "bound", "gap %", "record", "expanded", "s",
             "table", "expanded", "s", "ratio");
  for (const auto& file : files) {
    const bench::SequencingInstance instance = bench::ReadInstance(file);
    for (const bench::SequencingCase& run : instance.cases) {
      if (run.name.find(named) != std::string::npos) RunCase(instance, run, budget, table_budget);
    }
  }
  return 0;
}
