#include "fitwright/planner/advice.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/parallel.h"
#include "fitwright/planner/technique_words.h"
#include "fitwright/planner/underway.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

constexpr double kTellOdds = 0.01;   // a change below a point and ...
constexpr double kTellMinutes = 5;   // ... below five minutes is not worth a sentence
constexpr double kLeastShare = 0.05; // where hardly any build meets everything, a point is one of a hundred of those that do
constexpr double kTellAtAll = 0.2;   // share of either that the quick look must show
constexpr int kMostAdvice = 8;       // sentences; each is a plan worked out

// A decision, what was chosen, and the other way that it is set against.
struct Weighed {
  std::string say;
  Pin pin;
  std::vector<TechniqueOption> alternatives;
  std::optional<Judged> other;  // everything as chosen but this decision ...
  Pin other_pin;                // ... made this way
};

double Told(const Judged& a, const Judged& b) { return std::max(std::abs(a.odds - b.odds) / kTellOdds, std::abs(a.minutes - b.minutes) / kTellMinutes); }

void Deliver(const Weighed& weighed, const Judged& chosen, JointPlan& joint, std::vector<Decision>& decisions) {
  joint.alternatives = weighed.alternatives;
  std::sort(joint.alternatives.begin(), joint.alternatives.end(),
            [](const TechniqueOption& a, const TechniqueOption& b) { return a.odds > b.odds; });
  if (!weighed.other) return;
  const double odds = chosen.odds - weighed.other->odds;
  const double minutes = chosen.minutes - weighed.other->minutes;
  const bool counts = std::abs(odds) >= 0.005 || std::abs(minutes) >= 0.5;
  if (counts) joint.reason = fmt::format("{:+.0f} in 100 and {:+.0f} min against {}", 100 * odds, minutes, Words(weighed.other_pin.value));
  decisions.push_back({weighed.say, weighed.pin, weighed.other_pin, Told(chosen, *weighed.other)});
}

// What the other ways of one decision come to. The chosen one is set against the plain way, or where it is the
// plain way itself against the surest of the others.
class Others {
 public:
  void Add(Technique technique, int first, bool plain, const std::optional<Strategy>& strategy) {
    if (!strategy) return;
    ways_.push_back({technique, first, plain});
    strategies_.push_back(*strategy);
  }
  const std::vector<Strategy>& strategies() const { return strategies_; }
  void Weigh(const std::vector<std::optional<Judged>>& judged, Weighed& weighed) const {
    bool against_plain = false;
    for (std::size_t i = 0; i < ways_.size(); ++i) {
      const Way& way = ways_[i];
      if (!judged[i]) continue;
      weighed.alternatives.push_back({way.technique, way.first, judged[i]->odds, judged[i]->minutes});
      const bool surer = !weighed.other || judged[i]->odds > weighed.other->odds;
      if (against_plain || (!way.plain && !surer)) continue;
      against_plain = way.plain;
      weighed.other = judged[i];
      weighed.other_pin = {PinKind::kTechnique, weighed.pin.subject, std::string(WordOf(way.technique)), way.first};
    }
  }

 private:
  struct Way {
    Technique technique;
    int first;
    bool plain;
  };
  std::vector<Way> ways_;
  std::vector<Strategy> strategies_;
};

// The decisions of one search, weighed one after the other. What they are set against is gathered first and judged
// side by side.
class Weigher {
 public:
  Weigher(Search& search, const Strategy& plain, const Strategy& chosen, const Judged& judged, Plan& plan)
      : search_(search), plain_(plain), chosen_(chosen), judged_(judged), plan_(plan) {}

  void WeighAll(const Machine& machine) {
    for (const bool gathering : {true, false}) {
      gathering_ = gathering;
      WeighPatterns();
      WeighShared();
      WeighFlush();
      WeighSuits();
      WeighSetups(machine);
      if (gathering) search_.LookAtAll(gathered_);
    }
  }
  std::vector<Decision> Take() { return std::move(decisions_); }

 private:
  // Nothing is known of them while they are gathered.
  std::vector<std::optional<Judged>> LookAt(const std::vector<Strategy>& strategies) {
    if (!gathering_) return search_.LookAtAll(strategies);
    gathered_.insert(gathered_.end(), strategies.begin(), strategies.end());
    return std::vector<std::optional<Judged>>(strategies.size());
  }

  void WeighPatterns() {
    for (const PatternJoint& pattern : search_.subjects().patterns) {
      const PatternChoice choice = chosen_.patterns.at(pattern.joint);
      Weighed weighed = Start(SaySpotting(pattern, choice), pattern.joint.text(), choice.technique, choice.first);
      Others others;
      for (const PatternChoice& option : search_.PatternWays(pattern)) {
        if (option == choice) continue;
        others.Add(option.technique, option.first, option == plain_.patterns.at(pattern.joint),
                   search_.WithPattern(chosen_, pattern.joint, option));
      }
      Finish(others, weighed);
    }
  }

  void WeighShared() {
    for (const SharedHoles& pair : search_.subjects().shared) {
      const Technique choice = chosen_.shared.at(pair.subject);
      Weighed weighed = Start(SayShared(pair, choice), pair.subject, choice, 0);
      Others others;
      for (const Technique option : search_.SharedOptions(pair)) {
        if (option == choice) continue;
        others.Add(option, 0, option == plain_.shared.at(pair.subject), search_.WithShared(chosen_, pair.subject, option));
      }
      Finish(others, weighed);
    }
  }

  void WeighFlush() {
    for (const FlushPair& pair : search_.subjects().flush) {
      const Technique choice = chosen_.flush.at(pair.requirement);
      Weighed weighed = Start(SayFlush(pair, choice), pair.requirement.text(), choice, 0);
      Others others;
      for (const Technique option : {Technique::kByCoordinates, Technique::kMachineTogether}) {
        if (option == choice) continue;
        others.Add(option, 0, option == plain_.flush.at(pair.requirement), search_.WithFlush(chosen_, pair.requirement, option));
      }
      Finish(others, weighed);
    }
  }

  void WeighSuits() {
    for (const SuitPair& pair : search_.subjects().suits) {
      const Technique choice = chosen_.suits.at(pair.requirement);
      Weighed weighed = Start(SaySuit(pair, choice), pair.requirement.text(), choice, 0);
      Others others;
      for (const Technique option : {Technique::kByCoordinates, Technique::kBringToSize, Technique::kFitToMeasured}) {
        if (option == choice) continue;
        others.Add(option, 0, option == plain_.suits.at(pair.requirement), search_.WithSuit(chosen_, pair.requirement, option));
      }
      Finish(others, weighed);
    }
  }

  // Where a setup takes its zero, and the face it seats on: each named by the side that is up, so only sides
  // that come up once are asked about.
  void WeighSetups(const Machine& machine) {
    for (const auto& [part, route] : chosen_.routes) {
      PieceState piece = RawPiece(*machine.FindPart(part));
      for (const SetupSketch& sketch : route.setups) {
        const auto same_side = [&](const SetupSketch& s) { return (s.up_P - sketch.up_P).norm() < 1e-9; };
        if (std::count_if(route.setups.begin(), route.setups.end(), same_side) == 1) WeighSetup(sketch, piece);
        ApplySketch(piece, sketch);
      }
    }
  }

  static Weighed Start(const std::string& say, const std::string& subject, Technique technique, int first) {
    Weighed weighed;
    weighed.say = say;
    weighed.pin = {PinKind::kTechnique, subject, std::string(WordOf(technique)), first};
    return weighed;
  }

  void Finish(const Others& others, Weighed& weighed) {
    others.Weigh(LookAt(others.strategies()), weighed);
    if (gathering_) return;
    for (JointPlan& joint : plan_.joints) {
      if (joint.name == weighed.pin.subject) Deliver(weighed, judged_, joint, decisions_);
    }
  }

  void WeighSetup(const SetupSketch& sketch, const PieceState& piece) {
    const std::string side = SideOf(sketch);
    if (side.empty()) return;
    std::vector<Strategy> strategies;
    std::vector<std::pair<Pin, Pin>> pins;
    for (const SetupSketch& variant : search_.Others(sketch, piece)) {
      const auto told = PinsThatTellApart(sketch, variant, piece, side);
      if (!told) continue;
      strategies.push_back(chosen_);
      for (SetupSketch& s : strategies.back().routes.at(sketch.part).setups) {
        if (s.up_P == sketch.up_P) CopyHolding(variant, s);
      }
      pins.push_back(*told);
    }
    const auto judged = LookAt(strategies);
    std::map<PinKind, std::size_t> surest;  // of the other ways, one for each kind of pin
    for (std::size_t i = 0; i < judged.size(); ++i) {
      if (!judged[i]) continue;
      const auto [at, is_new] = surest.emplace(pins[i].second.kind, i);
      if (!is_new && judged[i]->odds > judged[at->second]->odds) at->second = i;
    }
    for (const auto& [kind, i] : surest) {
      decisions_.push_back({SaySetup(sketch, pins[i].first), pins[i].first, pins[i].second, Told(judged_, *judged[i])});
    }
  }

  static std::string SideOf(const SetupSketch& sketch) {
    for (int axis = 0; axis < 3; ++axis) {
      for (const double sign : {1.0, -1.0}) {
        if (sketch.up_P[axis] * sign > 1 - 1e-9) return fmt::format("{}.{}{}", sketch.part.text(), sign > 0 ? "+" : "-", "xyz"[axis]);
      }
    }
    return "";
  }

  static std::optional<std::pair<Pin, Pin>> PinsThatTellApart(const SetupSketch& now, const SetupSketch& other, const PieceState& piece,
                                                              const std::string& side) {
    const auto zero = [](const SetupSketch& s) { return s.zero == ZeroFrom::kBore ? "bore" : "edges"; };
    if (std::string(zero(now)) != zero(other)) return std::pair(Pin{PinKind::kZero, side, zero(now), 0}, Pin{PinKind::kZero, side, zero(other), 0});
    const auto now_on = SeatOf(now, piece);
    const auto other_on = SeatOf(other, piece);
    if (!now_on || !other_on || *now_on == *other_on) return std::nullopt;
    return std::pair(Pin{PinKind::kFirstFace, side, now_on->text(), 0}, Pin{PinKind::kFirstFace, side, other_on->text(), 0});
  }

  static std::string SaySetup(const SetupSketch& sketch, const Pin& pin) {
    const std::string cuts = sketch.cuts.empty() ? "that side" : Words(sketch.cuts.front().text());
    const std::string part = Words(sketch.part.text());
    if (pin.kind == PinKind::kFirstFace) return fmt::format("Where the {}'s {} is cut, seat it on its {} first.", part, cuts, Words(pin.value));
    return fmt::format("Where the {}'s {} is cut, take zero from its {}.", part, cuts, pin.value == "bore" ? "bore" : "edges");
  }

  Search& search_;
  const Strategy& plain_;
  const Strategy& chosen_;
  const Judged& judged_;
  Plan& plan_;
  std::vector<Decision> decisions_;
  bool gathering_ = false;
  std::vector<Strategy> gathered_;
};

// The odds of a plan that is only set beside another.
variation::OddsOptions OddsOnly(const PlannerOptions& options) {
  variation::OddsOptions wanted;
  wanted.builds = options.final_builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.work.cancel;
  wanted.shop_band = false;
  wanted.causes = false;
  wanted.values = false;
  wanted.seldom = false;
  return wanted;
}

// The odds of the strategy's plan as those of the plan that is told of; by what was read where work was begun, and the
// plan then as it would be followed.
Result<double> CountOdds(const AdviceInput& in, const PlannerOptions& options, Plan& plan) {
  if (const Underway* underway = options.underway; underway != nullptr) {
    if (const Status kept = KeepDone(*underway, plan); !kept) return Unexpected(kept.error());
    const auto counted = underway->count(plan, FindStaying(*underway->followed, underway->begun));
    if (!counted) return Unexpected(counted.error());
    return counted->odds;
  }
  const Result<Odds> odds = variation::CalcOdds(*in.machine, *in.shop, plan, OddsOnly(options), options.outcomes);
  if (!odds) return Unexpected(odds.error());
  return odds->all.odds;
}

// What the plan comes to with one decision made the other way, worked out as `plan` would with that pin.
struct Alternative {
  double odds = 0;
  double minutes = 0;
};
// Nothing when it cannot be made so, or is made so already.
Result<std::optional<Alternative>> WithPin(const AdviceInput& in, const Pin& pin) {
  Choices choices = *in.choices;
  choices.pins.push_back(pin);
  PlannerOptions options = in.options;
  options.work.progress = {};
  Search search(*in.machine, *in.shop, choices, options);
  const auto strategy = search.Honour(*in.free, *in.tried);
  if (!strategy || KeyOf(*strategy) == KeyOf(*in.chosen)) return std::optional<Alternative>();
  Result<Plan> plan = BuildMeasuredPlan(*in.machine, *in.shop, search.subjects(), *strategy, choices, options.cuts);
  if (!plan) return Unexpected(plan.error());
  const Result<double> odds = CountOdds(in, options, *plan);
  if (!odds) return Unexpected(odds.error());
  return std::optional<Alternative>({*odds, plan->hours_cutting * 60});
}

std::optional<Advice> Compare(const AdviceInput& in, const Decision& decision, const Alternative& other, const Plan& plan) {
  constexpr double kIn95 = 1.96;
  Advice advice;
  advice.say = decision.say;
  advice.pins = {decision.pin};
  advice.other = {decision.other};
  advice.odds_before = other.odds;
  advice.odds_after = plan.odds.all.odds;
  advice.minutes_delta = plan.hours_cutting * 60 - other.minutes;
  // Both counts as if drawn by themselves: wider than it is, as they share their builds.
  const auto variance = [&](double p) { return p * (1 - p) / static_cast<double>(in.options.final_builds); };
  const double gain = advice.odds_after - advice.odds_before;
  const double half = kIn95 * std::sqrt(variance(advice.odds_before) + variance(advice.odds_after));
  advice.gain_low = gain - half;
  advice.gain_high = gain + half;
  const bool sure = advice.gain_low > 0 || advice.gain_high < 0;
  const bool counts = sure && std::abs(gain) >= kTellOdds * std::max(kLeastShare, plan.odds.all.odds);
  if (!counts && std::abs(advice.minutes_delta) < kTellMinutes) return std::nullopt;
  return advice;
}

}  // namespace

std::vector<Pin> PinsOf(const Strategy& strategy, const Strategy& from) {
  std::vector<Pin> pins;
  for (const auto& [joint, choice] : strategy.patterns) {
    if (from.patterns.at(joint) == choice) continue;
    pins.push_back({PinKind::kTechnique, joint.text(), std::string(WordOf(choice.technique)), choice.first});
  }
  for (const auto& [subject, technique] : strategy.shared) {
    if (from.shared.at(subject) != technique) pins.push_back({PinKind::kTechnique, subject, std::string(WordOf(technique)), 0});
  }
  for (const auto& [id, technique] : strategy.flush) {
    if (from.flush.at(id) != technique) pins.push_back({PinKind::kTechnique, id.text(), std::string(WordOf(technique)), 0});
  }
  for (const auto& [id, technique] : strategy.suits) {
    if (from.suits.at(id) != technique) pins.push_back({PinKind::kTechnique, id.text(), std::string(WordOf(technique)), 0});
  }
  return pins;
}

std::vector<Decision> WeighDecisions(const Machine& machine, Search& search, const Strategy& plain, const Strategy& chosen, Plan& plan) {
  const auto judged = search.Look(chosen);
  if (!judged) return {};
  Weigher weigher(search, plain, chosen, *judged, plan);
  weigher.WeighAll(machine);
  // The search leaves out what is measured whichever way is chosen; what is printed counts it.
  const double measuring_min = plan.hours_cutting * 60 - judged->minutes;
  for (JointPlan& joint : plan.joints) {
    for (TechniqueOption& option : joint.alternatives) option.time_min += measuring_min;
  }
  return weigher.Take();
}

Status TellAdvice(const AdviceInput& in, std::vector<Decision> decisions, Plan& plan) {
  std::stable_sort(decisions.begin(), decisions.end(), [](const Decision& a, const Decision& b) { return a.told > b.told; });
  if (std::ssize(decisions) > kMostAdvice) decisions.resize(kMostAdvice);
  std::erase_if(decisions, [](const Decision& d) { return d.told < kTellAtAll; });
  AdviceInput each = in;
  if (in.options.threads > 0) each.options.threads = 1;
  std::vector<Result<std::optional<Alternative>>> others(decisions.size(), std::optional<Alternative>());
  ParallelFor(decisions.size(), in.options.threads, [&](std::size_t i) { others[i] = WithPin(each, decisions[i].other); });
  for (std::size_t i = 0; i < decisions.size(); ++i) {
    if (!others[i]) return Unexpected(others[i].error());
    const auto advice = *others[i] ? Compare(in, decisions[i], **others[i], plan) : std::nullopt;
    if (advice) plan.advice.push_back(*advice);
  }
  std::stable_sort(plan.advice.begin(), plan.advice.end(), [](const Advice& a, const Advice& b) {
    return a.odds_after - a.odds_before > b.odds_after - b.odds_before;
  });
  return Ok{};
}

namespace {

std::string TradeName(const Judged& chosen, const Judged& other) {
  const bool surer = other.odds > chosen.odds;
  const bool quicker = other.expected_min < chosen.expected_min;
  if (surer && quicker) return "surer and quicker";
  return surer ? "surer, longer" : "quicker, less sure";
}

// Expected hours of `other`, judged so, as plan.hours_expected counts them: with what is done.
Result<double> CountHours(const AdviceInput& in, const Judged& judged, const Judged& own, const Plan& plan, const Plan& other) {
  if (in.options.underway != nullptr) return plan.hours_expected + (judged.expected_min - own.expected_min) / 60;
  const Result<Judged> expected = Judge(*in.machine, *in.shop, other, in.options);
  if (!expected) return Unexpected(expected.error());
  return expected->expected_min / 60;
}

}  // namespace

Status AddChoices(const AdviceInput& in, Search& search, const Strategy& plain, Plan& plan) {
  constexpr double kAlikeOdds = 0.01;
  constexpr double kAlikeTime = 0.02;
  const std::optional<Judged> own = search.Look(*in.chosen);
  plan.choices = {{"this plan", plan.odds.all.odds, plan.hours_expected, PinsOf(*in.chosen, plain)}};
  if (!own) return Ok{};
  std::vector<Judged> taken = {*own};
  for (const auto& candidate : search.Front()) {
    const Strategy& strategy = candidate.first;
    const Judged& judged = candidate.second;  // clang keeps names of a binding out of lambdas
    const std::vector<Pin> pins = PinsOf(strategy, plain);
    const bool alike = std::any_of(taken.begin(), taken.end(), [&](const Judged& have) {
      return std::abs(have.odds - judged.odds) < kAlikeOdds &&
             std::abs(have.expected_min - judged.expected_min) < kAlikeTime * judged.expected_min;
    });
    // What choices.toml cannot tell apart is no choice.
    const bool same = std::any_of(plan.choices.begin(), plan.choices.end(), [&](const PlanChoice& c) { return c.pins == pins; });
    if (alike || same) continue;
    Result<Plan> other = BuildMeasuredPlan(*in.machine, *in.shop, search.subjects(), strategy, *in.choices, in.options.cuts);
    if (!other) continue;
    const Result<double> odds = CountOdds(in, in.options, *other);
    if (!odds) return Unexpected(odds.error());
    const Result<double> expected = CountHours(in, judged, *own, plan, *other);
    if (!expected) return Unexpected(expected.error());
    taken.push_back(judged);
    plan.choices.push_back({TradeName(*own, judged), *odds, *expected, pins});
  }
  return Ok{};
}

Status FillOdds(const Machine& machine, const Shop& shop, const PlannerOptions& options, Plan& plan, bool causes) {
  variation::OddsOptions wanted = OddsOnly(options);
  wanted.shop_band = wanted.causes = causes;
  Result<Odds> odds = variation::CalcOdds(machine, shop, plan, wanted, options.outcomes);
  if (!odds) return Unexpected(odds.error());
  plan.odds = std::move(*odds);
  plan.seed = options.seed;
  const Result<Judged> judged = Judge(machine, shop, plan, options);
  if (!judged) return Unexpected(judged.error());
  plan.hours_expected = judged->expected_min / 60;
  return Ok{};
}

}  // namespace fitwright::planner
