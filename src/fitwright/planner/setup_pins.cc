#include "fitwright/planner/setup_pins.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "fitwright/planner/directions.h"
#include "fitwright/planner/pins.h"

namespace fitwright::planner {
namespace {


bool IsAboutSetups(const Pin& pin) { return pin.kind == PinKind::kMachine || pin.kind == PinKind::kHolding || pin.kind == PinKind::kSetup; }

// "+z", "-x": the side; nothing for any other word.
std::optional<Vec3> SideIn(std::string_view word) {
  if (word.size() != 2 || (word[0] != '+' && word[0] != '-') || word[1] < 'x' || word[1] > 'z') return std::nullopt;
  return Vec3::Unit(word[1] - 'x') * (word[0] == '+' ? 1 : -1);
}

bool Lists(const std::vector<FeatureId>& list, const FeatureId& id) { return std::find(list.begin(), list.end(), id) != list.end(); }

bool Cuts(const SetupSketch& sketch, const FeatureRef& ref) {
  if (sketch.bench != SetupSketch::Bench::kNone || sketch.marks) return false;
  const auto has = [&](const std::vector<FeatureRef>& list) { return std::find(list.begin(), list.end(), ref) != list.end(); };
  return (sketch.part == ref.part && (Lists(sketch.cuts, ref.feature) || sketch.part_off == ref.feature)) || has(sketch.together) || has(sketch.drilled);
}

bool AgreesWithSide(const Pin& pin, const Vec3& side_P, const Vec3& up_P) {
  const bool same = side_P.dot(up_P) > 1 - kSameDirection;
  return same != std::string_view(pin.value).starts_with("not ");
}

bool Keeps(const Pin& pin, const SetupSketch& sketch) {
  if (!ConcernsSetup(pin, sketch)) return true;
  if (pin.kind == PinKind::kSetup) {
    const auto side = SideIn(WordIn(pin));
    return !side || AgreesWithSide(pin, *side, sketch.up_P);
  }
  const bool whole_part = pin.subject == sketch.part.text();
  if (whole_part && sketch.holding == HoldingKind::kBench) return true;
  if (pin.kind == PinKind::kMachine) return Agrees(pin, sketch.machine.text());
  const bool named = WordIn(pin) == sketch.device.text() || WordIn(pin) == WordOf(sketch.holding);
  return named != std::string_view(pin.value).starts_with("not ");
}

// Setups of the route that cut the feature to size.
std::vector<std::size_t> SetupsOf(const Route& route, const FeatureRef& ref) {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < route.setups.size(); ++i) {
    if (Cuts(route.setups[i], ref) && !route.setups[i].leave_mm.contains(ref.feature)) found.push_back(i);
  }
  return found;
}

}  // namespace

bool ConcernsSetup(const Pin& pin, const SetupSketch& sketch) {
  if (!IsAboutSetups(pin)) return false;
  const FeatureRef subject = RefOf(pin);
  if (subject.feature.empty()) return subject.part == sketch.part;
  if (const auto side = SideIn(subject.feature.text())) return subject.part == sketch.part && side->dot(sketch.up_P) > 1 - kSameDirection;
  return Cuts(sketch, subject);
}

bool KeepsSetupPins(const std::vector<Pin>& pins, const SetupSketch& sketch) {
  return std::all_of(pins.begin(), pins.end(), [&](const Pin& pin) { return Keeps(pin, sketch); });
}

bool KeepsRoutePins(const std::vector<Pin>& pins, const Route& route) {
  return std::all_of(pins.begin(), pins.end(), [&](const Pin& pin) {
    if (pin.kind != PinKind::kSetup || SideIn(WordIn(pin))) return true;
    const FeatureRef subject = RefOf(pin);
    const std::vector<std::size_t> own = SetupsOf(route, subject);
    const std::vector<std::size_t> other = SetupsOf(route, {subject.part, FeatureId(std::string(WordIn(pin)))});
    if (own.empty() || other.empty()) return true;
    return (own == other) != std::string_view(pin.value).starts_with("not ");
  });
}

std::vector<Pin> SetupPinsOf(const std::vector<Pin>& pins, const PartId& part) {
  std::vector<Pin> own;
  std::copy_if(pins.begin(), pins.end(), std::back_inserter(own), [&](const Pin& pin) { return IsAboutSetups(pin) && RefOf(pin).part == part; });
  return own;
}

std::vector<Vec3> PinnedSides(const Part& part, const FeatureId& feature, const std::vector<Pin>& pins) {
  const std::vector<Vec3> all = ToolSides(part, *part.Find(feature));
  std::vector<Vec3> sides = all;
  for (const Pin& pin : pins) {
    const FeatureRef subject = RefOf(pin);
    if (pin.kind != PinKind::kSetup || subject.part != part.name) continue;
    const auto side = SideIn(WordIn(pin));
    if (side && subject.feature == feature) {
      std::erase_if(sides, [&](const Vec3& s) { return !AgreesWithSide(pin, *side, s); });
    }
    const FeatureId named{std::string(WordIn(pin))};
    if (side || pin.value != named.text() || (subject.feature != feature && named != feature)) continue;
    const Feature* other = part.Find(subject.feature == feature ? named : subject.feature);
    if (other == nullptr) continue;
    const std::vector<Vec3> others = ToolSides(part, *other);
    std::erase_if(sides, [&](const Vec3& s) {
      return std::none_of(others.begin(), others.end(), [&](const Vec3& o) { return o.dot(s) > 1 - kSameDirection; });
    });
  }
  return sides.empty() ? all : sides;
}

std::vector<FeatureId> PinnedApart(const Part& part, const std::vector<FeatureId>& cuts, const std::vector<Pin>& pins) {
  std::vector<FeatureId> apart;
  for (const Pin& pin : pins) {
    const FeatureRef subject = RefOf(pin);
    if (pin.kind != PinKind::kSetup || subject.part != part.name || !std::string_view(pin.value).starts_with("not ")) continue;
    if (!Lists(cuts, subject.feature) || !Lists(cuts, FeatureId(std::string(WordIn(pin)))) || Lists(apart, subject.feature)) continue;
    for (const FeatureId& id : cuts) {
      const auto* chamfer = std::get_if<RoundChamfer>(&part.Find(id)->shape);
      if (id == subject.feature || (chamfer != nullptr && chamfer->on == subject.feature)) apart.push_back(id);
    }
  }
  return apart;
}

std::string PinsAbout(const std::vector<Pin>& pins, const SetupSketch& sketch) {
  std::vector<std::string> words;
  for (const Pin& pin : pins) {
    if (ConcernsSetup(pin, sketch)) words.push_back(fmt::format("{} {} = {}", WordOf(pin.kind), pin.subject, pin.value));
  }
  return fmt::format("{}", fmt::join(words, "; "));
}

}  // namespace fitwright::planner
