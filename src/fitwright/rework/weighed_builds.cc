#include "fitwright/rework/weighed_builds.h"

#include <algorithm>
#include <cmath>

#include "fitwright/variation/builds.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::kLanes;

// What a runner fills only because something asks for it: a value without limits.
variation::RequirementForms AskFor(const variation::Form& form) {
  variation::RequirementForms r;
  r.linear = {form};
  return r;
}

void TakeWeights(const Conditioning& given, const std::vector<std::vector<double>>& misses,
                 WeighedBuilds& out) {
  out.weights.assign(out.builds, 0);
  if (!misses.empty()) {
    std::vector<double> one(misses.size());
    for (std::size_t b = 0; b < out.builds; ++b) {
      for (std::size_t i = 0; i < misses.size(); ++i) one[i] = misses[i][b];
      out.weights[b] = given.LogWeightOf(one.data(), 1);
    }
  }
  const double most = *std::max_element(out.weights.begin(), out.weights.end());
  double sum = 0;
  for (double& w : out.weights) sum += w = std::exp(w - most);
  double squares = 0;
  for (double& w : out.weights) {
    w /= sum;
    squares += w * w;
  }
  out.effective = 1 / squares;
}

}  // namespace

double WeighedBuilds::Chance(const std::vector<std::uint8_t>& good) const {
  double sum = 0;
  for (std::size_t b = 0; b < builds; ++b) sum += good[b] != 0 ? weights[b] : 0;
  return std::min(1.0, sum);
}

WeighedBuilds BuildGiven(const Analysis& analysis, const Conditioning& given,
                         const BuildsAsked& asked) {
  Analysis now = given.Given(analysis, asked.requirements);
  const std::size_t tested = now.requirements.size();
  for (const variation::Form& form : asked.forms)
    now.requirements.push_back(AskFor(given.Given(form)));
  for (const variation::Form& miss : given.misses()) now.requirements.push_back(AskFor(miss));
  const variation::BuildRunner runner(now, false);
  variation::BlockOptions options;
  options.seed = asked.seed;
  WeighedBuilds out;
  const std::int64_t blocks = std::max<std::int64_t>(1, (asked.builds + kLanes - 1) / kLanes);
  out.builds = static_cast<std::size_t>(blocks * kLanes);
  out.met.assign(tested, std::vector<std::uint8_t>(out.builds));
  out.values.assign(asked.forms.size(), std::vector<double>(out.builds));
  std::vector<std::vector<double>> misses(given.misses().size(), std::vector<double>(out.builds));
  variation::Standards standards;
  variation::BlockOutcome block;
  for (std::int64_t n = 0; n < blocks; ++n) {
    runner.Draw(n * kLanes, options, standards);
    runner.RunBlock(standards, now.figures, options, block);
    const auto at = static_cast<std::size_t>(n * kLanes);
    for (std::size_t r = 0; r < now.requirements.size(); ++r) {
      const auto from = static_cast<std::ptrdiff_t>(r * kLanes);
      if (r < tested) {
        std::copy_n(block.met.begin() + from, kLanes,
                    out.met[r].begin() + static_cast<std::ptrdiff_t>(at));
        continue;
      }
      const std::size_t k = r - tested;
      auto& row = k < out.values.size() ? out.values[k] : misses[k - out.values.size()];
      std::copy_n(block.values.begin() + from, kLanes,
                  row.begin() + static_cast<std::ptrdiff_t>(at));
    }
  }
  TakeWeights(given, misses, out);
  return out;
}

}  // namespace fitwright::rework
