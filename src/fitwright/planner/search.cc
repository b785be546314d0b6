#include "fitwright/planner/search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <limits>
#include <span>

#include "fitwright/base/check.h"
#include "fitwright/base/parallel.h"
#include "fitwright/planner/pins.h"
#include "fitwright/planner/setup_pins.h"
#include "fitwright/planner/underway.h"
#include "fitwright/variation/concerns.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

bool SameHolding(const SetupSketch& a, const SetupSketch& b) {
  return a.device == b.device && a.holding == b.holding && (a.jaw_P - b.jaw_P).norm() < 1e-9 && a.zero == b.zero &&
         a.zero_on == b.zero_on && a.angle_by == b.angle_by;
}

variation::QuickOptions QuickOf(const PlannerOptions& options) {
  variation::QuickOptions quick;
  quick.builds = options.search_builds;
  quick.seed = options.seed;
  return quick;
}

}  // namespace

void CopyHolding(const SetupSketch& from, SetupSketch& to) {
  to.machine = from.machine;
  to.device = from.device;
  to.holding = from.holding;
  to.jaw_P = from.jaw_P;
  to.zero = from.zero;
  to.zero_on = from.zero_on;
  to.angle_by = from.angle_by;
}

namespace {

// Bores of the sketch that a hint has trued with a bar.
void KeepTrued(const std::vector<SetupSketch>& hints, SetupSketch& sketch) {
  sketch.bored_true.clear();
  for (const FeatureId& id : sketch.cuts) {
    const bool trued = std::any_of(hints.begin(), hints.end(), [&](const SetupSketch& hint) {
      return std::find(hint.bored_true.begin(), hint.bored_true.end(), id) != hint.bored_true.end();
    });
    if (trued) sketch.bored_true.push_back(id);
  }
}

// Narrow bores along the lathe's axis that are reamed, unless a bar is too thick for them.
std::vector<FeatureId> ReamedInLathe(const Part& part, const Shop& shop, const SetupSketch& sketch) {
  const MachineTool* machine = shop.Find(sketch.machine);
  if (machine == nullptr || machine->kind != MachineToolKind::kLathe) return {};
  double least = std::numeric_limits<double>::infinity();
  double most = 0;
  for (const Tool& t : shop.tools) {
    if (t.kind == ToolKind::kBoringBar) least = std::min(least, t.diameter_min_mm);
    if (t.kind == ToolKind::kReamer) most = std::max(most, t.diameter_mm);
  }
  std::vector<FeatureId> reamed;
  for (const FeatureId& id : sketch.cuts) {
    const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
    if (hole == nullptr || !hole->through || hole->thread || hole->diameter.fit.empty()) continue;
    if (hole->diameter.nominal_mm > least && hole->diameter.nominal_mm <= most) reamed.push_back(id);
  }
  return reamed;
}

// Has every such bore of the route trued; false when there is none that is not already.
bool TrueAll(const Part& part, const Shop& shop, Route& route) {
  bool changed = false;
  for (SetupSketch& sketch : route.setups) {
    std::vector<FeatureId> reamed = ReamedInLathe(part, shop, sketch);
    changed |= reamed != sketch.bored_true;
    sketch.bored_true = std::move(reamed);
  }
  return changed;
}

}  // namespace

std::optional<FeatureId> SeatOf(const SetupSketch& sketch, const PieceState& piece) {
  const bool jaw_first = sketch.holding == HoldingKind::kViseJawFirst;
  return FinishedFace(piece, jaw_first ? sketch.jaw_P : Vec3(-sketch.up_P));
}

void ApplySketch(PieceState& piece, const SetupSketch& sketch) {
  for (const FeatureId& id : sketch.cuts) {
    const auto leave = sketch.leave_mm.find(id);
    ApplyCut(piece, *piece.part->Find(id), sketch.up_P, leave == sketch.leave_mm.end() ? 0 : leave->second);
  }
  if (sketch.part_off) ApplyPartOff(piece, *piece.part->Find(*sketch.part_off), sketch.part_off_leave_mm);
}

namespace {

// Most directions are along an axis.
void AddWay(const Vec3& way, int digits, std::string& key) {
  for (int i = 0; i < 3; ++i) {
    const double v = way[i];
    if (v == 0 || std::abs(v) == 1) {
      if (std::signbit(v)) key += '-';
      key.append(v == 0 ? "0." : "1.").append(static_cast<std::size_t>(digits), '0');
    } else {
      fmt::format_to(std::back_inserter(key), "{:.{}f}", v, digits);
    }
    key += i < 2 ? ',' : '|';
  }
}

void AddKey(const SetupSketch& s, std::string& key) {
  key.append(s.part.text()).append("|").append(s.device.text()).append("|").append(WordOf(s.holding)).append("|");
  AddWay(s.up_P, 6, key);
  AddWay(s.jaw_P, 1, key);
  key.append(std::to_string(static_cast<int>(s.zero))).append("|");
  if (s.zero_on) key += s.zero_on->text();
  key += '|';
  if (s.angle_by) key.append(WordOf(*s.angle_by)).append("|");
  for (const FeatureId& id : s.cuts) key.append(id.text()).append(",");
  for (const auto& [id, mm] : s.leave_mm) fmt::format_to(std::back_inserter(key), "{}+{:.2f}", id.text(), mm);
  for (const FeatureId& id : s.bored_true) key.append("|true:").append(id.text());
  if (s.support) key.append(s.set_over ? "|set over:" : s.between_centres ? "|between:" : "|on:").append(s.support->text());
}

}  // namespace

std::string KeyOf(const SetupSketch& sketch) {
  std::string key;
  AddKey(sketch, key);
  return key;
}

std::string KeyOf(const Strategy& strategy) {
  std::string key;
  const auto add = [&](const std::string& subject, Technique technique) { key.append(subject).append("=").append(WordOf(technique)).append(";"); };
  for (const auto& [joint, choice] : strategy.patterns) {
    add(joint.text(), choice.technique);
    key.append(std::to_string(choice.first)).append(";");
  }
  for (const auto& [id, technique] : strategy.flush) add(id.text(), technique);
  for (const auto& [id, technique] : strategy.suits) add(id.text(), technique);
  for (const auto& [subject, technique] : strategy.shared) add(subject, technique);
  for (const auto& [id, share] : strategy.aim_share) key += fmt::format("{}@{:.2f};", id.text(), share);
  for (const auto& [feature, aim] : strategy.own_aims) key += KeyOf(feature, aim);
  for (const auto& [part, route] : strategy.routes) {
    key.append("\n").append(part.text());
    for (const SetupSketch& sketch : route.setups) {
      key += "\n ";
      AddKey(sketch, key);
    }
  }
  return key;
}

namespace {

Result<Judged> JudgeKnown(const Machine& machine, const Shop& shop, const Plan& plan, const PlannerOptions& options,
                          const variation::KnownSetups* known) {
  const auto odds = variation::CalcQuickOdds(machine, shop, plan, QuickOf(options), options.outcomes, known);
  if (!odds) return Unexpected(odds.error());
  Judged judged;
  judged.minutes = plan.hours_cutting * 60;
  judged.expected_min = judged.minutes + odds->remedy_min + odds->rework_min;
  judged.odds = odds->all;
  judged.setups = static_cast<int>(plan.setups.size());
  judged.per_requirement = odds->per_requirement;
  judged.remedies_min = odds->remedies_min;
  return judged;
}

}  // namespace

Result<Judged> Judge(const Machine& machine, const Shop& shop, const PlanToJudge& plan, const PlannerOptions& options) {
  const variation::KnownSetups known{&options.setups->readings(), plan.known};
  Result<Judged> judged = JudgeKnown(machine, shop, plan.plan, options, &known);
  return judged ? judged : Judge(machine, shop, WholePlan(plan), options);  // whose words name the setup
}

Result<Judged> Judge(const Machine& machine, const Shop& shop, const Plan& plan, const PlannerOptions& options) {
  return JudgeKnown(machine, shop, plan, options, nullptr);
}

Search::Search(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options)
    : machine_(machine), shop_(shop), choices_(choices), options_(options), subjects_(options.subjects == nullptr ? FindSubjects(machine) : *options.subjects), tried_(shop.times.device_change) {
  if (options_.outcomes == nullptr) options_.outcomes = &own_outcomes_;
  if (options_.cuts == nullptr) options_.cuts = &own_cuts_;
  if (options_.setups == nullptr) options_.setups = &own_setups_;
  budget_ = options.work.budget > 0 ? options.work.budget : kDefaultBudget;
}

bool Search::SpentOrStopped() const { return judged_ >= budget_ || options_.work.cancelled(); }

std::optional<Judged> Search::Look(const Strategy& strategy) { return LookAtAll({strategy}).front(); }

Result<Judged> Search::JudgeBuilt(const Strategy& strategy) const {
  Result<PlanToJudge> plan = BuildPlanToJudge(machine_, shop_, subjects_, strategy, choices_, options_.cuts, *options_.setups);
  if (!plan) return Unexpected(plan.error());
  if (options_.underway != nullptr) return JudgeLeft(*options_.underway, WholePlan(*std::move(plan)));
  return Judge(machine_, shop_, *plan, options_);
}

std::vector<std::optional<Judged>> Search::LookAtAll(const std::vector<Strategy>& strategies) {
  struct New {
    const Strategy* strategy;
    std::string key;
    Result<Judged> verdict = Judged{};
  };
  std::vector<std::string> keys;
  std::vector<New> fresh;
  for (const Strategy& strategy : strategies) {
    keys.push_back(KeyOf(strategy));
    const bool listed = std::any_of(fresh.begin(), fresh.end(), [&](const New& n) { return n.key == keys.back(); });
    if (!listed && !memory_.contains(keys.back())) fresh.push_back({&strategy, keys.back()});
  }
  ParallelFor(fresh.size(), options_.threads, [&](std::size_t i) {
    fresh[i].verdict = JudgeBuilt(*fresh[i].strategy);
  });
  for (New& n : fresh) {
    ++judged_;
    memory_[n.key] = n.verdict ? std::optional<Judged>(*n.verdict) : std::nullopt;
    if (n.verdict) seen_.push_back({*n.strategy, *n.verdict});
    if (!n.verdict) last_reason_ = n.verdict.error().message;
  }
  options_.work.Report("weighing plans", std::min(1.0, static_cast<double>(judged_) / static_cast<double>(budget_)));
  std::vector<std::optional<Judged>> judged;
  for (const std::string& key : keys) judged.push_back(memory_.at(key));
  return judged;
}

const Concerns& Search::ConcernsOf(const Strategy& best) {
  std::string key = KeyOf(best);
  if (concerned_ == key) return concerns_;
  const Result<PlanToJudge> plan = BuildPlanToJudge(machine_, shop_, subjects_, best, choices_, options_.cuts, *options_.setups);
  FW_CHECK(plan.has_value(), key);
  const variation::KnownSetups known{&options_.setups->readings(), plan->known};
  auto concerns = variation::FindConcerns(machine_, shop_, plan->plan, known);
  FW_CHECK(concerns.has_value(), key);
  concerns_ = *std::move(concerns);
  concerned_ = std::move(key);
  alike_.clear();
  return concerns_;
}

const std::vector<Route>& Search::RoutesOf(const PartId& part, const Deferred& deferred) { return FindRoutesOf(part, deferred).routes; }

const std::vector<Route>& Search::FollowedRoutes(const PartId& part, const Deferred& deferred) {
  FoundRoutes& found = FindRoutesOf(part, deferred);
  if (found.followed) return *found.followed;
  std::vector<Route> followed;
  for (const Route& route : found.routes) {
    if (auto way = Follow(part, deferred, route.setups)) followed.push_back(*std::move(way));
  }
  found.followed = std::move(followed);
  return *found.followed;
}

Search::FoundRoutes& Search::FindRoutesOf(const PartId& part, const Deferred& deferred) {
  std::deque<FoundRoutes>& known = routes_[part];
  auto found = std::find_if(known.begin(), known.end(), [&](const FoundRoutes& f) { return f.deferred == deferred; });
  if (found == known.end()) {
    std::vector<std::string> why;
    std::vector<Route> routes = FindPinnedRoutes(*machine_.FindPart(part), shop_, deferred, choices_.pins, &why);
    known.push_back({deferred, std::move(routes), why.empty() ? "" : why.front(), {}});
    found = std::prev(known.end());
  }
  if (found->routes.empty() && !found->why.empty()) last_reason_ = found->why;
  return *found;
}

bool Search::PinAllows(const SetupSketch& sketch, const PieceState& piece) const {
  if (!KeepsSetupPins(choices_.pins, sketch)) return false;
  for (const Pin& pin : choices_.pins) {
    if (pin.kind != PinKind::kZero && pin.kind != PinKind::kFirstFace) continue;
    for (int axis = 0; axis < 3; ++axis) {
      for (const double sign : {1.0, -1.0}) {
        const std::string name = fmt::format("{}.{}{}", sketch.part.text(), sign > 0 ? "+" : "-", "xyz"[axis]);
        if (pin.subject != name || sketch.up_P[axis] * sign < 1 - 1e-9) continue;
        if (pin.kind == PinKind::kZero && !Agrees(pin, sketch.zero == ZeroFrom::kBore ? "bore" : "edges")) return false;
        if (pin.kind == PinKind::kFirstFace) {
          const auto face = SeatOf(sketch, piece);
          if (!Agrees(pin, face ? face->text() : "")) return false;
        }
      }
    }
  }
  return true;
}

std::vector<SetupSketch> Search::AllowedVariants(const SetupSketch& sketch, const PieceState& piece) const {
  std::vector<SetupSketch> allowed;
  const auto known = RecallVariants(options_.setups->holdings(), sketch, piece, shop_);
  for (const SetupSketch& variant : known->sketches) {
    if (PinAllows(variant, piece)) allowed.push_back(variant);
  }
  return allowed;
}

// The part's route over the sides in the order of `hints`, with the hints' holdings where they still hold.
std::optional<Route> Search::Follow(const PartId& part, const Deferred& deferred, const std::vector<SetupSketch>& hints) {
  const Part& sheet = *machine_.FindPart(part);
  const std::vector<Route>& fresh = RoutesOf(part, deferred);
  if (fresh.empty()) return std::nullopt;
  const auto same_sides = [&](const Route& route) {
    return route.setups.size() == hints.size() &&
           std::equal(hints.begin(), hints.end(), route.setups.begin(), [](const SetupSketch& a, const SetupSketch& b) {
             return (a.up_P - b.up_P).norm() < 1e-9 && a.part_off == b.part_off;
           });
  };
  const auto same_cuts = [&](const Route& r) {
    return same_sides(r) && std::equal(hints.begin(), hints.end(), r.setups.begin(), [](const SetupSketch& a, const SetupSketch& b) {
             return a.cuts == b.cuts;
           });
  };
  Route route = fresh.front();
  auto found = std::find_if(fresh.begin(), fresh.end(), same_cuts);
  if (found == fresh.end()) found = std::find_if(fresh.begin(), fresh.end(), same_sides);
  if (found != fresh.end()) route = *found;
  if (found == fresh.end() && sheet.envelope == EnvelopeKind::kBlock && !hints.empty()) {
    const auto rank = [&](const SetupSketch& s) {
      for (std::size_t i = 0; i < hints.size(); ++i) {
        if ((hints[i].up_P - s.up_P).norm() < 1e-9) return i;
      }
      return hints.size();
    };
    std::stable_sort(route.setups.begin(), route.setups.end(),
                     [&](const SetupSketch& a, const SetupSketch& b) { return rank(a) < rank(b); });
  }
  PieceState piece = RawPiece(sheet);
  for (SetupSketch& sketch : route.setups) {
    std::vector<SetupSketch> allowed = AllowedVariants(sketch, piece);
    if (allowed.empty()) {
      last_reason_ = fmt::format("nothing holds {} with that side up as pinned", part.text());
      return std::nullopt;
    }
    const SetupSketch* chosen = &allowed.front();
    const auto same_up = [&](const SetupSketch& hint) { return (hint.up_P - sketch.up_P).norm() < 1e-9; };
    // A side that is cut in two setups may be held in two ways.
    const bool exact = std::any_of(hints.begin(), hints.end(), [&](const SetupSketch& hint) { return same_up(hint) && hint.cuts == sketch.cuts; });
    for (const SetupSketch& hint : hints) {
      if (!same_up(hint) || (exact && hint.cuts != sketch.cuts)) continue;
      for (const SetupSketch& variant : allowed) {
        if (SameHolding(variant, hint)) chosen = &variant;
      }
    }
    CopyHolding(*chosen, sketch);
    KeepTrued(hints, sketch);
    ApplySketch(piece, sketch);
  }
  if (KeepsRoutePins(choices_.pins, route)) return route;
  last_reason_ = fmt::format("what is pinned into one setup of {}, or into two, cannot be", part.text());
  return std::nullopt;
}

bool Search::Reroute(Strategy& strategy, const PartId& part) {
  const std::vector<SetupSketch> hints = strategy.routes[part].setups;
  const Deferred deferred = DeferredOf(machine_, subjects_, strategy, part);
  std::optional<Route> route = Follow(part, deferred, hints);
  if (!route && !SetupPinsOf(choices_.pins, part).empty()) {  // another way through the shop may keep them
    const std::vector<Route>& ways = FollowedRoutes(part, deferred);
    if (!ways.empty()) route = ways.front();
  }
  if (!route) return false;
  strategy.routes[part] = *route;
  return true;
}

std::optional<Strategy> Search::WithBoresApart(const Strategy& strategy, const PartId& part, std::size_t setup) {
  const Part& sheet = *machine_.FindPart(part);
  Strategy changed = strategy;
  std::vector<SetupSketch>& setups = changed.routes.at(part).setups;
  SetupSketch bores = setups.at(setup);
  bores.cuts.clear();
  bores.part_off.reset();
  SetupSketch& rest = setups.at(setup);
  std::vector<FeatureId> kept;
  const auto goes_with_a_bore = [&](const FeatureId& id) {
    const auto& shape = sheet.Find(id)->shape;
    if (const auto* hole = std::get_if<Hole>(&shape)) return hole->use != HoleUse::kHole;
    const auto* chamfer = std::get_if<RoundChamfer>(&shape);
    return chamfer != nullptr && std::holds_alternative<Hole>(sheet.Find(chamfer->on)->shape);
  };
  for (const FeatureId& id : rest.cuts) (goes_with_a_bore(id) ? bores.cuts : kept).push_back(id);
  if (kept.empty() || bores.cuts.empty()) return std::nullopt;
  rest.cuts = kept;
  PieceState piece = RawPiece(sheet);
  for (std::size_t i = 0; i <= setup; ++i) ApplySketch(piece, setups[i]);
  if (!ChooseHolding(bores, piece, shop_, &last_reason_)) return std::nullopt;
  if (!PinAllows(bores, piece)) {
    const std::vector<SetupSketch> allowed = AllowedVariants(bores, piece);
    if (allowed.empty()) return std::nullopt;
    bores = allowed.front();
  }
  setups.insert(setups.begin() + static_cast<std::ptrdiff_t>(setup) + 1, bores);
  if (!KeepsRoutePins(choices_.pins, changed.routes.at(part))) return std::nullopt;
  return changed;
}

bool Search::Decide(Strategy& best, double& cost, const std::vector<std::optional<Strategy>>& options) {
  return DecideEach(best, cost, {options});
}

bool Search::DecideEach(Strategy& best, double& cost, const std::vector<Options>& decisions) {
  const std::vector<Option> weighed = Weigh(best, cost, decisions);
  std::map<std::size_t, const Option*> winners;  // by decision
  const Option* least = nullptr;
  for (const Option& option : weighed) {
    if (option.cost > cost - kWorthwhile_min) continue;
    const Option*& winner = winners[option.decision];
    if (winner == nullptr || option.cost < winner->cost) winner = &option;
    if (least == nullptr || option.cost < least->cost) least = &option;
  }
  if (least == nullptr) return false;
  Strategy next = least->strategy;
  double next_cost = least->cost;
  if (winners.size() > 1) {
    Strategy all = best;
    for (const auto& [decision, winner] : winners) {
      for (const PartId& part : winner->change.parts) all.routes.at(part) = winner->strategy.routes.at(part);
    }
    const auto together = Look(all);
    if (together && Cost(*together) < next_cost) {
      next = std::move(all);
      next_cost = Cost(*together);
    }
  }
  tried_.Took(ChangeOf(subjects_, best, next));
  best = std::move(next);
  cost = next_cost;
  return true;
}

Search::Options Search::RouteOptions(const Strategy& best, const PartId& part) {
  const Deferred deferred = DeferredOf(machine_, subjects_, best, part);
  Options options;
  for (const Route& route : FollowedRoutes(part, deferred)) {
    options.push_back(best);
    options.back()->routes[part] = route;
    Route trued = route;
    if (!TrueAll(*machine_.FindPart(part), shop_, trued)) continue;
    options.push_back(best);
    options.back()->routes[part] = trued;
  }
  return options;
}

bool Search::ImproveRoutes(Strategy& best, double& cost, const std::vector<PartId>& parts) {
  std::vector<Options> decisions;
  for (const PartId& part : parts) decisions.push_back(RouteOptions(best, part));
  return DecideEach(best, cost, decisions);
}

Search::Options Search::SetupOptions(const Strategy& best, const PartId& part, std::size_t i) {
  const Part& sheet = *machine_.FindPart(part);
  const std::vector<SetupSketch>& setups = best.routes.at(part).setups;
  PieceState piece = RawPiece(sheet);
  for (std::size_t j = 0; j < i; ++j) ApplySketch(piece, setups[j]);
  std::vector<std::optional<Strategy>> options;
  for (const SetupSketch& variant : AllowedVariants(setups[i], piece)) {
    if (SameHolding(variant, setups[i])) continue;
    options.push_back(best);
    CopyHolding(variant, options.back()->routes.at(part).setups[i]);
  }
  options.push_back(WithBoresApart(best, part, i));
  if (const auto reamed = ReamedInLathe(sheet, shop_, setups[i]); !reamed.empty()) {
    options.push_back(best);
    auto& trued = options.back()->routes.at(part).setups[i].bored_true;
    trued = trued.empty() ? reamed : std::vector<FeatureId>{};
  }
  if (sheet.envelope != EnvelopeKind::kBlock) return options;
  const Deferred deferred = DeferredOf(machine_, subjects_, best, part);
  for (std::size_t to = 0; to < setups.size(); ++to) {
    if (to == i) continue;
    std::vector<SetupSketch> moved = setups;
    moved.erase(moved.begin() + static_cast<std::ptrdiff_t>(i));
    moved.insert(moved.begin() + static_cast<std::ptrdiff_t>(to), setups[i]);
    if (const auto route = Follow(part, deferred, moved)) {
      options.push_back(best);
      options.back()->routes[part] = *route;
    }
  }
  return options;
}

// The part's setups in this device wherever it holds them.
std::optional<Strategy> Search::InDevice(const Strategy& best, const PartId& part, const HoldingDeviceId& device) {
  Strategy changed = best;
  PieceState piece = RawPiece(*machine_.FindPart(part));
  for (SetupSketch& sketch : changed.routes.at(part).setups) {
    const std::vector<SetupSketch> allowed = AllowedVariants(sketch, piece);
    const auto in_it = std::find_if(allowed.begin(), allowed.end(), [&](const SetupSketch& v) { return v.device == device; });
    if (sketch.device != device && in_it != allowed.end()) CopyHolding(*in_it, sketch);
    ApplySketch(piece, sketch);
  }
  if (changed.routes.at(part) == best.routes.at(part)) return std::nullopt;
  return changed;
}

// Putting a device up is dear, and pays off only when all parts that change hands do without.
std::optional<Strategy> Search::AllInDevice(const Strategy& best, const HoldingDeviceId& device) {
  Strategy changed = best;
  for (const PartUse& use : machine_.uses) {
    const std::vector<SetupSketch>& setups = best.routes.at(use.part).setups;
    const bool in_it = std::any_of(setups.begin(), setups.end(), [&](const SetupSketch& s) { return s.device == device; });
    if (!in_it) continue;
    if (auto moved = InDevice(changed, use.part, device)) changed = *std::move(moved);
  }
  if (changed.routes == best.routes) return std::nullopt;
  return changed;
}

// What it holds held by whatever else holds most in that machine: it need not be put up at all then.
std::optional<Strategy> Search::WithoutDevice(const Strategy& best, const HoldingDeviceId& device) {
  std::map<std::pair<MachineToolId, HoldingDeviceId>, int> used;
  for (const auto& [part, route] : best.routes) {
    for (const SetupSketch& sketch : route.setups) ++used[{sketch.machine, sketch.device}];
  }
  Strategy changed = best;
  for (auto& [part, route] : changed.routes) {
    PieceState piece = RawPiece(*machine_.FindPart(part));
    for (SetupSketch& sketch : route.setups) {
      if (sketch.device == device) {
        std::vector<SetupSketch> others = AllowedVariants(sketch, piece);
        std::erase_if(others, [&](const SetupSketch& v) { return v.device == device; });
        if (others.empty()) return std::nullopt;
        const auto uses = [&](const SetupSketch& v) {
          const auto found = used.find({v.machine, v.device});
          return found == used.end() ? 0 : found->second;
        };
        CopyHolding(*std::max_element(others.begin(), others.end(), [&](const SetupSketch& a, const SetupSketch& b) { return uses(a) < uses(b); }), sketch);
      }
      ApplySketch(piece, sketch);
    }
  }
  if (changed.routes == best.routes) return std::nullopt;
  return changed;
}

bool Search::ImproveDevices(Strategy& best, double& cost) {
  Options everywhere;
  for (const HoldingDevice& device : shop_.holding) {
    everywhere.push_back(AllInDevice(best, device.name));
    everywhere.push_back(WithoutDevice(best, device.name));
  }
  bool improved = Decide(best, cost, everywhere);
  std::vector<Options> decisions;
  for (const PartUse& use : machine_.uses) {
    if (best.routes.at(use.part).setups.size() < 2) continue;
    decisions.emplace_back();
    for (const HoldingDevice& device : shop_.holding) decisions.back().push_back(InDevice(best, use.part, device.name));
  }
  improved |= DecideEach(best, cost, decisions);
  return improved;
}

// The first setup of each part, then the second of each ...
bool Search::ImproveSetups(Strategy& best, double& cost, const std::vector<PartId>& parts) {
  bool improved = false;
  bool any = true;
  for (std::size_t i = 0; any; ++i) {
    any = false;
    std::vector<Options> decisions;
    for (const PartId& part : parts) {
      if (i >= best.routes.at(part).setups.size()) continue;
      any = true;
      decisions.push_back(SetupOptions(best, part, i));
    }
    improved |= DecideEach(best, cost, decisions);
  }
  return improved;
}

Strategy Search::Improve(Strategy strategy) {
  const auto start = Look(strategy);
  FW_CHECK(start.has_value(), last_reason_);
  double cost = Cost(*start);
  std::vector<PartId> parts;
  for (const PartUse& use : machine_.uses) parts.push_back(use.part);
  bool improved = true;
  while (improved && !SpentOrStopped()) {
    improved = options_.underway != nullptr && ImproveAims(strategy, cost);
    improved |= ImproveTechniques(strategy, cost);
    improved |= ImproveRoutes(strategy, cost, parts);
    improved |= ImproveDevices(strategy, cost);
    improved |= ImproveSetups(strategy, cost, parts);
    if (!improved) improved = ImprovePatternsWithRoutes(strategy, cost);
  }
  return strategy;
}

}  // namespace fitwright::planner
