// The chance of a rare failure, with an interval of its own, from few evaluations of a margin.
#pragma once

#include <cstddef>
#include <cstdint>

#include "fitwright/stats/failing_points.h"
#include "fitwright/stats/intervals.h"

namespace fitwright::stats {

struct RareOptions {
  std::uint64_t seed = 1;
  std::int64_t evaluations = 90000;  // about as many at most; at least 5000
  double half_width = 0.06;          // of the interval, as a share of the chance: aimed at
  double confidence = 0.95;
};

struct RareChance {
  double chance = 0;
  Interval interval;  // multiplicative about the chance; when 0, up to what plain draws exclude
  std::int64_t evaluations = 0;
  int modes = 0;  // directions from the middle in which failure comes near on its own
  // False where a few draws decide the answer, so that the interval is not to be relied on, and
  // where no failure was found.
  bool trusted = false;
};

// Importance sampling in three parts, whose draws are independent of each other. Failing points are
// found by levels (failing_points.h) and along the axes (up to three numbers: an even fan); normals
// placed among them are bettered by draws from their own mixture (failure_mixture.h; the
// cross-entropy method: Kurtz and Song, Structural Safety 42, 2013); the answer is the mean of a
// last draw alone, so that it is free of bias wherever the normals stand, and its interval that of
// a plain mean. Deterministic.
RareChance CalcRareChance(const Margin& margin, std::size_t dimensions,
                          const RareOptions& options = {});

}  // namespace fitwright::stats
