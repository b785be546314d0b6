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

BlockSums SumBlock(const BlockOutcome& outcome, std::size_t requirements, int lanes,
                   const std::vector<double>& origin) {
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
  for (const RequirementForms& r : analysis.requirements)
    origins.push_back(r.linear.empty() ? 0 : r.linear.front().constant);
  return origins;
}

Tally AddUp(const std::vector<BlockSums>& sums, std::size_t shops, std::size_t shop,
            const std::vector<double>& origins, std::int64_t builds) {
  const std::size_t requirements = origins.size();
  Tally tally;
  tally.builds = builds;
  tally.met.assign(requirements, 0);
  std::vector<double> sum(requirements, 0);
  std::vector<double> squares(requirements, 0);
  for (std::size_t at = shop; at < sums.size(); at += shops) {
    const BlockSums& b = sums[at];
    tally.all += b.all;
    for (std::size_t r = 0; r < requirements; ++r) {
      tally.met[r] += b.met[r];
      sum[r] += b.sum[r];
      squares[r] += b.squares[r];
    }
  }
  const auto n = static_cast<double>(builds);
  for (std::size_t r = 0; r < requirements; ++r) {
    const double mean = sum[r] / n;
    tally.mean.push_back(origins[r] + mean);
    tally.sigma.push_back(std::sqrt(std::max(0.0, squares[r] / n - mean * mean)));
  }
  return tally;
}

}  // namespace

std::vector<Tally> CountBuilds(const BuildRunner& runner, const std::vector<Figures>& shops,
                               const TallyOptions& options) {
  const std::size_t requirements = runner.analysis().requirements.size();
  const auto blocks = static_cast<std::size_t>((options.builds + kLanes - 1) / kLanes);
  std::vector<BlockSums> sums(blocks * shops.size());
  BlockOptions block;
  block.seed = options.seed;
  block.values = options.values;
  const std::vector<double> origins = OriginsOf(runner.analysis());
  const auto stopped = [&] { return options.cancel != nullptr && options.cancel->cancelled(); };
  ParallelFor(blocks, options.threads, [&](std::size_t b) {
    BlockOutcome outcome;
    Standards standards;
    runner.Draw(options.first + static_cast<std::int64_t>(b) * kLanes, block, standards);
    const std::int64_t left = options.builds - static_cast<std::int64_t>(b) * kLanes;
    const int lanes = static_cast<int>(std::min<std::int64_t>(left, kLanes));
    for (std::size_t s = 0; s < shops.size() && !stopped(); ++s) {
      runner.RunBlock(standards, shops[s], block, outcome);
      sums[b * shops.size() + s] = SumBlock(outcome, requirements, lanes, origins);
    }
  });
  if (stopped()) {
    Tally none;
    none.stopped = true;
    return std::vector<Tally>(shops.size(), none);
  }
  std::vector<Tally> tallies;
  for (std::size_t s = 0; s < shops.size(); ++s)
    tallies.push_back(AddUp(sums, shops.size(), s, origins, options.builds));
  return tallies;
}

}  // namespace fitwright::variation
