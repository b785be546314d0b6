#include <fmt/format.h>

#include <algorithm>

#include "fitwright/model/already_made.h"
#include "fitwright/model/known_words.h"
#include "fitwright/model/validate.h"
#include "fitwright/units/length.h"

namespace fitwright {
namespace {

const std::vector<std::string> kSides{"+x", "-x", "+y", "-y", "+z", "-z"};

bool Has(const std::vector<std::string>& words, const std::string& word) { return std::find(words.begin(), words.end(), word) != words.end(); }

struct PinCheck {
  const Machine& machine;
  const Shop& shop;
  const Pin& pin;
  std::string path;
  std::vector<ModelFault>& faults;

  void Add(ErrorCode code, std::string_view key, std::string message, std::string remedy) {
    faults.push_back(ModelFault{code, fmt::format("{}.{}", path, key), std::move(message),
                                std::move(remedy), ""});
  }
  void UnknownSubject(std::string what, const std::vector<std::string>& known) {
    Add(ErrorCode::kUnknownSubject, "subject", fmt::format("the machine has no such {}", what),
        fmt::format("write \"{}\", or one of: {}", NearestOf(pin.subject, known), ListOf(known)));
  }
  void UnknownValue(const std::vector<std::string>& known) {
    Add(ErrorCode::kUnknownWord, "value", "the word is not known here",
        fmt::format("write \"{}\", or one of: {}", NearestOf(pin.value, known), ListOf(known)));
  }
  std::vector<std::string> PartNames() const {
    std::vector<std::string> names;
    for (const PartUse& use : machine.uses) names.push_back(use.part.text());
    return names;
  }
  // The value, without the "not " that forbids it.
  std::string Word() const { return pin.value.starts_with("not ") ? pin.value.substr(4) : pin.value; }
  bool HasPart(const std::string& name) const { return machine.FindUse(PartId(name)) != nullptr; }

  void ForTechnique() {
    std::vector<std::string> known;
    for (const Joint& j : machine.joints) known.push_back(j.name.text());
    for (const Requirement& r : machine.requirements) known.push_back(r.name.text());
    if (std::find(known.begin(), known.end(), pin.subject) == known.end()) {
      UnknownSubject("joint or requirement", known);
    }
    if (!EnumOf<Technique>(Word())) UnknownValue(WordList<Technique>());
  }
  void ForAim() {
    const std::size_t dot = pin.subject.find('.');
    const FeatureRef ref{PartId(pin.subject.substr(0, dot)),
                         FeatureId(dot == std::string::npos ? "" : pin.subject.substr(dot + 1))};
    if (machine.Find(ref) == nullptr) {
      std::vector<std::string> known;
      for (const Part& part : machine.parts) {
        for (const Feature& f : part.features) {
          known.push_back(FeatureRef{part.name, f.name}.text());
        }
      }
      UnknownSubject("feature", known);
    }
    if (!EnumOf<AimKind>(pin.value) && !ParseLength_mm(pin.value, machine.display_unit)) {
      UnknownValue(WordList<AimKind>());
    }
  }
  // "body", "body.+z" or "body.bore": the part, where the subject is one of what is wanted.
  struct Wanted {
    bool part = false;
    bool side = false;
    bool feature = false;
  };
  const Part* PartWith(const Wanted& wanted) {
    const std::size_t dot = pin.subject.find('.');
    const std::string name = pin.subject.substr(0, dot);
    const std::string rest = dot == std::string::npos ? "" : pin.subject.substr(dot + 1);
    const Part* part = HasPart(name) ? machine.FindPart(PartId(name)) : nullptr;
    if (part == nullptr || machine.FindBought(PartId(name)) != nullptr) {
      UnknownSubject("part that is made", PartNames());
      return nullptr;
    }
    const bool known = rest.empty() ? wanted.part : (wanted.side && Has(kSides, rest)) || (wanted.feature && part->Find(FeatureId(rest)) != nullptr);
    if (known) return part;
    std::vector<std::string> words;
    if (wanted.part) words.push_back(name);
    for (const std::string& side : kSides) {
      if (wanted.side) words.push_back(fmt::format("{}.{}", name, side));
    }
    for (const Feature& f : part->features) {
      if (wanted.feature) words.push_back(fmt::format("{}.{}", name, f.name.text()));
    }
    UnknownSubject(wanted.side ? "part, side or feature" : wanted.part ? "part or feature" : "feature", words);
    return nullptr;
  }
  void ForMachine() {
    PartWith({true, true, true});
    std::vector<std::string> known;
    for (const MachineTool& tool : shop.machines) known.push_back(tool.name.text());
    if (!Has(known, Word())) UnknownValue(known);
  }
  void ForHolding() {
    PartWith({true, true, true});
    std::vector<std::string> known;
    for (const HoldingDevice& device : shop.holding) known.push_back(device.name.text());
    for (const std::string& way : WordList<HoldingKind>()) {
      if (!Has(known, way)) known.push_back(way);
    }
    if (!Has(known, Word())) UnknownValue(known);
  }
  void ForTool() {
    const bool banned = pin.value.starts_with("not ");
    PartWith({banned, false, true});
    std::vector<std::string> known;
    for (const Tool& tool : shop.tools) known.push_back(tool.name.text());
    if (!Has(known, Word())) UnknownValue(known);
  }
  void ForSetup() {
    const Part* part = PartWith({false, false, true});
    if (part == nullptr || Has(kSides, Word())) return;
    const bool itself = pin.subject == fmt::format("{}.{}", part->name.text(), Word());
    if (!itself && part->Find(FeatureId(Word())) != nullptr) return;
    std::vector<std::string> known = kSides;
    for (const Feature& f : part->features) known.push_back(f.name.text());
    UnknownValue(known);
  }
  void ForMade() {
    const Part* part = PartWith({true, false, true});
    const std::size_t dot = pin.subject.find('.');
    const Feature* feature = part == nullptr || dot == std::string::npos ? nullptr : part->Find(FeatureId(pin.subject.substr(dot + 1)));
    if (feature != nullptr && !CanBeAlreadyMade(*part, *feature)) {
      Add(ErrorCode::kWrongFeatureKind, "subject", "only an outermost face, a hole or a chamfer may be made before the rest",
          fmt::format("say that all of {} is made, or leave it to the plan", part->name.text()));
    }
    if (pin.value != "already") UnknownValue({"already"});
  }
  // "body.+z": a part and the side that is up.
  std::string PartOfSetup() {
    const std::size_t dot = pin.subject.find('.');
    const std::string part = pin.subject.substr(0, dot);
    const std::string side = dot == std::string::npos ? "" : pin.subject.substr(dot + 1);
    if (!HasPart(part) || !Has(kSides, side)) {
      std::vector<std::string> known;
      for (const std::string& name : PartNames()) {
        for (const std::string& s : kSides) known.push_back(fmt::format("{}.{}", name, s));
      }
      UnknownSubject("part and side", known);
      return "";
    }
    return part;
  }
  void ForZero() {
    PartOfSetup();
    if (Word() != "edges" && Word() != "bore") UnknownValue({"edges", "bore"});
  }
  void ForFirstFace() {
    const std::string name = PartOfSetup();
    const Part* part = name.empty() ? nullptr : machine.FindPart(PartId(name));
    if (part == nullptr || part->Find(FeatureId(Word())) != nullptr) return;
    std::vector<std::string> known;
    for (const Feature& f : part->features) known.push_back(f.name.text());
    UnknownValue(known);
  }
  void ForOrder() {
    if (!HasPart(pin.subject)) UnknownSubject("part", PartNames());
    if (!HasPart(pin.value)) {
      UnknownValue(PartNames());
    } else if (pin.value == pin.subject) {
      Add(ErrorCode::kSamePart, "value", "a part cannot come before itself",
          "name the part that comes before");
    }
  }
};

}  // namespace

std::vector<ModelFault> ValidateChoices(const Choices& choices, const Machine& machine, const Shop& shop) {
  std::vector<ModelFault> faults;
  for (std::size_t i = 0; i < choices.pins.size(); ++i) {
    const Pin& pin = choices.pins[i];
    PinCheck check{machine, shop, pin, fmt::format("pins.{}", i + 1), faults};
    switch (pin.kind) {
      case PinKind::kTechnique:
        check.ForTechnique();
        break;
      case PinKind::kAim:
        check.ForAim();
        break;
      case PinKind::kZero:
        check.ForZero();
        break;
      case PinKind::kFirstFace:
        check.ForFirstFace();
        break;
      case PinKind::kOrder:
        check.ForOrder();
        break;
      case PinKind::kMachine:
        check.ForMachine();
        break;
      case PinKind::kHolding:
        check.ForHolding();
        break;
      case PinKind::kTool:
        check.ForTool();
        break;
      case PinKind::kSetup:
        check.ForSetup();
        break;
      case PinKind::kMade:
        check.ForMade();
        break;
    }
  }
  return faults;
}

}  // namespace fitwright
