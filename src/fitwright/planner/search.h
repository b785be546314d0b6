// The search itself: strategies judged, remembered, improved. Used by planner.cc and advice.cc.
#pragma once

#include <deque>
#include <map>
#include <optional>
#include <random>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "fitwright/planner/build_plan.h"
#include "fitwright/planner/excerpt.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/strategy.h"
#include "fitwright/planner/tried.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {

inline constexpr std::int64_t kDefaultBudget = 1500;
inline constexpr double kWorthwhile_min = 0.25;  // a smaller gain is within the noise of the virtual builds

class Search {
 public:
  Search(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options);

  const Subjects& subjects() const { return subjects_; }
  // Everything plain except what pins decide. Errors: kNoPlan with the first reason found.
  Result<Strategy> Plain();
  // Improves until nothing helps or the budget is spent.
  Strategy Improve(Strategy strategy);
  // Begins again so often from a few decisions made otherwise at random (of the seed), and keeps what comes out better. Each
  // try judges at most 400 plans of its own.
  Strategy TryAgain(Strategy best, int tries);
  // The strategy with every pin imposed that it does not keep yet, and the ways of the parts concerned improved
  // under the pins; what keeps all pins comes back as it is. Nothing when they cannot be imposed on it.
  // `tried`: what lost in the search that found the strategy.
  std::optional<Strategy> Honour(const Strategy& strategy, const Tried& tried);
  const Tried& tried() const { return tried_; }
  // Nothing when the strategy makes no plan; remembered.
  std::optional<Judged> Look(const Strategy& strategy);
  // The same for each, side by side on several threads.
  std::vector<std::optional<Judged>> LookAtAll(const std::vector<Strategy>& strategies);
  // The same decisions with one changed, routes made over; nothing when impossible or pinned otherwise.
  std::optional<Strategy> WithPattern(const Strategy& strategy, const JointId& joint, PatternChoice choice);
  std::optional<Strategy> WithFlush(const Strategy& strategy, const RequirementId& requirement, Technique technique);
  std::optional<Strategy> WithSuit(const Strategy& strategy, const RequirementId& requirement, Technique technique);
  // Setup i of the part's route cut in two: the bores (and what hangs on them) in a chucking of their own.
  std::optional<Strategy> WithBoresApart(const Strategy& strategy, const PartId& part, std::size_t setup);
  // Other holdings of the setup that the pins allow.
  std::vector<SetupSketch> Others(const SetupSketch& sketch, const PieceState& piece) const { return AllowedVariants(sketch, piece); }
  std::optional<Strategy> WithShared(const Strategy& strategy, const std::string& subject, Technique technique);
  std::vector<Technique> SharedOptions(const SharedHoles& pair) const;
  // Every way that the pins allow; and those of them worth a look at each turn of the search.
  std::vector<PatternChoice> PatternWays(const PatternJoint& pattern) const;
  std::vector<PatternChoice> PatternOptions(const PatternJoint& pattern) const;
  // From now on plans are weighed so, with a budget of their own. What was judged stays known.
  void Prefer(const Preference& preference);
  double Cost(const Judged& judged) const { return CostOf(judged, options_.preference); }
  // Every strategy that makes a plan, in the order found.
  const std::vector<std::pair<Strategy, Judged>>& seen() const { return seen_; }
  using Options = std::vector<std::optional<Strategy>>;
  // Every other route of the part, and each with its narrow bores trued.
  Options RouteOptions(const Strategy& best, const PartId& part);
  // Other holdings of setup i, its bores apart, and it in every other place of the route.
  Options SetupOptions(const Strategy& best, const PartId& part, std::size_t i);
  bool stopped() const { return options_.work.cancelled(); }
  std::int64_t judged() const { return judged_; }
  // Strategies looked at, in the order found, that no other beats on both odds and expected minutes.
  std::vector<std::pair<Strategy, Judged>> Front() const;
  const std::string& last_reason() const { return last_reason_; }

 private:
  bool PlainShared(Strategy& strategy);
  bool PlainSizes(Strategy& strategy);
  bool Reroute(Strategy& strategy, const PartId& part);
  struct Option {
    std::size_t decision = 0;
    Change change;
    double cost = 0;
    Strategy strategy = {};
  };
  // One decision: its options are judged side by side, the best of them is taken if it betters the cost.
  // Those that have lost before and would again are left out.
  bool Decide(Strategy& best, double& cost, const Options& options);
  bool PreferFitted(Strategy& best, double& cost, const Options& fits);
  bool ImproveSuit(const SuitPair& pair, Strategy& best, double& cost);
  Options FitsAimedAt(const Strategy& best, const SuitPair& pair, std::span<const double> shares);
  bool AnotherAimMayWin(const SuitPair& pair, const std::optional<Strategy>& fit, double cost);
  // Several decisions, each on the route of one part: what wins in each is taken together, or the best
  // alone where together they are worse.
  bool DecideEach(Strategy& best, double& cost, const std::vector<Options>& decisions);
  std::vector<Option> Weigh(const Strategy& best, double cost, const std::vector<Options>& decisions);
  const Concerns& ConcernsOf(const Strategy& best);
  // Of what the change concerns, where that is much less than the whole; null otherwise.
  Excerpt* ExcerptFor(const Strategy& best, const Concerns& concerns, const Change& change);
  std::vector<Excerpt*> ExcerptsFor(const Strategy& best, const std::vector<Option>& options);
  bool JudgesAlike(const Excerpt& excerpt, const Judged& in_excerpt, const Judged& in_whole) const;
  Result<Judged> JudgeBuilt(const Strategy& strategy) const;
  // What is not known yet, side by side; strategies as the excerpts have them.
  void JudgeInExcerpts(const std::vector<std::pair<Excerpt*, Strategy>>& strategies);
  // What each option costs more than `best`, min; judged in excerpts, those that have none left at minus infinity.
  std::vector<double> WeighInExcerpts(const Strategy& best, const std::vector<Option>& options);
  struct FoundRoutes;
  FoundRoutes& FindRoutesOf(const PartId& part, const Deferred& deferred);
  const std::vector<Route>& RoutesOf(const PartId& part, const Deferred& deferred);
  // Those of them that the pins allow, each held as it is first held.
  const std::vector<Route>& FollowedRoutes(const PartId& part, const Deferred& deferred);
  // Sizes brought to the limits that what was read leaves them: all together, or one alone.
  bool ImproveAims(Strategy& best, double& cost);
  bool ImproveTechniques(Strategy& best, double& cost);
  bool ImproveRoutes(Strategy& best, double& cost, const std::vector<PartId>& parts);
  bool Impose(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched);
  bool ImposeAim(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched);
  bool ImposeTechnique(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched);
  bool KeepsPins(const Route& route, const PartId& part) const;
  bool ImprovePatternsWithRoutes(Strategy& best, double& cost);
  std::optional<Strategy> InDevice(const Strategy& best, const PartId& part, const HoldingDeviceId& device);
  std::optional<Strategy> AllInDevice(const Strategy& best, const HoldingDeviceId& device);
  std::optional<Strategy> WithoutDevice(const Strategy& best, const HoldingDeviceId& device);
  bool ImproveDevices(Strategy& best, double& cost);
  bool ImproveSetups(Strategy& best, double& cost, const std::vector<PartId>& parts);
  struct Shaken {
    Strategy strategy;
    std::set<PartId> parts;
  };
  std::optional<Shaken> Shake(const Strategy& best, std::mt19937_64& random);
  void ImproveAround(Strategy& strategy, double& cost, const std::set<PartId>& parts);
  bool SpentOrStopped() const;
  std::vector<SetupSketch> AllowedVariants(const SetupSketch& sketch, const PieceState& piece) const;
  bool PinAllows(const SetupSketch& sketch, const PieceState& piece) const;
  std::optional<Route> Follow(const PartId& part, const Deferred& deferred, const std::vector<SetupSketch>& hints);

  const Machine& machine_;
  const Shop& shop_;
  const Choices& choices_;
  PlannerOptions options_;
  Subjects subjects_;
  std::int64_t budget_ = 0;
  std::int64_t judged_ = 0;
  std::map<std::string, std::optional<Judged>> memory_;
  Tried tried_;
  std::string concerned_;  // the strategy of concerns_
  Concerns concerns_;
  std::map<std::set<PartId>, Excerpt> excerpts_;
  std::map<Excerpt*, bool> alike_;  // of the excerpts, for the strategy of concerns_
  std::vector<std::pair<Strategy, Judged>> seen_;
  std::string last_reason_;
  CutMemo own_cuts_;
  SetupMemo own_setups_;
  variation::OutcomeMemo own_outcomes_;
  struct FoundRoutes {
    Deferred deferred;
    std::vector<Route> routes;
    std::string why;  // there are none
    std::optional<std::vector<Route>> followed;
  };
  std::map<PartId, std::deque<FoundRoutes>> routes_;
};

std::string KeyOf(const SetupSketch& sketch);
std::string KeyOf(const Strategy& strategy);
// The made face that the setup seats on first.
std::optional<FeatureId> SeatOf(const SetupSketch& sketch, const PieceState& piece);
// `to` is held and zeroed as `from` is.
void CopyHolding(const SetupSketch& from, SetupSketch& to);
// The piece as the setup leaves it.
void ApplySketch(PieceState& piece, const SetupSketch& sketch);

}  // namespace fitwright::planner
