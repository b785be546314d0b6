// What a look into the trade's tables costs: threads, their limits, drills.
#include <benchmark/benchmark.h>

#include "fitwright/trade/drills.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/screw_holes.h"
#include "fitwright/trade/tap_drills.h"
#include "fitwright/trade/thread_limits.h"

namespace {

using namespace fitwright::trade;

void LookUpThread(benchmark::State& state, const char* designation) {
  for (auto _ : state) benchmark::DoNotOptimize(FindThread(designation));
}
BENCHMARK_CAPTURE(LookUpThread, metric_fine, "M36x1.5");
BENCHMARK_CAPTURE(LookUpThread, unified, "1-20 UNEF");
BENCHMARK_CAPTURE(LookUpThread, number, "#10-32");
BENCHMARK_CAPTURE(LookUpThread, ba, "16 BA");
BENCHMARK_CAPTURE(LookUpThread, unknown, "M41.5");

void Limits(benchmark::State& state, const char* designation) {
  const ThreadRow& row = *FindThread(designation);
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindExternalLimits(row, UsualExternalClass(row)));
    benchmark::DoNotOptimize(FindInternalLimits(row, UsualInternalClass(row)));
  }
}
BENCHMARK_CAPTURE(Limits, metric, "M36x1.5");
BENCHMARK_CAPTURE(Limits, unified, "1-20 UNEF");

void DrillNear(benchmark::State& state, DrillSets sets) {
  for (auto _ : state) benchmark::DoNotOptimize(NearestDrill(5.3, sets));
}
BENCHMARK_CAPTURE(DrillNear, all, kAllDrills);
BENCHMARK_CAPTURE(DrillNear, number_only, DrillSets{false, false, true, false});

void DrillByName(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(FindDrill("27/64"));
}
BENCHMARK(DrillByName);

void TapDrillFor(benchmark::State& state) {
  const ThreadRow& row = *FindThread("M10");
  for (auto _ : state) {
    benchmark::DoNotOptimize(ChooseTapDrill(row, 0.75, DepthRule::kThreeQuartersH, kAllDrills));
  }
}
BENCHMARK(TapDrillFor);

void HoleAndHead(benchmark::State& state) {
  const ThreadRow& row = *FindThread("M20");
  for (auto _ : state) {
    benchmark::DoNotOptimize(ClearanceHole_mm(row, ClearanceFit::kNormal));
    benchmark::DoNotOptimize(FindScrewHead(HeadKind::kSocketCap, row));
  }
}
BENCHMARK(HoleAndHead);

}  // namespace

BENCHMARK_MAIN();
