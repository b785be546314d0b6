#include "fitwright/rework/weighed_builds.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/compiled_steps.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::kLanes;

// What is filled only because something asks for it: a value without limits.
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

std::vector<std::size_t> EveryPlace(const Analysis& analysis) {
  std::vector<std::size_t> places(analysis.requirements.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

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
  const variation::CompiledBuilds compiled = variation::CompileBuilds(now, now.figures);
  stats::TrialRun run;
  run.seed = asked.seed;
  run.trials = std::max<std::int64_t>(1, (asked.builds + kLanes - 1) / kLanes) * kLanes;
  WeighedBuilds out;
  out.builds = static_cast<std::size_t>(run.trials);
  out.met.assign(tested, std::vector<std::uint8_t>(out.builds));
  out.values.assign(asked.forms.size(), std::vector<double>(out.builds));
  std::vector<std::vector<double>> misses(given.misses().size(), std::vector<double>(out.builds));
  stats::EachTrialBlock(compiled.program, run, true, [&](std::size_t b, const stats::TrialBlock& block) {
    const std::size_t at = b * kLanes;
    for (std::size_t r = 0; r < now.requirements.size(); ++r) {
      if (r < tested) {
        for (std::size_t lane = 0; lane < kLanes; ++lane) out.met[r][at + lane] = (block.words[r] >> lane) & 1U;
        continue;
      }
      const std::size_t k = r - tested;
      auto& row = k < out.values.size() ? out.values[k] : misses[k - out.values.size()];
      variation::FillMeasured(now.requirements[r], compiled.rows[r], now.figures, block, row.data() + at);
    }
  });
  TakeWeights(given, misses, out);
  return out;
}

}  // namespace fitwright::rework
