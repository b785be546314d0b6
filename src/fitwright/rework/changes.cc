#include "fitwright/rework/changes.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "fitwright/rework/bearing.h"
#include "fitwright/rework/following.h"
#include "fitwright/rework/weighed_builds.h"
#include "fitwright/stats/intervals.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;

constexpr std::size_t kMostFollowing = 6;

// Which builds meet each requirement, and what they count, in one state of knowledge.
struct State {
  std::vector<std::vector<std::uint8_t>> met;
  std::vector<std::uint8_t> reads;  // by requirement: the readings bear on it
  std::vector<double> weights;
  double effective = 0;

  // Builds that the readings say nothing of count the same.
  double ChanceOf(std::size_t r) const {
    if (reads[r] != 0) return Chance(met[r]);
    const auto good = std::count_if(met[r].begin(), met[r].end(), [](auto m) { return m != 0; });
    return static_cast<double>(good) / static_cast<double>(met[r].size());
  }
  double Chance(const std::vector<std::uint8_t>& good) const {
    double sum = 0;
    for (std::size_t b = 0; b < good.size(); ++b) sum += good[b] != 0 ? weights[b] : 0;
    return std::min(1.0, sum);
  }
  double ChanceOfAll() const {
    std::vector<std::uint8_t> all(weights.size(), 1);
    for (const auto& one : met) {
      for (std::size_t b = 0; b < all.size(); ++b) all[b] &= one[b];
    }
    return Chance(all);
  }
};

// What the readings say nothing of stays as it was in `from`.
State StateGiven(const Analysis& analysis, const Conditioning& given, const State* from,
                 const ChangeOptions& options) {
  BuildsAsked asked;
  asked.builds = options.builds;
  asked.seed = options.seed;
  State state;
  for (const std::size_t r : EveryPlace(analysis)) {
    const bool reads = BearsOn(given, analysis, analysis.requirements[r]);
    state.reads.push_back(reads ? 1 : 0);
    if (from == nullptr || reads) asked.requirements.push_back(r);
  }
  WeighedBuilds built = BuildGiven(analysis, given, asked);
  if (from != nullptr) state.met = from->met;
  state.met.resize(analysis.requirements.size());
  for (std::size_t i = 0; i < asked.requirements.size(); ++i)
    state.met[asked.requirements[i]] = std::move(built.met[i]);
  state.weights = std::move(built.weights);
  state.effective = built.effective;
  return state;
}

void AddRequirements(const Analysis& analysis, const State& planned, const State& before,
                     const State& after, Changes& out) {
  const auto trials = static_cast<std::int64_t>(std::max(1.0, after.effective));
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    RequirementChange one;
    one.place = r;
    one.name = analysis.requirements[r].name;
    one.planned = planned.ChanceOf(r);
    one.before = before.ChanceOf(r);
    one.after = after.ChanceOf(r);
    const auto good = std::lround(one.after * static_cast<double>(trials));
    const stats::Interval interval = stats::CountedInterval(std::min(good, trials), trials);
    one.low = interval.low;
    one.high = interval.high;
    out.requirements.push_back(one);
  }
  out.all_planned = planned.ChanceOfAll();
  out.all_before = before.ChanceOfAll();
  out.all_after = after.ChanceOfAll();
  out.effective_builds = after.effective;
}

// What is known by some readings. The sources that they bring in stand behind the plan's own.
struct Knowledge {
  std::vector<ReadingTaken> readings;
  variation::SourceTable sources;
  Observed observed;
  std::optional<Conditioning> given;
  State state;
};

// Whether the last of the readings says something.
bool LastCounts(const Knowledge& known) {
  const auto& unread = known.observed.unread;
  return unread.empty() || unread.back() + 1 != known.readings.size();
}

}  // namespace

struct ChangesKept::Kept {
  const Machine& machine;
  const Shop& shop;
  const Plan& plan;
  ChangeOptions options;
  Analysis analysis;  // with the sources of what is looked at
  variation::SourceTable sources;  // of the plan alone
  std::vector<variation::Moments> moments;
  State planned;
  std::optional<Knowledge> last;

  Knowledge Know(std::vector<ReadingTaken> readings) {
    Knowledge known;
    known.readings = std::move(readings);
    analysis.sources = sources;
    known.observed = Observe(machine, shop, plan, known.readings, analysis);
    known.sources = analysis.sources;
    known.given.emplace(analysis, known.observed, moments);
    known.state = StateGiven(analysis, *known.given, &planned, options);
    return known;
  }
  std::vector<SizeTarget> TargetsOf(const Standing& standing, const Knowledge& is) {
    analysis.sources = is.sources;
    return FindTargets(standing, analysis, *is.given, options.builds);
  }
  // Those that bear on the last reading by itself.
  std::vector<SizeTarget> OfTheLast(const Standing& standing, const Knowledge& is, std::vector<SizeTarget> targets) {
    analysis.sources = is.sources;
    const Conditioning alone(
        analysis, Observe(machine, shop, plan, {standing.readings.back()}, analysis), moments);
    std::erase_if(targets, [&](const SizeTarget& t) { return !BearsOn(alone, analysis, t.size); });
    return targets;
  }
};

ChangesKept::ChangesKept(std::unique_ptr<Kept> kept) : kept_(std::move(kept)) {}
ChangesKept::~ChangesKept() = default;
ChangesKept::ChangesKept(ChangesKept&&) noexcept = default;
ChangesKept& ChangesKept::operator=(ChangesKept&&) noexcept = default;

Result<ChangesKept> ChangesKept::Of(const Machine& machine, const Shop& shop, const Plan& plan,
                                    const ChangeOptions& options) {
  auto analysis = variation::Analyse(machine, shop, plan);
  if (!analysis) return Unexpected(analysis.error());
  auto kept = std::unique_ptr<Kept>(
      new Kept{machine, shop, plan, options, *std::move(analysis), {}, {}, {}, {}});
  kept->sources = kept->analysis.sources;
  kept->moments = MomentsOfSources(kept->analysis);
  const Conditioning nothing(kept->analysis, Observed{}, kept->moments);
  kept->planned = StateGiven(kept->analysis, nothing, nullptr, options);
  return ChangesKept(std::move(kept));
}

Result<Changes> ChangesKept::Calc(const Standing& standing) {
  if (standing.readings.empty()) {
    return Unexpected(Error{ErrorCode::kNoPlan, "nothing was read yet", {}, "record a size", {}});
  }
  Kept& k = *kept_;
  std::vector<ReadingTaken> earlier(standing.readings.begin(), standing.readings.end() - 1);
  const bool follows = k.last && k.last->readings == earlier;
  const Knowledge was = follows ? *std::exchange(k.last, {}) : k.Know(std::move(earlier));
  k.last = k.Know(standing.readings);
  const Knowledge& is = *k.last;
  Changes out;
  out.counts = LastCounts(is);
  if (out.counts && !is.given->expectations().empty()) {
    out.expected = is.given->expectations().back();
    out.surprising = out.expected.chance < kSurprising;
  }
  AddRequirements(k.analysis, k.planned, was.state, is.state, out);
  out.all_targets = k.TargetsOf(standing, is);
  if (out.counts) out.targets = k.OfTheLast(standing, is, out.all_targets);
  out.following = FindFollowing(standing, k.analysis, *was.given, *is.given, kMostFollowing);
  return out;
}

std::vector<Rescue> ChangesKept::CalcRescues(const Standing& standing,
                                             const PastLimits& past) const {
  Analysis own = kept_->analysis;
  own.sources = kept_->sources;
  return FindRescues(standing, past, std::move(own), kept_->moments, kept_->options.builds);
}

Result<Changes> CalcChanges(const Standing& standing, const ChangeOptions& options) {
  auto kept = ChangesKept::Of(*standing.machine, *standing.shop, *standing.plan, options);
  if (!kept) return Unexpected(kept.error());
  return kept->Calc(standing);
}

}  // namespace fitwright::rework
