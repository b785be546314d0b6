#include <algorithm>
#include <array>
#include <bit>
#include <map>
#include <mutex>

#include "fitwright/variation/draws.h"
#include "fitwright/variation/fingerprint.h"
#include "fitwright/variation/odds.h"

namespace fitwright::variation {

using Bits = std::vector<std::uint64_t>;  // one a build

struct WorkedBuilds {
  std::int64_t recuts = 0;  // over all builds
  Bits spoiled;
};

struct OutcomeMemo::Kept {
  std::mutex mutex;
  std::map<Fingerprint, Bits> met;
  std::map<Fingerprint, WorkedBuilds> worked;
};

OutcomeMemo::OutcomeMemo() : kept_(std::make_unique<Kept>()) {}
OutcomeMemo::~OutcomeMemo() = default;
std::size_t OutcomeMemo::size() const {
  const std::lock_guard lock(kept_->mutex);
  return kept_->met.size();
}

class OutcomeMemoAccess {
 public:
  explicit OutcomeMemoAccess(OutcomeMemo& memo) : kept_(*memo.kept_) {}

  // Entries are never changed or removed, so that what is found stays.
  const Bits* Met(const Fingerprint& print) const { return Find(kept_.met, print); }
  const WorkedBuilds* Worked(const Fingerprint& print) const { return Find(kept_.worked, print); }
  const Bits& Keep(const Fingerprint& print, Bits met) {
    return Keep(kept_.met, print, std::move(met));
  }
  const WorkedBuilds& Keep(const Fingerprint& print, WorkedBuilds worked) {
    return Keep(kept_.worked, print, std::move(worked));
  }

 private:
  template <typename T>
  const T* Find(const std::map<Fingerprint, T>& among, const Fingerprint& print) const {
    const std::lock_guard lock(kept_.mutex);
    const auto found = among.find(print);
    return found == among.end() ? nullptr : &found->second;
  }
  template <typename T>
  const T& Keep(std::map<Fingerprint, T>& among, const Fingerprint& print, T what) {
    const std::lock_guard lock(kept_.mutex);
    return among.try_emplace(print, std::move(what)).first->second;
  }

  OutcomeMemo::Kept& kept_;
};

namespace {

constexpr int kMostQuickBuilds = 4096;
constexpr std::uint64_t kStratifiedKind = 1;
static_assert(kLanes == 64, "one word holds a block's builds");

std::int64_t CountOf(const Bits& bits) {
  std::int64_t count = 0;
  for (const std::uint64_t word : bits) count += std::popcount(word);
  return count;
}

std::uint64_t WordOfLanes(const std::uint8_t* lanes) {
  std::uint64_t word = 0;
  for (std::size_t i = 0; i < kLanes; ++i) word |= std::uint64_t{lanes[i] != 0} << i;
  return word;
}

// The fixed set of builds, requirement by requirement and size by size.
class QuickBuilds {
 public:
  QuickBuilds(const Analysis& analysis, const BlockOptions& block, OutcomeMemo& memo)
      : analysis_(analysis),
        block_(block),
        prints_(analysis),
        draws_(OfDraws(analysis.figures, block.seed, kStratifiedKind, block.set_size)),
        memo_(memo) {}

  // Per requirement, in the analysis's order.
  std::vector<const Bits*> Met() {
    std::vector<Fingerprint> prints;
    std::vector<const Bits*> met;
    std::vector<std::size_t> unknown;
    for (std::size_t r = 0; r < analysis_.requirements.size(); ++r) {
      prints.push_back(Joined(prints_.OfRequirement(analysis_.requirements[r]), draws_));
      met.push_back(memo_.Met(prints.back()));
      if (met.back() == nullptr) unknown.push_back(r);
    }
    std::vector<Bits> built = Build(unknown);
    for (std::size_t i = 0; i < unknown.size(); ++i)
      met[unknown[i]] = &memo_.Keep(prints[unknown[i]], std::move(built[i]));
    return met;
  }

  const WorkedBuilds& Worked(SourceIndex source) {
    const Fingerprint print = Joined(prints_.OfSource(source), draws_);
    if (const WorkedBuilds* known = memo_.Worked(print)) return *known;
    WorkedBuilds built;
    std::array<double, std::size_t{3} * kLanes> standard;
    std::array<WorkedOutcome, kLanes> outcome;
    const Source& s = analysis_.sources[source];
    const WorkedSize& size = analysis_.sources.worked()[static_cast<std::size_t>(s.worked)];
    for (int first = 0; first < block_.set_size; first += kLanes) {
      FillStandard(s, first, block_, standard.data());
      FillWorked(s, size, first, analysis_.figures, block_, standard.data(), outcome.data());
      std::uint64_t spoiled = 0;
      for (std::size_t i = 0; i < kLanes; ++i) {
        built.recuts += outcome[i].recuts;
        spoiled |= std::uint64_t{outcome[i].spoiled} << i;
      }
      built.spoiled.push_back(spoiled);
    }
    return memo_.Keep(print, std::move(built));
  }

 private:
  // What the requirements at these places need of the analysis, in an order of their own.
  Analysis Cut(const std::vector<std::size_t>& places) const {
    Analysis cut;
    cut.sources = analysis_.sources;
    cut.figures = analysis_.figures;
    cut.plays = analysis_.plays;
    cut.parts = analysis_.parts;
    for (Play& play : cut.plays) prints_.Arrange(play);
    for (const std::size_t r : places) {
      cut.requirements.push_back(analysis_.requirements[r]);
      prints_.Arrange(cut.requirements.back());
    }
    return cut;
  }

  std::vector<Bits> Build(const std::vector<std::size_t>& places) const {
    std::vector<Bits> met(places.size());
    if (places.empty()) return met;
    const Analysis cut = Cut(places);
    const BuildRunner runner(cut, false);
    BlockOutcome outcome;
    Standards standards;
    for (int first = 0; first < block_.set_size; first += kLanes) {
      runner.Draw(first, block_, standards);
      runner.RunBlock(standards, cut.figures, block_, outcome);
      for (std::size_t i = 0; i < places.size(); ++i)
        met[i].push_back(WordOfLanes(outcome.met.data() + i * kLanes));
    }
    return met;
  }

  const Analysis& analysis_;
  BlockOptions block_;
  Fingerprints prints_;
  Fingerprint draws_;
  OutcomeMemoAccess memo_;
};

// Builds that do not meet the requirement, but those where one of its worked sizes is spoiled: that
// part is made again already.
Bits FailedOf(const RequirementForms& r, const Bits& met, QuickBuilds& builds) {
  Bits failed(met.size());
  for (std::size_t w = 0; w < met.size(); ++w) failed[w] = ~met[w];
  for (const SourceIndex source : r.worked) {
    const Bits& spoiled = builds.Worked(source).spoiled;
    for (std::size_t w = 0; w < failed.size(); ++w) failed[w] &= ~spoiled[w];
  }
  return failed;
}

void AddWorkedSizes(const Analysis& analysis, QuickBuilds& builds, std::size_t words,
                    QuickOdds& quick) {
  Bits any(words, 0);
  for (std::size_t s = 0; s < analysis.sources.size(); ++s) {
    const Source& source = analysis.sources[static_cast<SourceIndex>(s)];
    if (source.law != Law::kWorked) continue;
    const WorkedSize& size = analysis.sources.worked()[static_cast<std::size_t>(source.worked)];
    const WorkedBuilds& built = builds.Worked(static_cast<SourceIndex>(s));
    quick.rework_min += static_cast<double>(built.recuts) * size.recut_min;
    for (std::size_t w = 0; w < words; ++w) any[w] |= built.spoiled[w];
    if (size.part >= 0) {
      quick.rework_min += static_cast<double>(CountOf(built.spoiled)) *
                          analysis.parts[static_cast<std::size_t>(size.part)].minutes;
    }
  }
  quick.scrap_chance = static_cast<double>(CountOf(any));
}

}  // namespace

Result<QuickOdds> CalcQuickOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                                const QuickOptions& options, OutcomeMemo* memo) {
  const Result<Analysis> analysis = Analyse(machine, shop, plan);
  if (!analysis) return Unexpected(analysis.error());
  BlockOptions block;
  block.seed = options.seed;
  block.draws = Draws::kStratified;
  block.set_size = kLanes;
  while (block.set_size < options.builds && block.set_size < kMostQuickBuilds) block.set_size *= 2;
  OutcomeMemo own;
  QuickBuilds builds(*analysis, block, memo == nullptr ? own : *memo);
  const std::vector<const Bits*> met = builds.Met();
  const auto words = static_cast<std::size_t>(block.set_size / kLanes);
  const double n = block.set_size;
  QuickOdds quick;
  Bits all(words, ~std::uint64_t{0});
  for (std::size_t r = 0; r < met.size(); ++r) {
    const RequirementForms& forms = analysis->requirements[r];
    quick.per_requirement.push_back(static_cast<double>(CountOf(*met[r])) / n);
    for (std::size_t w = 0; w < words; ++w) all[w] &= (*met[r])[w];
    if (forms.remedy_min > 0) {
      quick.remedy_min +=
          static_cast<double>(CountOf(FailedOf(forms, *met[r], builds))) * forms.remedy_min;
    }
  }
  quick.all = static_cast<double>(CountOf(all)) / n;
  AddWorkedSizes(*analysis, builds, words, quick);
  quick.remedy_min /= n;
  quick.rework_min /= n;
  quick.scrap_chance /= n;
  return quick;
}

}  // namespace fitwright::variation
