// The chance of a rare failure, with an interval of its own, from few evaluations of a margin.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>

#include "fitwright/stats/intervals.h"

namespace fitwright::stats {

// Of independent standard normals; below 0 is a failure. Finite for every argument up to 9 sigma.
using Margin = std::function<double(std::span<const double>)>;

struct RareOptions {
  std::uint64_t seed = 1;
  std::int64_t evaluations = 90000;  // about as many at most; at least 5000
  double half_width = 0.06;          // of the interval, as a share of the chance: aimed at
  double confidence = 0.95;
};

struct RareChance {
  double chance = 0;
  Interval interval;  // multiplicative about the chance; when 0, up to 3 / lines of a cell
  std::int64_t evaluations = 0;
  int modes = 0;  // directions from the middle in which failure comes near on its own
};

// Line sampling in cells. Directions are found first (up to three numbers: an even fan; more: from
// each axis, the steepest descent and chance starts by steps along the gradient to the nearest
// failure); space is divided among them, each point to the direction that it lies furthest along.
// In each cell lines along its direction are drawn, and the part of a line that fails inside the
// cell is measured by its crossings, looked for every 0.35 sigma: so the sum over the cells is free
// of bias whatever the directions, but for a failure that a line meets for less than that. Numbers
// of lines are set by a first, separate draw; the answer and its interval are of the second alone.
// Deterministic. Known as line sampling (Koutsourelakis, Pradlwarter, Schueller, Probabilistic
// Engineering Mechanics 19, 2004); the cells are ours.
RareChance CalcRareChance(const Margin& margin, std::size_t dimensions,
                          const RareOptions& options = {});

}  // namespace fitwright::stats
