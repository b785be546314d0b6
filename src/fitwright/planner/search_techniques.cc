// How joints are made, faces are cut together and sizes are suited: the ways there are, and the best of them.
#include <algorithm>
#include <array>
#include <span>

#include "fitwright/planner/pins.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/underway.h"

namespace fitwright::planner {
namespace {

constexpr std::array kFlushWays = {Technique::kByCoordinates, Technique::kMachineTogether};
constexpr double kWorthAFit_min = 5;  // a shaft turned to its bore as it came out may take so much longer (opinion)
// Of the clearance asked for, aimed at when fitting, the middle first: near the tight end what is not enough is cut again.
constexpr std::array kAimShares = {0.5, 0.35, 0.2, 0.65, 0.8};

// A shaft and a bore that both come within their own limits go together as is asked for. Where they need not, the
// sheet's limits pass pairs that do not fit, and the size taken from the bore does not.
bool LimitsAssure(const Machine& machine, const SuitPair& pair) {
  const Feature* shaft = machine.Find(pair.shaft);
  const Feature* bore = pair.faces || pair.closes ? nullptr : machine.Find(pair.bore);
  const auto* outer = shaft == nullptr ? nullptr : std::get_if<OuterDiameter>(&shaft->shape);
  const auto* hole = bore == nullptr ? nullptr : std::get_if<Hole>(&bore->shape);
  if (outer == nullptr || hole == nullptr) return true;
  return hole->diameter.lower_mm - outer->diameter.upper_mm > pair.lower_mm - 1e-9 &&
         hole->diameter.upper_mm - outer->diameter.lower_mm < pair.upper_mm + 1e-9;
}

bool HasBench(const Shop& shop) {
  return std::any_of(shop.machines.begin(), shop.machines.end(), [](const MachineTool& tool) { return tool.kind == MachineToolKind::kBench; });
}

}  // namespace

std::vector<PatternChoice> Search::PatternWays(const PatternJoint& pattern) const {
  std::vector<PatternChoice> options = {{Technique::kByCoordinates, 0}, {Technique::kSpotThrough, 0}};
  if (pattern.count >= 2) options.push_back({Technique::kSpotThrough, 1});
  if (pattern.count >= 4) options.push_back({Technique::kSpotThrough, 2});
  options.push_back({Technique::kTransferPunch, 0});
  options.push_back({Technique::kTransferScrews, 0});
  // Alike pieces are cut one after the other by figures: a copy has no piece of its own to take holes from.
  const auto is_copy = [](const FeatureRef& ref) { return SheetIdOf(ref.part) != ref.part; };
  if (is_copy(pattern.tapped) || is_copy(pattern.clearance)) options.resize(1);
  for (const Pin& pin : choices_.pins) {
    if (pin.kind != PinKind::kTechnique || pin.subject != pattern.joint.text()) continue;
    std::vector<PatternChoice> pinned;
    for (const PatternChoice& option : options) {
      const bool first_fits = WordOf(option.technique) != pin.value || option.technique != Technique::kSpotThrough || pin.first == option.first;
      if (Agrees(pin, WordOf(option.technique)) && first_fits) pinned.push_back(option);
    }
    options = pinned;
  }
  return options;
}

// Marks come less true than a spotting drill and take longer: looked at where nothing can be spotted, or
// where pinned.
std::vector<PatternChoice> Search::PatternOptions(const PatternJoint& pattern) const {
  std::vector<PatternChoice> options = PatternWays(pattern);
  const auto is_marked = [](const PatternChoice& c) {
    return c.technique == Technique::kTransferPunch || c.technique == Technique::kTransferScrews;
  };
  if (!std::all_of(options.begin(), options.end(), is_marked)) std::erase_if(options, is_marked);
  return options;
}

std::optional<Strategy> Search::WithPattern(const Strategy& strategy, const JointId& joint, PatternChoice choice) {
  for (const PatternJoint& pattern : subjects_.patterns) {
    if (pattern.joint != joint) continue;
    const auto options = PatternWays(pattern);
    if (std::find(options.begin(), options.end(), choice) == options.end()) return std::nullopt;
    Strategy changed = strategy;
    const bool from_threads = choice.technique == Technique::kTransferScrews || strategy.patterns.at(joint).technique == Technique::kTransferScrews;
    changed.patterns[joint] = choice;
    if (!Reroute(changed, pattern.tapped.part)) return std::nullopt;
    if (from_threads && !Reroute(changed, pattern.clearance.part)) return std::nullopt;
    return changed;
  }
  return std::nullopt;
}

std::vector<Technique> Search::SharedOptions(const SharedHoles& pair) const {
  std::vector<Technique> options = {Technique::kByCoordinates, pair.together};
  for (const Pin& pin : choices_.pins) {
    if (pin.kind != PinKind::kTechnique || pin.subject != pair.subject) continue;
    std::erase_if(options, [&](Technique t) { return !Agrees(pin, WordOf(t)); });
  }
  return options;
}

std::optional<Strategy> Search::WithShared(const Strategy& strategy, const std::string& subject, Technique technique) {
  for (const SharedHoles& pair : subjects_.shared) {
    if (pair.subject != subject) continue;
    const auto options = SharedOptions(pair);
    if (std::find(options.begin(), options.end(), technique) == options.end()) return std::nullopt;
    Strategy changed = strategy;
    changed.shared[subject] = technique;
    if (!Reroute(changed, pair.fixed.part) || !Reroute(changed, pair.moving.part)) return std::nullopt;
    return changed;
  }
  return std::nullopt;
}

// The first way of each pair of shared holes that leaves both its parts a route.
bool Search::PlainShared(Strategy& strategy) {
  for (const SharedHoles& pair : subjects_.shared) {
    const auto options = SharedOptions(pair);
    const auto works = [&](Technique technique) {
      strategy.shared[pair.subject] = technique;
      return !RoutesOf(pair.fixed.part, DeferredOf(machine_, subjects_, strategy, pair.fixed.part)).empty() &&
             !RoutesOf(pair.moving.part, DeferredOf(machine_, subjects_, strategy, pair.moving.part)).empty();
    };
    if (std::none_of(options.begin(), options.end(), works)) {
      if (options.empty()) last_reason_ = fmt::format("the pinned technique is not one for {}", pair.subject);
      return false;
    }
  }
  return true;
}

std::optional<Strategy> Search::WithFlush(const Strategy& strategy, const RequirementId& requirement, Technique technique) {
  for (const Pin& pin : choices_.pins) {
    if (pin.kind == PinKind::kTechnique && pin.subject == requirement.text() && !Agrees(pin, WordOf(technique))) return std::nullopt;
  }
  for (const FlushPair& pair : subjects_.flush) {
    if (pair.requirement != requirement) continue;
    Strategy changed = strategy;
    changed.flush[requirement] = technique;
    if (!Reroute(changed, pair.face.part) || !Reroute(changed, pair.main_face.part)) return std::nullopt;
    return changed;
  }
  return std::nullopt;
}

std::optional<Strategy> Search::WithSuit(const Strategy& strategy, const RequirementId& requirement, Technique technique) {
  for (const SuitPair& pair : subjects_.suits) {
    if (pair.requirement != requirement) continue;
    if (pair.faces && technique == Technique::kBringToSize) return std::nullopt;
    if (pair.closes && technique == Technique::kFitToMeasured && !HasBench(shop_)) return std::nullopt;
    const auto allowed = [&](const Pin& pin) { return AllowsSuit(pin, pair, technique); };
    if (!std::all_of(choices_.pins.begin(), choices_.pins.end(), allowed)) return std::nullopt;
    Strategy changed = strategy;
    changed.suits[requirement] = technique;
    const auto own = changed.own_aims.find(pair.shaft);
    if (technique != Technique::kBringToSize && own != changed.own_aims.end() && own->second.window) changed.own_aims.erase(own);
    if (pair.closes && !Reroute(changed, pair.shaft.part)) return std::nullopt;
    return changed;
  }
  return std::nullopt;
}

// The first way of each flush pair and each fit that the pins leave.
bool Search::PlainSizes(Strategy& strategy) {
  constexpr std::array kBrought = {Technique::kBringToSize, Technique::kByCoordinates, Technique::kFitToMeasured};
  const auto taken = [&](const RequirementId& requirement, std::map<RequirementId, Technique>& ways, const auto& options, const auto& allowed) {
    const auto way = std::find_if(options.begin(), options.end(), allowed);
    if (way == options.end()) last_reason_ = fmt::format("the pins leave no way to make {}", requirement.text());
    if (way != options.end()) ways[requirement] = *way;
    return way != options.end();
  };
  for (const FlushPair& pair : subjects_.flush) {
    const auto allowed = [&](Technique way) {
      return std::all_of(choices_.pins.begin(), choices_.pins.end(), [&](const Pin& pin) {
        return pin.kind != PinKind::kTechnique || pin.subject != pair.requirement.text() || Agrees(pin, WordOf(way));
      });
    };
    if (!taken(pair.requirement, strategy.flush, kFlushWays, allowed)) return false;
  }
  for (const SuitPair& pair : subjects_.suits) {
    const auto allowed = [&](Technique way) {
      if (pair.faces && way == Technique::kBringToSize) return false;
      return std::all_of(choices_.pins.begin(), choices_.pins.end(), [&](const Pin& pin) { return AllowsSuit(pin, pair, way); });
    };
    if (!taken(pair.requirement, strategy.suits, kBrought, allowed)) return false;
  }
  return true;
}

Result<Strategy> Search::Plain() {
  const auto none = [&](const std::string& why) {
    return Unexpected(Error{ErrorCode::kNoPlan, why, {}, "change the pin, the shop or the design", {}});
  };
  Strategy strategy;
  strategy.own_aims = OwnAims(machine_, choices_);
  for (const PatternJoint& pattern : subjects_.patterns) {
    const auto options = PatternOptions(pattern);
    if (options.empty()) return none(fmt::format("the pinned technique is not one for {}", pattern.joint.text()));
    strategy.patterns[pattern.joint] = options.front();
  }
  if (!PlainSizes(strategy)) return none(last_reason_);
  if (!PlainShared(strategy)) return none(last_reason_);
  for (const SuitPair& pair : subjects_.suits) {
    const bool tried = pair.closes && strategy.suits.at(pair.requirement) == Technique::kFitToMeasured;
    if (tried && !HasBench(shop_)) return none(fmt::format("{} is to be measured in a trial, and the shop has no bench", pair.requirement.text()));
  }
  for (const PartUse& use : machine_.uses) {
    if (!Reroute(strategy, use.part)) return none(fmt::format("{} cannot be made: {}", use.part.text(), last_reason_));
  }
  if (Look(strategy)) return strategy;
  // The first route of a part may fail in its cuts where another succeeds.
  const std::string why = last_reason_;
  for (const PartUse& use : machine_.uses) {
    for (const Route& route : FollowedRoutes(use.part, DeferredOf(machine_, subjects_, strategy, use.part))) {
      Strategy other = strategy;
      other.routes[use.part] = route;
      if (Look(other)) return other;
    }
  }
  return none(why);
}

bool Search::ImproveTechniques(Strategy& best, double& cost) {
  bool improved = false;
  for (const PatternJoint& pattern : subjects_.patterns) {
    std::vector<std::optional<Strategy>> options;
    for (const PatternChoice& choice : PatternOptions(pattern)) {
      if (choice != best.patterns.at(pattern.joint)) options.push_back(WithPattern(best, pattern.joint, choice));
    }
    improved |= Decide(best, cost, options);
    const auto spotted = WithPattern(best, pattern.joint, {Technique::kSpotThrough, 0});
    if (best.patterns.at(pattern.joint).technique == Technique::kSpotThrough || !spotted || Look(*spotted)) continue;
    improved |= Decide(best, cost, {WithPattern(best, pattern.joint, {Technique::kTransferPunch, 0}),
                                    WithPattern(best, pattern.joint, {Technique::kTransferScrews, 0})});
  }
  for (const SharedHoles& pair : subjects_.shared) {
    std::vector<std::optional<Strategy>> options;
    for (const Technique way : SharedOptions(pair)) {
      if (way != best.shared.at(pair.subject)) options.push_back(WithShared(best, pair.subject, way));
    }
    improved |= Decide(best, cost, options);
  }
  for (const FlushPair& pair : subjects_.flush) {
    std::vector<std::optional<Strategy>> options;
    for (const Technique way : kFlushWays) options.push_back(WithFlush(best, pair.requirement, way));
    improved |= Decide(best, cost, options);
  }
  if (subjects_.flush.size() > 1) {  // they share one setup, so one alone may not pay
    std::vector<std::optional<Strategy>> options;
    for (const Technique way : kFlushWays) {
      options.push_back(best);
      for (const FlushPair& pair : subjects_.flush) {
        if (options.back()) options.back() = WithFlush(*options.back(), pair.requirement, way);
      }
    }
    improved |= Decide(best, cost, options);
  }
  for (const SuitPair& pair : subjects_.suits) improved |= ImproveSuit(pair, best, cost);
  return improved;
}

bool Search::ImproveAims(Strategy& best, double& cost) {
  Result<PlanToJudge> built = BuildPlanToJudge(machine_, shop_, subjects_, best, choices_, options_.cuts, *options_.setups);
  if (!built) return false;
  Plan plan = WholePlan(*std::move(built));
  if (!KeepDone(*options_.underway, plan)) return false;
  const Underway& underway = *options_.underway;
  const auto aims = underway.aims(plan, FindStaying(*underway.followed, underway.begun));
  if (!aims || aims->empty()) return false;
  const auto own = OwnAims(machine_, choices_);
  Strategy all = best;
  Options options;
  for (const NewAim& aim : *aims) {
    const bool has_size = AimedSizeOf(*machine_.Find(aim.feature)) != nullptr;
    if (own.contains(aim.feature) || !has_size) continue;  // the builder's own figure stays
    const OwnAim taken{AimKind::kBringToSize, aim.aim_mm, aim.window};
    all.own_aims[aim.feature] = taken;
    options.emplace_back(best);
    options.back()->own_aims[aim.feature] = taken;
  }
  if (options.size() > 1) options.insert(options.begin(), all);
  return Decide(best, cost, options);
}

// Fitted with the clearance aimed at in each of these places.
Search::Options Search::FitsAimedAt(const Strategy& best, const SuitPair& pair, std::span<const double> shares) {
  Options fits;
  for (const double share : shares) {
    fits.push_back(WithSuit(best, pair.requirement, Technique::kFitToMeasured));
    if (fits.back()) fits.back()->aim_share[pair.requirement] = share;
  }
  return fits;
}

// Another aim saves at most what the fit misses its requirement by.
bool Search::AnotherAimMayWin(const SuitPair& pair, const std::optional<Strategy>& fit, double cost) {
  const auto judged = fit ? Look(*fit) : std::nullopt;
  if (!judged) return true;
  double saves_min = kWorthAFit_min;
  for (std::size_t r = 0; r < machine_.requirements.size(); ++r) {
    if (machine_.requirements[r].name == pair.requirement) saves_min += options_.preference.remedies * judged->remedies_min[r];
  }
  return Cost(*judged) - saves_min < cost;
}

bool Search::ImproveSuit(const SuitPair& pair, Strategy& best, double& cost) {
  const auto fitted = [&] { return best.suits.at(pair.requirement) == Technique::kFitToMeasured; };
  const bool assured = LimitsAssure(machine_, pair);
  Options fits = FitsAimedAt(best, pair, std::span(kAimShares).first(1));
  const std::optional<Strategy> middle = fits.front();
  Options options = fits;
  for (const Technique way : {Technique::kByCoordinates, Technique::kBringToSize}) {
    if (assured || !fitted()) options.push_back(WithSuit(best, pair.requirement, way));
  }
  bool improved = Decide(best, cost, options);
  if (AnotherAimMayWin(pair, middle, cost)) {
    const Options others = FitsAimedAt(best, pair, std::span(kAimShares).subspan(1));
    improved |= Decide(best, cost, others);
    fits.insert(fits.end(), others.begin(), others.end());
  }
  if (!assured && !fitted()) improved |= PreferFitted(best, cost, fits);
  return improved;
}

// Takes the best of them where it costs hardly more.
bool Search::PreferFitted(Strategy& best, double& cost, const Options& fits) {
  std::vector<Strategy> possible;
  for (const auto& option : fits) {
    if (option) possible.push_back(*option);
  }
  if (possible.empty() || SpentOrStopped()) return false;
  const auto judged = LookAtAll(possible);
  const Strategy* next = nullptr;
  double least = cost + kWorthAFit_min;
  for (std::size_t i = 0; i < possible.size(); ++i) {
    if (!judged[i] || Cost(*judged[i]) > least) continue;
    next = &possible[i];
    least = Cost(*judged[i]);
  }
  if (next == nullptr) return false;
  tried_.Took(ChangeOf(subjects_, best, *next));
  best = *next;
  cost = least;
  return true;
}


// A way of making a joint may pay only with another order of the tapped part's sides: both at once.
bool Search::ImprovePatternsWithRoutes(Strategy& best, double& cost) {
  bool improved = false;
  for (const PatternJoint& pattern : subjects_.patterns) {
    const PartId& part = pattern.tapped.part;
    std::vector<std::optional<Strategy>> options;
    const bool spotted = best.patterns.at(pattern.joint).technique == Technique::kSpotThrough;
    const auto changed = WithPattern(best, pattern.joint, {spotted ? Technique::kByCoordinates : Technique::kSpotThrough, 0});
    if (changed) {
      const Deferred deferred = DeferredOf(machine_, subjects_, *changed, part);
      for (const Route& route : FollowedRoutes(part, deferred)) {
        options.push_back(changed);
        options.back()->routes[part] = route;
      }
    }
    improved |= Decide(best, cost, options);
  }
  return improved;
}

}  // namespace fitwright::planner
