// What the reckonings cost: a layout, a tap drill, dividing, wheels, a stack, sixty pieces.
#include <benchmark/benchmark.h>

#include <vector>

#include "fitwright/reckon/catalogue.h"
#include "fitwright/reckon/change_wheels.h"
#include "fitwright/reckon/cut_list.h"
#include "fitwright/reckon/dividing.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/trade/threads.h"
#include "tests/support/dice.h"

namespace fitwright::reckon {
namespace {

const Plates kPlates = {
    {15, 16, 17, 18, 19, 20}, {21, 23, 27, 29, 31, 33}, {37, 39, 41, 43, 47, 49}};

void FindAFit(benchmark::State& state) {
  double size = 3;
  for (auto _ : state) {
    benchmark::DoNotOptimize(trade::FindFit(size, "H7"));
    size = size > 400 ? 3 : size * 1.01;
  }
}
BENCHMARK(FindAFit);

void FindAThread(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(trade::FindThread("M10"));
}
BENCHMARK(FindAThread);

void FindABearing(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(trade::FindBearing(8, 22, 7));
}
BENCHMARK(FindABearing);

void ReckonABoltCircle(benchmark::State& state) {
  const Reckoning* reckoning = FindReckoning("bolt-circle").value();
  for (auto _ : state) {
    const auto given =
        ReadGiven(*reckoning, {"diameter=60", "holes=6", "start=15"}, LengthUnit::kMillimetre);
    benchmark::DoNotOptimize(reckoning->calc(*given));
  }
}
BENCHMARK(ReckonABoltCircle);

void DivideByPlainMoves(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(PlainDividing(40, 28, kPlates));
}
BENCHMARK(DivideByPlainMoves);

void DivideByTwoCircles(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(CompoundDividing(40, 77, kPlates));
}
BENCHMARK(DivideByTwoCircles);

void DivideAsNearAsMayBe(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(NearestCompound(40.0 / 127, kPlates));
}
BENCHMARK(DivideAsNearAsMayBe);

void FindWheels(benchmark::State& state) {
  const std::vector<int> wheels = {20, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 127};
  for (auto _ : state) benchmark::DoNotOptimize(FindTrains(0.3151, wheels, 5));
}
BENCHMARK(FindWheels);

// By name from the command's own inputs, set and all.
void ReckonASineBar(benchmark::State& state) {
  const Reckoning* reckoning = FindReckoning("sine-bar").value();
  for (auto _ : state) {
    const auto given = ReadGiven(*reckoning, {"centres=100", "angle=5.25", "set=metric_88"},
                                 LengthUnit::kMillimetre);
    benchmark::DoNotOptimize(reckoning->calc(*given));
  }
}
BENCHMARK(ReckonASineBar);

void ReckonDividing(benchmark::State& state) {
  const Reckoning* reckoning = FindReckoning("dividing").value();
  for (auto _ : state) {
    const auto given =
        ReadGiven(*reckoning, {"divisions=127", "head=head_40_two_sides"}, LengthUnit::kMillimetre);
    benchmark::DoNotOptimize(reckoning->calc(*given));
  }
}
BENCHMARK(ReckonDividing);

void WringAStack(benchmark::State& state) {
  std::vector<double> set = {1.005};
  for (int i = 1; i <= 49; ++i) set.push_back(1 + 0.01 * i);
  for (int i = 1; i <= 49; ++i) set.push_back(0.5 * i);
  for (const double block : {25.0, 50.0, 75.0, 100.0}) set.push_back(block);
  double height = 9.15;
  for (auto _ : state) {
    benchmark::DoNotOptimize(trade::ChooseBlocks(height, set));
    height = height > 90 ? 9.15 : height + 0.435;
  }
}
BENCHMARK(WringAStack);

// Sixty pieces of one in three to nearly half a bar: the hard kind. gap: bars not proved needless.
void CutSixtyPieces(benchmark::State& state) {
  testing::Dice dice(static_cast<std::uint64_t>(state.range(0)));
  CutListGiven given;
  given.bar_mm = 1000;
  given.kerf_mm = 2;
  given.grip_mm = 15;
  for (int i = 0; i < 60; ++i) given.pieces_mm.push_back(dice.In(150, 480, 1));
  double gap = 0;
  for (auto _ : state) {
    const auto list = PlanCuts(given);
    gap = static_cast<double>(list->bars_mm.size()) - list->fewest;
  }
  state.counters["gap"] = gap;
}
BENCHMARK(CutSixtyPieces)->DenseRange(1, 8)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace fitwright::reckon

BENCHMARK_MAIN();
