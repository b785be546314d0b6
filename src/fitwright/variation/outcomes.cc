#include "fitwright/variation/outcomes.h"

#include <algorithm>
#include <array>
#include <bit>
#include <set>

#include "fitwright/base/parallel.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/outcome_memo_access.h"

namespace fitwright::variation {
namespace {

static_assert(kLanes == 64, "one word holds a block's builds");

BlockOptions BlockOf(const BuildsWanted& wanted) {
  BlockOptions block;
  block.seed = wanted.seed;
  block.draws = wanted.draws;
  block.set_size = static_cast<int>(std::min<std::int64_t>(wanted.builds, 4096));
  block.values = wanted.values;
  return block;
}

Fingerprint DrawsOf(const Figures& figures, const BuildsWanted& wanted) {
  const auto kind = std::uint64_t{wanted.draws == Draws::kStratified} * 2 + (wanted.values ? 1 : 0);
  return OfDraws(figures, wanted.seed, kind, wanted.first, wanted.builds);
}

// One requirement in one block of builds.
struct BlockShare {
  std::uint64_t met = 0;
  double sum = 0;
  double squares = 0;
};

BlockShare ShareOf(const BlockOutcome& outcome, std::size_t requirement, int lanes, double origin) {
  BlockShare share;
  for (int i = 0; i < lanes; ++i) {
    const std::size_t at = requirement * kLanes + static_cast<std::size_t>(i);
    share.met |= std::uint64_t{outcome.met[at] != 0} << i;
    const double v = outcome.values[at] - origin;
    share.sum += v;
    share.squares += v * v;
  }
  return share;
}

// A question reduced to what is not known yet; places are those of the runner's analysis.
struct Open {
  Figures figures;
  Wanted wanted;
};

// Outcomes of all requirements of the runner, per question; of those that it does not ask for, none.
// Empty when cancelled.
std::vector<std::vector<Outcome>> Build(const BuildRunner& runner, const std::vector<Open>& open,
                                        const BuildsWanted& wanted) {
  const std::size_t requirements = runner.analysis().requirements.size();
  const auto blocks = static_cast<std::size_t>((wanted.builds + kLanes - 1) / kLanes);
  const BlockOptions block = BlockOf(wanted);
  const auto stopped = [&] { return wanted.cancel != nullptr && wanted.cancel->cancelled(); };
  std::vector<BlockShare> shares(blocks * open.size() * requirements);
  ParallelFor(blocks, wanted.threads, [&](std::size_t b) {
    BlockOutcome outcome;
    Standards standards;
    runner.Draw(wanted.first + static_cast<std::int64_t>(b) * kLanes, block, standards);
    const std::int64_t left = wanted.builds - static_cast<std::int64_t>(b) * kLanes;
    const int lanes = static_cast<int>(std::min<std::int64_t>(left, kLanes));
    for (std::size_t q = 0; q < open.size() && !stopped(); ++q) {
      runner.RunBlock(standards, open[q].figures, block, open[q].wanted, outcome);
      for (std::size_t r = 0; r < requirements; ++r) {
        if (open[q].wanted.requirements[r] == 0) continue;
        const double origin = OriginOf(runner.analysis().requirements[r]);
        shares[(b * open.size() + q) * requirements + r] = ShareOf(outcome, r, lanes, origin);
      }
    }
  });
  if (stopped()) return {};
  std::vector<std::vector<Outcome>> built(open.size(), std::vector<Outcome>(requirements));
  for (std::size_t q = 0; q < open.size(); ++q) {
    for (std::size_t r = 0; r < requirements; ++r) {
      if (open[q].wanted.requirements[r] == 0) continue;
      Outcome& outcome = built[q][r];
      for (std::size_t b = 0; b < blocks; ++b) {
        const BlockShare& share = shares[(b * open.size() + q) * requirements + r];
        outcome.met.push_back(share.met);
        outcome.sum += share.sum;
        outcome.squares += share.squares;
      }
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

std::vector<std::vector<std::shared_ptr<const Outcome>>> Outcomes::Of(
    const std::vector<Question>& questions, const BuildsWanted& wanted) {
  OutcomeMemoAccess memo(memo_);
  std::vector<Fingerprint> own(analysis_.requirements.size());
  for (std::size_t r = 0; r < own.size(); ++r)
    own[r] = prints_.OfRequirement(analysis_.requirements[r]);
  std::vector<Fingerprint> draws;
  std::vector<std::vector<std::shared_ptr<const Outcome>>> answers;
  std::set<std::size_t> unknown;
  for (const Question& question : questions) {
    draws.push_back(DrawsOf(question.figures, wanted));
    answers.emplace_back();
    for (const std::size_t r : question.requirements) {
      answers.back().push_back(memo.Find(Joined(own[r], draws.back())));
      if (answers.back().back() == nullptr) unknown.insert(r);
    }
  }
  if (unknown.empty()) return answers;
  const std::vector<std::size_t> places(unknown.begin(), unknown.end());
  const Analysis cut = CutTo(places);
  const BuildRunner runner(cut, false);
  std::vector<Open> open;
  std::vector<std::size_t> question_of;
  for (std::size_t q = 0; q < questions.size(); ++q) {
    std::vector<std::size_t> asked;
    for (std::size_t i = 0; i < questions[q].requirements.size(); ++i) {
      if (answers[q][i] != nullptr) continue;
      const auto at = std::lower_bound(places.begin(), places.end(), questions[q].requirements[i]);
      asked.push_back(static_cast<std::size_t>(at - places.begin()));
    }
    if (asked.empty()) continue;
    open.push_back({questions[q].figures, runner.WantedOf(asked)});
    question_of.push_back(q);
  }
  std::vector<std::vector<Outcome>> built = Build(runner, open, wanted);
  if (built.empty()) return {};
  for (std::size_t o = 0; o < open.size(); ++o) {
    const Question& question = questions[question_of[o]];
    for (std::size_t i = 0; i < question.requirements.size(); ++i) {
      auto& answer = answers[question_of[o]][i];
      if (answer != nullptr) continue;
      const std::size_t r = question.requirements[i];
      const auto at = std::lower_bound(places.begin(), places.end(), r) - places.begin();
      answer = memo.Keep(Joined(own[r], draws[question_of[o]]),
                         std::move(built[o][static_cast<std::size_t>(at)]));
    }
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
    FillStandard(s, wanted.first + first, block, standard.data());
    FillWorked(s, size, wanted.first + first, analysis_.figures, block, standard.data(),
               outcome.data());
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
