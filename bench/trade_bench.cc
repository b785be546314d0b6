// Look-ups in the trade's tables and stacks of gauge blocks.
#include <benchmark/benchmark.h>

#include "fitwright/trade/fits.h"
#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/trade/inch_fits.h"
#include "fitwright/trade/keys.h"

namespace {

using namespace fitwright::trade;

void LookUpFit(benchmark::State& state) {
  double nominal_mm = 1;
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindFit(nominal_mm, "H7"));
    nominal_mm = nominal_mm < 490 ? nominal_mm + 0.37 : 1;
  }
}
BENCHMARK(LookUpFit);

void LookUpInchFit(benchmark::State& state) {
  double nominal_mm = 1;
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindInchFit(nominal_mm, "RC3"));
    nominal_mm = nominal_mm < 100 ? nominal_mm + 0.37 : 1;
  }
}
BENCHMARK(LookUpInchFit);

void LookUpKey(benchmark::State& state) {
  double shaft_mm = 6.1;
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindKey(shaft_mm));
    shaft_mm = shaft_mm < 64 ? shaft_mm + 0.37 : 6.1;
  }
}
BENCHMARK(LookUpKey);

void Stack(benchmark::State& state, BlockSet kind) {
  const auto set = BlocksOf(kind);
  double height_mm = 3.005;
  for (auto _ : state) {
    benchmark::DoNotOptimize(ChooseBlocks(height_mm, set));
    height_mm = height_mm < 190 ? height_mm + 1.735 : 3.005;
  }
}
BENCHMARK_CAPTURE(Stack, metric_47, BlockSet::kMetric47);
BENCHMARK_CAPTURE(Stack, metric_88, BlockSet::kMetric88);
BENCHMARK_CAPTURE(Stack, metric_103, BlockSet::kMetric103);
BENCHMARK_CAPTURE(Stack, metric_112, BlockSet::kMetric112);
BENCHMARK_CAPTURE(Stack, inch_81, BlockSet::kInch81);

}  // namespace

BENCHMARK_MAIN();
