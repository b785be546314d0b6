#include "fitwright/variation/tally.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/parallel.h"

namespace fitwright::variation {
namespace {

struct BlockSums {
  std::int64_t all = 0;
  std::vector<std::int64_t> met;
  std::vector<double> sum;
  std::vector<double> squares;
};

BlockSums SumBlock(const BlockOutcome& outcome, std::size_t requirements, int lanes, const std::vector<double>& origin) {
  BlockSums sums;
  sums.met.assign(requirements, 0);
  sums.sum.assign(requirements, 0);
  sums.squares.assign(requirements, 0);
  for (int i = 0; i < lanes; ++i) {
    bool every = true;
    for (std::size_t r = 0; r < requirements; ++r) {
      const std::size_t at = r * kLanes + static_cast<std::size_t>(i);
      const bool met = outcome.met[at] != 0;
      every &= met;
      sums.met[r] += met ? 1 : 0;
      const double v = outcome.values[at] - origin[r];
      sums.sum[r] += v;
      sums.squares[r] += v * v;
    }
    sums.all += every ? 1 : 0;
  }
  return sums;
}

// A value near the requirement's middle, so that squares do not cancel.
std::vector<double> OriginsOf(const Analysis& analysis) {
  std::vector<double> origins;
  for (const RequirementForms& r : analysis.requirements) origins.push_back(r.linear.empty() ? 0 : r.linear.front().constant);
  return origins;
}

}  // namespace

Tally CountBuilds(const BuildRunner& runner, const Figures& figures, const TallyOptions& options) {
  const std::size_t requirements = runner.analysis().requirements.size();
  const auto blocks = static_cast<std::size_t>((options.builds + kLanes - 1) / kLanes);
  std::vector<BlockSums> sums(blocks);
  BlockOptions block;
  block.seed = options.seed;
  block.values = options.values;
  const std::vector<double> origins = OriginsOf(runner.analysis());
  ParallelFor(blocks, options.threads, [&](std::size_t b) {
    if (options.cancel != nullptr && options.cancel->cancelled()) return;
    BlockOutcome outcome;
    const std::int64_t first = options.first + static_cast<std::int64_t>(b) * kLanes;
    runner.RunBlock(first, figures, block, outcome);
    const std::int64_t left = options.builds - static_cast<std::int64_t>(b) * kLanes;
    sums[b] = SumBlock(outcome, requirements, static_cast<int>(std::min<std::int64_t>(left, kLanes)), origins);
  });
  Tally tally;
  tally.builds = options.builds;
  tally.met.assign(requirements, 0);
  std::vector<double> sum(requirements, 0);
  std::vector<double> squares(requirements, 0);
  if (options.cancel != nullptr && options.cancel->cancelled()) {
    tally.stopped = true;
    return tally;
  }
  for (const BlockSums& b : sums) {
    tally.all += b.all;
    for (std::size_t r = 0; r < requirements; ++r) {
      tally.met[r] += b.met[r];
      sum[r] += b.sum[r];
      squares[r] += b.squares[r];
    }
  }
  const auto n = static_cast<double>(options.builds);
  for (std::size_t r = 0; r < requirements; ++r) {
    const double mean = sum[r] / n;
    tally.mean.push_back(origins[r] + mean);
    tally.sigma.push_back(std::sqrt(std::max(0.0, squares[r] / n - mean * mean)));
  }
  return tally;
}

}  // namespace fitwright::variation
