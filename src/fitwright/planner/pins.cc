#include "fitwright/planner/pins.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/model/known_words.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/units/length.h"

namespace fitwright::planner {
namespace {

constexpr std::string_view kNot = "not ";

std::optional<double> SizeAimed_mm(const Machine& machine, const Pin& pin) {
  if (pin.kind != PinKind::kAim || EnumOf<AimKind>(pin.value)) return std::nullopt;
  const auto length = ParseLength_mm(pin.value, machine.display_unit);
  return length ? std::optional<double>(*length) : std::nullopt;
}

// Each decision that a technique is chosen for, with its ways.
std::map<std::string, std::vector<std::string>> Decisions(const Subjects& subjects) {
  const auto words = [](std::initializer_list<Technique> ways) {
    std::vector<std::string> known;
    for (const Technique way : ways) known.emplace_back(WordOf(way));
    return known;
  };
  std::map<std::string, std::vector<std::string>> found;
  for (const PatternJoint& p : subjects.patterns)
    found[p.joint.text()] = words({Technique::kByCoordinates, Technique::kSpotThrough, Technique::kTransferPunch, Technique::kTransferScrews});
  for (const SharedHoles& p : subjects.shared) found[p.subject] = words({Technique::kByCoordinates, p.together});
  for (const FlushPair& p : subjects.flush) found[p.requirement.text()] = words({Technique::kByCoordinates, Technique::kMachineTogether});
  for (const SuitPair& p : subjects.suits) {
    std::vector<std::string>& ways = found[p.requirement.text()];
    ways = words({Technique::kByCoordinates, Technique::kFitToMeasured});
    if (!p.faces) ways.emplace_back(WordOf(Technique::kBringToSize));
  }
  return found;
}

Unexpected Refused(ErrorCode code, const Pin& pin, const std::string& why, const std::string& remedy) {
  return Unexpected(Error{code, fmt::format("choices.toml: pin {} {} = {}: {}", WordOf(pin.kind), pin.subject, pin.value, why), {}, remedy, {}});
}

Status CheckTechnique(const Pin& pin, const Subjects& subjects) {
  const auto decisions = Decisions(subjects);
  const auto at = decisions.find(pin.subject);
  if (at == decisions.end()) {
    std::vector<std::string> known;
    for (const auto& [name, ways] : decisions) known.push_back(name);
    const std::string open = known.empty() ? "nothing of this machine is" : "those that are: " + ListOf(known);
    return Refused(ErrorCode::kUnknownSubject, pin, "it is not made by a technique that can be chosen", open);
  }
  if (std::find(at->second.begin(), at->second.end(), WordIn(pin)) != at->second.end()) return Ok{};
  return Refused(ErrorCode::kUnknownWord, pin, "that is no way to make it", "write one of: " + ListOf(at->second));
}

Status CheckAim(const Pin& pin, const Machine& machine, const Subjects& subjects) {
  const FeatureRef ref = RefOf(pin);
  const Feature* feature = machine.Find(ref);
  const Size* size = feature == nullptr ? nullptr : AimedSizeOf(*feature);
  const bool fitted = std::any_of(subjects.suits.begin(), subjects.suits.end(), [&](const SuitPair& p) { return p.shaft == ref; });
  if (pin.value == WordOf(AimKind::kFitToMeasured)) {
    if (fitted) return Ok{};
    return Refused(ErrorCode::kUnknownWord, pin, "no requirement says what it is to fit",
                   "state a clearance to its mate as a requirement, or aim at a size");
  }
  if (size == nullptr && !fitted) {
    return Refused(ErrorCode::kUnknownSubject, pin, "it has no size to aim at", "pin a bore, an outside, a slot, a groove, flats or a keyway");
  }
  const auto aimed_mm = SizeAimed_mm(machine, pin);
  if (!aimed_mm) return Ok{};
  if (size == nullptr) return Refused(ErrorCode::kUnknownSubject, pin, "it has no size to aim at", "pin the technique of the requirement");
  if (*aimed_mm >= size->lower_mm && *aimed_mm <= size->upper_mm) return Ok{};
  return Refused(ErrorCode::kOutOfRange, pin, fmt::format("its limits are {} to {} mm", Num(size->lower_mm), Num(size->upper_mm)),
                 "aim between them, or change the limits in the sheet");
}

// A face that comes with another cut, or is the stock's own, has no setup, machine or tool of its own.
Status CheckCut(const Pin& pin, const Machine& machine) {
  const FeatureRef ref = RefOf(pin);
  const Part* part = machine.FindPart(ref.part);
  for (const FeatureId& id : {ref.feature, FeatureId(std::string(WordIn(pin)))}) {
    const Feature* feature = part == nullptr ? nullptr : part->Find(id);
    if (feature == nullptr) continue;
    if (IsAsSupplied(*feature)) return Refused(ErrorCode::kUnknownSubject, pin, fmt::format("{} stays as it is supplied and is not cut", id.text()), "take the pin out");
    if (!IsCarried(*part, *feature)) continue;
    std::vector<std::string> by;
    for (const Feature& f : part->features) {
      const auto carried = CarriedFaces(*part, f);
      if (std::find(carried.begin(), carried.end(), id) != carried.end()) by.push_back(FeatureRef{ref.part, f.name}.text());
    }
    return Refused(ErrorCode::kUnknownSubject, pin, fmt::format("{} comes with another cut", id.text()), "pin what makes it: " + ListOf(by));
  }
  return Ok{};
}

}  // namespace

const Size* AimedSizeOf(const Feature& feature) {
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return &outer->diameter;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) return hole->thread ? nullptr : &hole->diameter;
  if (const auto* slot = std::get_if<Slot>(&feature.shape)) return &slot->width;
  if (const auto* groove = std::get_if<Groove>(&feature.shape)) return &groove->diameter;
  if (const auto* flats = std::get_if<Flats>(&feature.shape)) return &flats->across;
  if (const auto* keyway = std::get_if<Keyway>(&feature.shape)) return &keyway->width;
  return nullptr;
}

FeatureRef RefOf(const Pin& pin) {
  const std::size_t dot = pin.subject.find('.');
  if (dot == std::string::npos) return {PartId(pin.subject), FeatureId()};
  return {PartId(pin.subject.substr(0, dot)), FeatureId(pin.subject.substr(dot + 1))};
}

Status CheckPins(const Machine& machine, const Subjects& subjects, const Choices& choices) {
  for (const Pin& pin : choices.pins) {
    Status checked = Ok{};
    if (pin.kind == PinKind::kTechnique) checked = CheckTechnique(pin, subjects);
    if (pin.kind == PinKind::kAim) checked = CheckAim(pin, machine, subjects);
    if (pin.kind == PinKind::kMachine || pin.kind == PinKind::kHolding || pin.kind == PinKind::kTool || pin.kind == PinKind::kSetup) {
      checked = CheckCut(pin, machine);
    }
    if (!checked) return checked;
  }
  return Ok{};
}

std::map<FeatureRef, OwnAim> OwnAims(const Machine& machine, const Choices& choices) {
  std::map<FeatureRef, OwnAim> aims;
  for (const Pin& pin : choices.pins) {
    if (pin.kind != PinKind::kAim || pin.value == WordOf(AimKind::kFitToMeasured)) continue;
    OwnAim& aim = aims[RefOf(pin)];
    if (const auto size = SizeAimed_mm(machine, pin)) aim.size_mm = *size;
    if (const auto kind = EnumOf<AimKind>(pin.value)) aim.kind = *kind;
  }
  return aims;
}

std::string_view WordIn(const Pin& pin) {
  std::string_view word = pin.value;
  if (word.starts_with(kNot)) word.remove_prefix(kNot.size());
  return word;
}

bool Agrees(const Pin& pin, std::string_view word) { return (WordIn(pin) == word) != std::string_view(pin.value).starts_with(kNot); }

bool AllowsSuit(const Pin& pin, const SuitPair& pair, Technique technique) {
  if (pin.kind == PinKind::kTechnique) return pin.subject != pair.requirement.text() || Agrees(pin, WordOf(technique));
  if (pin.kind != PinKind::kAim || pin.subject != pair.shaft.text()) return true;
  const auto kind = EnumOf<AimKind>(pin.value);
  if (!kind) return technique != Technique::kFitToMeasured;  // a size of the builder's own
  if (*kind == AimKind::kOneShot) return technique == Technique::kByCoordinates;
  return pin.value == WordOf(technique);
}

}  // namespace fitwright::planner
