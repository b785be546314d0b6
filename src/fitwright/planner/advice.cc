#include "fitwright/planner/advice.h"

#include <algorithm>
#include <cmath>

namespace fitwright::planner {
namespace {

constexpr double kTellOdds = 0.01;   // a change below a point and ...
constexpr double kTellMinutes = 5;   // ... below five minutes is not worth a sentence

std::string NumberWord(int n) {
  static constexpr std::array<const char*, 13> kWords = {"no", "one", "two", "three", "four", "five", "six",
                                                         "seven", "eight", "nine", "ten", "eleven", "twelve"};
  return n < 13 ? kWords[static_cast<std::size_t>(n)] : std::to_string(n);
}

std::string Words(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string SaySpotting(const PatternJoint& pattern, const PatternChoice& choice) {
  const std::string holes = fmt::format("the {}'s {} holes ({})", Words(pattern.tapped.part.text()), NumberWord(pattern.count),
                                        Words(pattern.tapped.feature.text()));
  if (choice.technique == Technique::kByCoordinates) return fmt::format("Drill {} by coordinates on both parts.", holes);
  const std::string how = choice.first == 0 ? "clamped in place" : fmt::format("{} screwed down first", NumberWord(choice.first));
  return fmt::format("Spot {} through the {}, {}.", holes, Words(pattern.clearance.part.text()), how);
}

std::string SayFlush(const FlushPair& pair, Technique technique) {
  const std::string face = Words(pair.face.part.text()) + " " + Words(pair.face.feature.text());
  if (technique == Technique::kMachineTogether) {
    return fmt::format("Screw the {} on before its {} is finished, and cut it with the {}'s {} in one go.", Words(pair.face.part.text()),
                       Words(pair.face.feature.text()), Words(pair.main_face.part.text()), Words(pair.main_face.feature.text()));
  }
  return fmt::format("Finish the {} by itself.", face);
}

std::string SaySuit(const SuitPair& pair, Technique technique) {
  const std::string shaft = fmt::format("the {}'s {}", Words(pair.shaft.part.text()), Words(pair.shaft.feature.text()));
  const std::string bore = fmt::format("the {}'s {}", Words(pair.bore.part.text()), Words(pair.bore.feature.text()));
  switch (technique) {
    case Technique::kFitToMeasured:
      if (pair.faces) return fmt::format("Measure {} first, then face {} to suit.", bore, shaft);
      return fmt::format("Make {} first, measure it, and turn {} to suit.", bore, shaft);
    case Technique::kBringToSize:
      return fmt::format("Bring {} to its own limits by measuring.", shaft);
    default:
      if (pair.faces) return fmt::format("Face {} to its drawn height.", shaft);
      return fmt::format("Turn {} in one cut to the middle of its limits.", shaft);
  }
}

TechniqueOption OptionOf(Technique technique, int first, const Judged& judged) {
  return {technique, first, judged.odds, judged.minutes};
}

// A decision and what was looked at for it.
struct Weighed {
  std::string say;
  std::vector<Pin> pins;
  std::optional<Judged> plain;  // everything as chosen but this decision as in the plain plan
  std::vector<TechniqueOption> alternatives;
};

void Deliver(const Weighed& weighed, const Judged& chosen, JointPlan& joint, Plan& plan) {
  joint.alternatives = weighed.alternatives;
  std::sort(joint.alternatives.begin(), joint.alternatives.end(),
            [](const TechniqueOption& a, const TechniqueOption& b) { return a.odds > b.odds; });
  if (!weighed.plain) return;
  const double odds = chosen.odds - weighed.plain->odds;
  const double minutes = chosen.minutes - weighed.plain->minutes;
  const bool counts = std::abs(odds) >= 0.005 || std::abs(minutes) >= 0.5;
  if (counts) joint.reason = fmt::format("{:+.0f} in 100 and {:+.0f} min against the plain way", 100 * odds, minutes);
  if (std::abs(odds) < kTellOdds && std::abs(minutes) < kTellMinutes) return;
  plan.advice.push_back({weighed.say, weighed.pins, weighed.plain->odds, chosen.odds, minutes});
}

// What the other ways of one decision come to.
class Others {
 public:
  explicit Others(Search& search) : search_(search) {}
  void Add(Technique technique, int first, bool plain, const std::optional<Strategy>& strategy) {
    if (!strategy) return;
    ways_.push_back({technique, first, plain});
    strategies_.push_back(*strategy);
  }
  void Weigh(Weighed& weighed) const {
    const auto judged = search_.LookAtAll(strategies_);
    for (std::size_t i = 0; i < ways_.size(); ++i) {
      if (!judged[i]) continue;
      weighed.alternatives.push_back(OptionOf(ways_[i].technique, ways_[i].first, *judged[i]));
      if (ways_[i].plain) weighed.plain = judged[i];
    }
  }

 private:
  struct Way {
    Technique technique;
    int first;
    bool plain;
  };
  Search& search_;
  std::vector<Way> ways_;
  std::vector<Strategy> strategies_;
};

void WeighPatterns(Search& search, const Strategy& plain, const Strategy& chosen, const Judged& judged, Plan& plan) {
  for (const PatternJoint& pattern : search.subjects().patterns) {
    const PatternChoice choice = chosen.patterns.at(pattern.joint);
    Weighed weighed;
    weighed.say = SaySpotting(pattern, choice);
    weighed.pins = {{PinKind::kTechnique, pattern.joint.text(), std::string(WordOf(choice.technique)), choice.first}};
    Others others(search);
    for (const PatternChoice& option : search.PatternOptions(pattern)) {
      if (option == choice) continue;
      others.Add(option.technique, option.first, option == plain.patterns.at(pattern.joint),
                 search.WithPattern(chosen, pattern.joint, option));
    }
    others.Weigh(weighed);
    for (JointPlan& joint : plan.joints) {
      if (joint.name == pattern.joint.text()) Deliver(weighed, judged, joint, plan);
    }
  }
}

void WeighFlush(Search& search, const Strategy& plain, const Strategy& chosen, const Judged& judged, Plan& plan) {
  for (const FlushPair& pair : search.subjects().flush) {
    const Technique choice = chosen.flush.at(pair.requirement);
    Weighed weighed;
    weighed.say = SayFlush(pair, choice);
    weighed.pins = {{PinKind::kTechnique, pair.requirement.text(), std::string(WordOf(choice)), 0}};
    Others others(search);
    for (const Technique option : {Technique::kByCoordinates, Technique::kMachineTogether}) {
      if (option == choice) continue;
      others.Add(option, 0, option == plain.flush.at(pair.requirement), search.WithFlush(chosen, pair.requirement, option));
    }
    others.Weigh(weighed);
    for (JointPlan& joint : plan.joints) {
      if (joint.name == pair.requirement.text()) Deliver(weighed, judged, joint, plan);
    }
  }
}

void WeighSuits(Search& search, const Strategy& plain, const Strategy& chosen, const Judged& judged, Plan& plan) {
  for (const SuitPair& pair : search.subjects().suits) {
    const Technique choice = chosen.suits.at(pair.requirement);
    Weighed weighed;
    weighed.say = SaySuit(pair, choice);
    weighed.pins = {{PinKind::kTechnique, pair.requirement.text(), std::string(WordOf(choice)), 0}};
    Others others(search);
    for (const Technique option : {Technique::kByCoordinates, Technique::kBringToSize, Technique::kFitToMeasured}) {
      if (option == choice) continue;
      others.Add(option, 0, option == plain.suits.at(pair.requirement), search.WithSuit(chosen, pair.requirement, option));
    }
    others.Weigh(weighed);
    for (JointPlan& joint : plan.joints) {
      if (joint.name == pair.requirement.text()) Deliver(weighed, judged, joint, plan);
    }
  }
}

// Setups of a part that sit otherwise than the first guess: what the better datum is worth.
void WeighRoutes(const Machine& machine, Search& search, const Strategy& plain, const Strategy& chosen, const Judged& judged,
                 Plan& plan) {
  for (const PartUse& use : machine.uses) {
    Strategy other = chosen;
    const auto chosen_route = chosen.routes.find(use.part);
    const auto plain_route = plain.routes.find(use.part);
    if (chosen_route == chosen.routes.end() || plain_route == plain.routes.end()) continue;
    if (chosen_route->second.setups.size() != plain_route->second.setups.size()) continue;
    other.routes[use.part] = plain_route->second;
    if (KeyOf(other) == KeyOf(chosen)) continue;
    const auto looked = search.Look(other);
    if (!looked) continue;
    const double odds = judged.odds - looked->odds;
    if (odds < kTellOdds) continue;
    Advice advice;
    advice.odds_before = looked->odds;
    advice.odds_after = judged.odds;
    advice.minutes_delta = judged.minutes - looked->minutes;
    std::string sides;
    for (const SetupSketch& sketch : chosen_route->second.setups) {
      if (!sides.empty()) sides += ", then ";
      sides += sketch.cuts.empty() ? "parting off" : Words(sketch.cuts.front().text());
    }
    advice.say = fmt::format("Make the {} in this order and on these faces: {}; each setup says what it sits on.", Words(use.part.text()), sides);
    plan.advice.push_back(advice);
  }
}

}  // namespace

std::vector<Pin> PinsOf(const Strategy& strategy, const Strategy& from) {
  std::vector<Pin> pins;
  for (const auto& [joint, choice] : strategy.patterns) {
    if (from.patterns.at(joint) == choice) continue;
    pins.push_back({PinKind::kTechnique, joint.text(), std::string(WordOf(choice.technique)), choice.first});
  }
  for (const auto& [id, technique] : strategy.flush) {
    if (from.flush.at(id) != technique) pins.push_back({PinKind::kTechnique, id.text(), std::string(WordOf(technique)), 0});
  }
  for (const auto& [id, technique] : strategy.suits) {
    if (from.suits.at(id) != technique) pins.push_back({PinKind::kTechnique, id.text(), std::string(WordOf(technique)), 0});
  }
  return pins;
}

void AddAdvice(const Machine& machine, Search& search, const Strategy& plain, const Strategy& chosen, Plan& plan) {
  const auto judged = search.Look(chosen);
  if (!judged) return;
  WeighPatterns(search, plain, chosen, *judged, plan);
  WeighFlush(search, plain, chosen, *judged, plan);
  WeighSuits(search, plain, chosen, *judged, plan);
  WeighRoutes(machine, search, plain, chosen, *judged, plan);
  std::stable_sort(plan.advice.begin(), plan.advice.end(), [](const Advice& a, const Advice& b) {
    return a.odds_after - a.odds_before > b.odds_after - b.odds_before;
  });
}

void AddChoices(const Search& search, const Strategy& plain, const Strategy& chosen, Plan& plan) {
  constexpr double kAlikeOdds = 0.01;
  constexpr double kAlikeTime = 0.02;
  const auto add = [&](const std::string& name, const Strategy& strategy, const Judged& judged) {
    const std::vector<Pin> pins = PinsOf(strategy, plain);
    for (const PlanChoice& have : plan.choices) {
      const bool alike = std::abs(have.odds - judged.odds) < kAlikeOdds &&
                         std::abs(have.hours_expected * 60 - judged.expected_min) < kAlikeTime * judged.expected_min;
      // What choices.toml cannot tell apart is no choice.
      if (alike || have.pins == pins) return;
    }
    plan.choices.push_back({name, judged.odds, judged.expected_min / 60, pins});
  };
  for (const auto& [strategy, judged] : search.Front()) {
    const bool is_chosen = KeyOf(strategy) == KeyOf(chosen);
    add(is_chosen ? "this plan" : plan.choices.empty() ? "least expected time" : "surer", strategy, judged);
  }
}

}  // namespace fitwright::planner
