#include "fitwright/rework/changes.h"

#include <algorithm>
#include <numeric>

#include "fitwright/rework/bearing.h"
#include "fitwright/rework/following.h"
#include "fitwright/stats/intervals.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;

constexpr std::size_t kMostFollowing = 6;

std::vector<std::size_t> EveryPlace(const Analysis& analysis) {
  std::vector<std::size_t> places(analysis.requirements.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

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
    const auto good = static_cast<std::int64_t>(one.after * static_cast<double>(trials) + 0.5);
    const stats::Interval interval = stats::WilsonInterval(std::min(good, trials), trials);
    one.low = interval.low;
    one.high = interval.high;
    out.requirements.push_back(one);
  }
  out.all_planned = planned.ChanceOfAll();
  out.all_before = before.ChanceOfAll();
  out.all_after = after.ChanceOfAll();
  out.effective_builds = after.effective;
}

}  // namespace

Result<Changes> CalcChanges(const Standing& standing, const ChangeOptions& options) {
  if (standing.readings.empty()) {
    return Unexpected(Error{ErrorCode::kNoPlan, "nothing was read yet", {}, "record a size", {}});
  }
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const Observed all =
      Observe(*standing.machine, *standing.shop, *standing.plan, standing.readings, *analysis);
  std::vector<ReadingTaken> earlier(standing.readings.begin(), standing.readings.end() - 1);
  const Observed first =
      Observe(*standing.machine, *standing.shop, *standing.plan, earlier, *analysis);
  const Observed last = Observe(*standing.machine, *standing.shop, *standing.plan,
                                {standing.readings.back()}, *analysis);
  const Conditioning alone(*analysis, last);
  const Conditioning nothing(*analysis, Observed{});
  const Conditioning before(*analysis, first);
  const Conditioning after(*analysis, all);
  Changes out;
  out.counts = all.unread.empty() || all.unread.back() + 1 != standing.readings.size();
  if (out.counts && !after.expectations().empty()) {
    out.expected = after.expectations().back();
    out.surprising = out.expected.chance < kSurprising;
  }
  const State planned = StateGiven(*analysis, nothing, nullptr, options);
  const State was = StateGiven(*analysis, before, &planned, options);
  const State is = StateGiven(*analysis, after, &planned, options);
  AddRequirements(*analysis, planned, was, is, out);
  out.targets = FindTargets(standing, *analysis, after, options.builds);
  std::erase_if(out.targets, [&](const SizeTarget& t) {
    return !out.counts || !BearsOn(alone, *analysis, t.size);
  });
  out.following = FindFollowing(standing, *analysis, before, after, kMostFollowing);
  return out;
}

}  // namespace fitwright::rework
