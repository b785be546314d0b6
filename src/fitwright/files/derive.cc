#include <algorithm>

#include "fitwright/files/machine_reader.h"

namespace fitwright::files {

RequirementId FreeRequirementName(const Machine& machine, const std::string& wanted) {
  std::string name = wanted;
  const auto taken = [&](const Requirement& r) { return r.name.text() == name; };
  for (int n = 2; std::any_of(machine.requirements.begin(), machine.requirements.end(), taken);
       ++n) {
    name = fmt::format("{}_{}", wanted, n);
  }
  return RequirementId(name);
}

namespace {

void DeriveScrews(const Joint& joint, Machine& machine) {
  for (const Requirement& r : machine.requirements) {
    if (r.kind == RequirementKind::kScrewsEnter && r.joint == joint.name) return;
  }
  Requirement r;
  r.name = FreeRequirementName(machine, joint.name.text() + "_enter");
  r.kind = RequirementKind::kScrewsEnter;
  r.joint = joint.name;
  r.derived = true;
  machine.requirements.push_back(r);
}

// The limits of bore - shaft that the two sizes' own limits give.
void DeriveFit(const Joint& joint, Machine& machine) {
  const bool shaft_moves = std::holds_alternative<OuterDiameter>(machine.Find(joint.moving)->shape);
  const FeatureRef& shaft_ref = shaft_moves ? joint.moving : joint.fixed;
  const FeatureRef& bore_ref = shaft_moves ? joint.fixed : joint.moving;
  const Size& shaft = std::get<OuterDiameter>(machine.Find(shaft_ref)->shape).diameter;
  const Size& bore = std::get<Hole>(machine.Find(bore_ref)->shape).diameter;
  if (shaft.origin == LimitsOrigin::kGeneralTolerance ||
      bore.origin == LimitsOrigin::kGeneralTolerance) {
    return;
  }
  for (const Requirement& r : machine.requirements) {
    const bool fits =
        r.kind == RequirementKind::kClearance || r.kind == RequirementKind::kInterference;
    if (fits && r.a == shaft_ref && r.b == bore_ref) return;
  }
  const double least = bore.lower_mm - shaft.upper_mm;
  const double greatest = bore.upper_mm - shaft.lower_mm;
  Requirement r;
  const bool tight = greatest <= 0 || joint.kind == JointKind::kPressFit;
  r.kind = tight ? RequirementKind::kInterference : RequirementKind::kClearance;
  r.name = FreeRequirementName(machine, fmt::format("{}_{}", joint.name.text(), WordOf(r.kind)));
  r.a = shaft_ref;
  r.b = bore_ref;
  r.lower = tight ? -greatest : least;
  r.upper = tight ? -least : greatest;
  r.derived = true;
  machine.requirements.push_back(r);
}

}  // namespace

void DeriveRequirements(Machine& machine, ReadLog& log) {
  for (const Joint& joint : machine.joints) {
    const bool pinned = joint.kind == JointKind::kPinned && joint.pin;
    if (joint.kind == JointKind::kScrewedPattern || pinned) DeriveScrews(joint, machine);
    if (IsRoundJoint(joint.kind)) DeriveFit(joint, machine);
  }
  DeriveGeometric(machine, log);
  std::vector<std::string> derived;
  for (const Requirement& r : machine.requirements) {
    if (r.derived) derived.push_back(r.name.text());
  }
  if (derived.empty()) return;
  log.assumed.push_back(
      fmt::format("Requirements that follow from joints, fits and geometric limits: {}.", ListOf(derived, 100)));
}

}  // namespace fitwright::files
