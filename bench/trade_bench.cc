// Look-ups in the trade's tables of sizes and limits, and stacks of gauge blocks.
#include <benchmark/benchmark.h>

#include "fitwright/trade/bearings.h"
#include "fitwright/trade/circlips.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/trade/general_tolerance.h"
#include "fitwright/trade/inch_fits.h"
#include "fitwright/trade/keys.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/o_rings.h"

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

void LookUpTightHole(benchmark::State& state) {
  double nominal_mm = 4;
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindFit(nominal_mm, "ZC7"));
    nominal_mm = nominal_mm < 490 ? nominal_mm + 0.37 : 4;
  }
}
BENCHMARK(LookUpTightHole);

void LookUpGeneralTolerance(benchmark::State& state) {
  double nominal_mm = 1;
  for (auto _ : state) {
    benchmark::DoNotOptimize(GeneralTolerance_mm(nominal_mm, "m"));
    nominal_mm = nominal_mm < 3900 ? nominal_mm + 3.7 : 1;
  }
}
BENCHMARK(LookUpGeneralTolerance);

void LookUpBearing(benchmark::State& state) {
  for (auto _ : state) {
    benchmark::DoNotOptimize(FindBearing(30, 62, 16));
    benchmark::DoNotOptimize(ShaftSeat(30, ShaftLoad::kNormal));
  }
}
BENCHMARK(LookUpBearing);

void LookUpCirclip(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(FindShaftCirclip(50));
}
BENCHMARK(LookUpCirclip);

void LookUpORing(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(ORingForGroove(37.0, 3.53));
}
BENCHMARK(LookUpORing);

void LookUpMaterial(benchmark::State& state, const char* name) {
  for (auto _ : state) benchmark::DoNotOptimize(FindMaterial(name));
}
BENCHMARK_CAPTURE(LookUpMaterial, first, "aluminium");
BENCHMARK_CAPTURE(LookUpMaterial, last_alias, "free cutting brass");

void Stack(benchmark::State& state, BlockSet kind) {
  const auto set = BlocksOf(kind);
  double height_mm = 3.005;
  for (auto _ : state) {
    benchmark::DoNotOptimize(ChooseBlocks(height_mm, set));
    height_mm = height_mm < 190 ? height_mm + 1.735 : 3.005;
  }
}
BENCHMARK_CAPTURE(Stack, metric_47, BlockSet::kMetric47);
BENCHMARK_CAPTURE(Stack, metric_87, BlockSet::kMetric87);
BENCHMARK_CAPTURE(Stack, metric_88, BlockSet::kMetric88);
BENCHMARK_CAPTURE(Stack, metric_103, BlockSet::kMetric103);
BENCHMARK_CAPTURE(Stack, metric_112, BlockSet::kMetric112);
BENCHMARK_CAPTURE(Stack, inch_81, BlockSet::kInch81);

}  // namespace

BENCHMARK_MAIN();
