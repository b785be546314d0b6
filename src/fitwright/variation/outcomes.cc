#include "fitwright/variation/outcomes.h"

#include <algorithm>
#include <array>
#include <bit>

#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/compiled_steps.h"
#include "fitwright/variation/outcome_memo_access.h"

namespace fitwright::variation {
namespace {

static_assert(kLanes == 64, "one word holds a block's builds");

BlockOptions BlockOf(const BuildsWanted& wanted) {
  BlockOptions block;
  block.seed = wanted.seed;
  block.draws = wanted.draws;
  block.set_size = static_cast<int>(std::min<std::int64_t>(wanted.builds, 4096));
  return block;
}

Fingerprint DrawsOf(const Figures& figures, const BuildsWanted& wanted) {
  const auto kind = std::uint64_t{wanted.draws == Draws::kStratified} * 2 + (wanted.values ? 1 : 0);
  return OfDraws(figures, wanted.seed, kind, wanted.builds);
}

// One requirement in one block of builds.
struct BlockShare {
  std::uint64_t met = 0;
  double sum = 0;
  double squares = 0;
};

void AddValues(const RequirementForms& r, const RequirementRows& rows, const Figures& figures,
               const stats::TrialBlock& block, std::uint64_t there, BlockShare& share) {
  const double origin = OriginOf(r);
  std::array<double, kLanes> values;
  FillMeasured(r, rows, figures, block, values.data());
  for (std::size_t i = 0; i < kLanes; ++i) {
    if ((there >> i & 1) == 0) continue;
    const double v = values[i] - origin;
    share.sum += v;
    share.squares += v * v;
  }
}

// Outcomes of all requirements of the analysis. Empty when cancelled.
std::vector<Outcome> Build(const Analysis& analysis, const BuildsWanted& wanted) {
  const std::size_t requirements = analysis.requirements.size();
  const CompiledBuilds compiled =
      BuildCompiler(analysis).OwnDrawsAt(analysis.figures, BlockOf(wanted));
  const auto blocks = static_cast<std::size_t>((wanted.builds + kLanes - 1) / kLanes);
  std::vector<BlockShare> shares(blocks * requirements);
  stats::TrialRun run;
  run.seed = wanted.seed;
  run.trials = static_cast<std::int64_t>(blocks) * kLanes;
  run.threads = wanted.threads;
  run.cancel = wanted.cancel;
  const auto take = [&](std::size_t b, const stats::TrialBlock& block) {
    const std::int64_t left = wanted.builds - static_cast<std::int64_t>(b) * kLanes;
    const std::uint64_t there = left >= kLanes ? ~std::uint64_t{0} : (std::uint64_t{1} << left) - 1;
    for (std::size_t r = 0; r < requirements; ++r) {
      BlockShare& share = shares[b * requirements + r];
      share.met = block.words[r] & there;
      if (wanted.values)
        AddValues(analysis.requirements[r], compiled.rows[r], analysis.figures, block, there,
                  share);
    }
  };
  if (!stats::EachTrialBlock(compiled.program, run, wanted.values, take)) return {};
  std::vector<Outcome> built(requirements);
  for (std::size_t r = 0; r < requirements; ++r) {
    for (std::size_t b = 0; b < blocks; ++b) {
      const BlockShare& share = shares[b * requirements + r];
      built[r].met.push_back(share.met);
      built[r].sum += share.sum;
      built[r].squares += share.squares;
    }
  }
  return built;
}

}  // namespace

std::int64_t CountOf(const Bits& bits) {
  std::int64_t count = 0;
  for (const std::uint64_t word : bits) count += std::popcount(word);
  return count;
}

double OriginOf(const RequirementForms& r) {
  return r.linear.empty() ? 0 : r.linear.front().constant;
}

Outcomes::Outcomes(const Analysis& analysis, OutcomeMemo& memo)
    : analysis_(analysis), prints_(analysis), memo_(memo) {}

// What these requirements need of the analysis, their terms in an order of their own.
Analysis Outcomes::CutTo(const std::vector<std::size_t>& requirements) const {
  Analysis cut;
  cut.sources = analysis_.sources;
  cut.figures = analysis_.figures;
  cut.plays = analysis_.plays;
  cut.parts = analysis_.parts;
  for (Play& play : cut.plays) prints_.Arrange(play);
  for (const std::size_t r : requirements) {
    cut.requirements.push_back(analysis_.requirements[r]);
    prints_.Arrange(cut.requirements.back());
  }
  return cut;
}

std::vector<std::shared_ptr<const Outcome>> Outcomes::Of(
    const std::vector<std::size_t>& requirements, const BuildsWanted& wanted) {
  OutcomeMemoAccess memo(memo_);
  const Fingerprint draws = DrawsOf(analysis_.figures, wanted);
  std::vector<std::shared_ptr<const Outcome>> answers;
  std::vector<Fingerprint> prints;
  std::vector<std::size_t> unknown;
  for (const std::size_t r : requirements) {
    prints.push_back(Joined(prints_.OfRequirement(analysis_.requirements[r]), draws));
    answers.push_back(memo.Find(prints.back()));
    if (answers.back() == nullptr) unknown.push_back(r);
  }
  if (unknown.empty()) return answers;
  std::vector<Outcome> built = Build(CutTo(unknown), wanted);
  if (built.empty()) return {};
  std::size_t next = 0;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    if (answers[i] == nullptr) answers[i] = memo.Keep(prints[i], std::move(built[next++]));
  }
  return answers;
}

std::shared_ptr<const WorkedOutcomes> Outcomes::OfWorked(SourceIndex source,
                                                         const BuildsWanted& wanted) {
  OutcomeMemoAccess memo(memo_);
  const Fingerprint print = Joined(prints_.OfSource(source), DrawsOf(analysis_.figures, wanted));
  if (auto known = memo.FindWorked(print)) return known;
  const BlockOptions block = BlockOf(wanted);
  WorkedOutcomes built;
  std::array<double, std::size_t{3} * kLanes> standard;
  std::array<WorkedOutcome, kLanes> outcome;
  const Source& s = analysis_.sources[source];
  const WorkedSize& size = analysis_.sources.worked()[static_cast<std::size_t>(s.worked)];
  for (std::int64_t first = 0; first < wanted.builds; first += kLanes) {
    FillStandard(s, first, block, standard.data());
    FillWorked(s, size, first, analysis_.figures, block, standard.data(), outcome.data());
    std::uint64_t spoiled = 0;
    for (std::size_t i = 0; i < kLanes; ++i) {
      built.recuts += outcome[i].recuts;
      spoiled |= std::uint64_t{outcome[i].spoiled} << i;
    }
    built.spoiled.push_back(spoiled);
  }
  return memo.Keep(print, std::move(built));
}

}  // namespace fitwright::variation
