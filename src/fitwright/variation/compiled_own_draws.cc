#include "fitwright/variation/compiled_own_draws.h"

#include <array>
#include <cmath>
#include <utility>

#include "fitwright/stats/random.h"

namespace fitwright::variation {
namespace {

void FillColumn(const SourceTable& sources, const Figures& figures, const BlockOptions& draws,
                SourceIndex index, std::int64_t first, double* out) {
  const Source& source = sources[index];
  std::array<double, std::size_t{3} * kLanes> standard;
  FillStandard(source, first, draws, standard.data());
  if (source.law != Law::kWorked) return ScaleSource(source, figures, standard.data(), out);
  std::array<WorkedOutcome, kLanes> worked;
  FillWorked(source, sources.worked()[static_cast<std::size_t>(source.worked)], first, figures,
             draws, standard.data(), worked.data());
  for (std::size_t i = 0; i < worked.size(); ++i) out[i] = worked[i].value;
}

void FillDisc(std::uint64_t stream, std::uint64_t first, double* x) {
  double* y = x + kLanes;
  for (std::uint64_t i = 0; i < kLanes; ++i) {
    const stats::Pair u = stats::UniformPair(stream, first + i);
    const double r = std::sqrt(u.first);
    x[i] = r * std::cos(2 * kPi * u.second);
    y[i] = r * std::sin(2 * kPi * u.second);
  }
}

}  // namespace

stats::TrialStep StepOfOwnDraws(const Analysis& analysis, const Figures& figures,
                                const BlockOptions& draws, std::vector<OwnColumn> columns,
                                std::vector<OwnDisc> discs) {
  stats::TrialStep step;
  for (const OwnColumn& one : columns) step.columns.push_back(one.column);
  for (const OwnDisc& one : discs) {
    step.columns.push_back(one.column);
    step.columns.push_back(one.column + 1);
  }
  step.run = [&sources = analysis.sources, figures, draws, columns = std::move(columns),
              discs = std::move(discs)](const stats::TrialBlock& block) {
    const auto first = static_cast<std::int64_t>(block.first);
    for (const OwnColumn& one : columns) {
      FillColumn(sources, figures, draws, one.source, first,
                 block.columns + std::size_t{one.column} * kLanes);
    }
    for (const OwnDisc& one : discs) {
      FillDisc(stats::StreamKey(draws.seed, one.key), block.first,
               block.columns + std::size_t{one.column} * kLanes);
    }
  };
  return step;
}

}  // namespace fitwright::variation
