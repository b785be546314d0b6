// What the builder decided, imposed on a plan that the search found without it.
#include <algorithm>
#include <array>

#include "fitwright/planner/pins.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/setup_pins.h"

namespace fitwright::planner {
namespace {

void Touch(std::vector<PartId>& touched, const PartId& part) {
  if (std::find(touched.begin(), touched.end(), part) == touched.end()) touched.push_back(part);
}

}  // namespace

// A size of the builder's own is made for itself, not to suit a mate.
bool Search::ImposeAim(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched) {
  for (const auto& [feature, aim] : OwnAims(machine_, choices_)) {
    if (feature.text() != pin.subject) continue;
    strategy.own_aims[feature] = aim;
    Touch(touched, feature.part);
    for (const SuitPair& pair : subjects_.suits) {
      if (pair.shaft != feature || !aim.size_mm || strategy.suits.at(pair.requirement) != Technique::kFitToMeasured) continue;
      const auto changed = WithSuit(strategy, pair.requirement, pair.faces ? Technique::kByCoordinates : Technique::kBringToSize);
      if (!changed) return false;
      strategy = *changed;
    }
  }
  return true;
}

bool Search::ImposeTechnique(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched) {
  const auto take = [&](const std::optional<Strategy>& changed, std::initializer_list<PartId> parts) {
    if (!changed) return false;
    strategy = *changed;
    for (const PartId& part : parts) Touch(touched, part);
    return true;
  };
  for (const PatternJoint& pattern : subjects_.patterns) {
    if (pin.subject != pattern.joint.text()) continue;
    const std::vector<PatternChoice> allowed = PatternOptions(pattern);
    const PatternChoice& now = strategy.patterns.at(pattern.joint);
    if (std::find(allowed.begin(), allowed.end(), now) != allowed.end()) return true;
    return std::any_of(allowed.begin(), allowed.end(), [&](const PatternChoice& way) {
      return take(WithPattern(strategy, pattern.joint, way), {pattern.tapped.part, pattern.clearance.part});
    });
  }
  for (const SharedHoles& pair : subjects_.shared) {
    if (pin.subject != pair.subject) continue;
    if (Agrees(pin, WordOf(strategy.shared.at(pair.subject)))) return true;
    const std::vector<Technique> allowed = SharedOptions(pair);
    return std::any_of(allowed.begin(), allowed.end(),
                       [&](Technique way) { return take(WithShared(strategy, pair.subject, way), {pair.fixed.part, pair.moving.part}); });
  }
  for (const FlushPair& pair : subjects_.flush) {
    if (pin.subject != pair.requirement.text()) continue;
    if (Agrees(pin, WordOf(strategy.flush.at(pair.requirement)))) return true;
    constexpr std::array kWays = {Technique::kByCoordinates, Technique::kMachineTogether};
    return std::any_of(kWays.begin(), kWays.end(),
                       [&](Technique way) { return take(WithFlush(strategy, pair.requirement, way), {pair.face.part, pair.main_face.part}); });
  }
  if (pin.kind == PinKind::kAim && !ImposeAim(pin, strategy, touched)) return false;
  for (const SuitPair& pair : subjects_.suits) {
    const Technique now = strategy.suits.at(pair.requirement);
    if (AllowsSuit(pin, pair, now)) continue;  // a shaft may have more than one mate
    constexpr std::array kWays = {Technique::kBringToSize, Technique::kByCoordinates, Technique::kFitToMeasured};
    const bool taken = std::any_of(kWays.begin(), kWays.end(), [&](Technique way) {
      return AllowsSuit(pin, pair, way) && take(WithSuit(strategy, pair.requirement, way), {pair.shaft.part});
    });
    if (!taken) return false;
  }
  return true;
}

bool Search::KeepsPins(const Route& route, const PartId& part) const {
  PieceState piece = RawPiece(*machine_.FindPart(part));
  for (const SetupSketch& sketch : route.setups) {
    if (!PinAllows(sketch, piece)) return false;
    ApplySketch(piece, sketch);
  }
  return KeepsRoutePins(choices_.pins, route);
}

bool Search::Impose(const Pin& pin, Strategy& strategy, std::vector<PartId>& touched) {
  if (pin.kind == PinKind::kTechnique || pin.kind == PinKind::kAim) return ImposeTechnique(pin, strategy, touched);
  if (pin.kind == PinKind::kOrder) return true;  // the order of work follows from the pins themselves
  const PartId part = RefOf(pin).part;
  if (pin.kind == PinKind::kTool) {  // what it costs is seen where the cuts are made
    Touch(touched, part);
    return true;
  }
  const auto route = strategy.routes.find(part);
  if (route == strategy.routes.end() || KeepsPins(route->second, part)) return true;
  Touch(touched, part);
  return Reroute(strategy, part);
}

std::optional<Strategy> Search::Honour(const Strategy& strategy, const Tried& tried) {
  Strategy pinned = strategy;
  std::vector<PartId> touched;
  for (const Pin& pin : choices_.pins) {
    if (!Impose(pin, pinned, touched)) return std::nullopt;
  }
  const auto judged = Look(pinned);
  if (!judged) return std::nullopt;
  // With other tools what a change costs is another matter.
  const bool other_cuts = std::any_of(choices_.pins.begin(), choices_.pins.end(), [](const Pin& pin) { return pin.kind == PinKind::kTool; });
  if (!other_cuts) tried_ = tried;
  tried_.Took(ChangeOf(subjects_, strategy, pinned));
  double cost = Cost(*judged);
  bool improved = !touched.empty();
  while (improved && !SpentOrStopped()) {
    improved = ImproveRoutes(pinned, cost, touched);
    improved |= ImproveSetups(pinned, cost, touched);
  }
  return pinned;
}

}  // namespace fitwright::planner
