#include "fitwright/variation/met_counts.h"

#include <algorithm>
#include <bit>

namespace fitwright::variation {
namespace {

constexpr std::int64_t kAtOnce = 1 << 16;  // builds between two looks at what was counted

}  // namespace

std::optional<MetCounts> CountMet(const BuildCompiler& compiler, const Figures& figures,
                                  const MetWanted& wanted) {
  const std::size_t count = compiler.requirements().size();
  const CompiledBuilds compiled = compiler.At(figures);
  std::vector<std::uint32_t> outcomes;
  for (std::size_t o = 0; o < count; ++o) {
    if (wanted.only.empty() ||
        std::find(wanted.only.begin(), wanted.only.end(), o) != wanted.only.end())
      outcomes.push_back(static_cast<std::uint32_t>(o));
  }
  const stats::TrialProgram program =
      wanted.only.empty() ? compiled.program : stats::OnlyOutcomes(compiled.program, outcomes);
  MetCounts counts;
  counts.builds = wanted.builds;
  counts.met.resize(count);
  stats::TrialRun run;
  run.seed = wanted.seed;
  run.threads = wanted.threads;
  run.cancel = wanted.cancel;
  for (run.first = 0; run.first < wanted.builds; run.first += kAtOnce) {
    const std::int64_t here = std::min(kAtOnce, wanted.builds - run.first);
    run.trials = (here + stats::kTrialsAtOnce - 1) / stats::kTrialsAtOnce * stats::kTrialsAtOnce;
    const std::vector<std::uint64_t> words = stats::RunTrials(program, run);
    if (words.empty() && count > 0) return std::nullopt;
    const std::size_t each = static_cast<std::size_t>(run.trials / stats::kTrialsAtOnce);
    for (std::size_t w = 0; w < each; ++w) {
      const std::int64_t left = here - static_cast<std::int64_t>(w) * stats::kTrialsAtOnce;
      const std::uint64_t there =
          left >= stats::kTrialsAtOnce ? ~std::uint64_t{0} : (std::uint64_t{1} << left) - 1;
      std::uint64_t all = there;
      for (const std::uint32_t o : outcomes) {
        const std::uint64_t word = words[o * each + w] & there;
        counts.met[o] += std::popcount(word);
        all &= word;
      }
      counts.all += std::popcount(all);
    }
  }
  return counts;
}

}  // namespace fitwright::variation
