#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/model/known_words.h"
#include "fitwright/model/machine_check.h"
#include "fitwright/units/length.h"

namespace fitwright {

void MachineCheck::Add(ErrorCode code, std::string path, std::string message, std::string remedy,
                       std::string value) {
  faults.push_back(
      ModelFault{code, std::move(path), std::move(message), std::move(remedy), std::move(value)});
}

void MachineCheck::UnknownPart(const FeatureRef& ref, const std::string& path) {
  const PartId sheet = SheetIdOf(ref.part);
  const std::string& wanted = ref.feature.text();
  if (sheet != ref.part && machine.FindUse(sheet) != nullptr) {
    const std::size_t stand = machine.FindUse(sheet)->copies_X_WP.size() + 1;
    Add(ErrorCode::kUnknownCopy, path,
        fmt::format("{} of {} stand in the machine", stand, sheet.text()),
        stand < 2
            ? fmt::format("write \"{}.{}\", or give {} places = [...]", sheet.text(), wanted,
                          sheet.text())
            : fmt::format("write \"{}.{}\" for the first, \"{}#2.{}\" to \"{}#{}.{}\" for "
                          "the others, or add a place",
                          sheet.text(), wanted, sheet.text(), wanted, sheet.text(), stand, wanted),
        ref.text());
    return;
  }
  if (machine.FindBought(sheet) != nullptr) {
    Add(ErrorCode::kUnknownPart, path, fmt::format("{} is bought and has no place", sheet.text()),
        "give it at = [x, y, z] (of the kinds that have a shape), or name something else",
        ref.text());
    return;
  }
  std::vector<std::string> names;
  for (const PartUse& use : machine.uses) names.push_back(use.part.text());
  for (const PartUse& use : machine.bought_uses) names.push_back(use.part.text());
  Add(ErrorCode::kUnknownPart, path, fmt::format("the machine has no part {}", ref.part.text()),
      fmt::format("write \"{}.{}\", or one of: {}", NearestOf(ref.part.text(), names), wanted,
                  ListOf(names)),
      ref.text());
}

const Feature* MachineCheck::Resolve(const FeatureRef& ref, const std::string& path) {
  if (machine.FindUse(ref.part) == nullptr) {
    UnknownPart(ref, path);
    return nullptr;
  }
  const Part* part = machine.FindPart(ref.part);
  // A sheet with no readable features has been reported.
  if (part == nullptr || (part->features.empty() && depth == ValidateDepth::kNames)) return nullptr;
  const Feature* feature = part->Find(ref.feature);
  if (feature != nullptr) return feature;
  std::vector<std::string> names;
  for (const Feature& f : part->features) names.push_back(f.name.text());
  Add(ErrorCode::kUnknownFeature, path,
      fmt::format("{} has no feature {}", ref.part.text(), ref.feature.text()),
      fmt::format("write \"{}.{}\", or one of: {}", ref.part.text(),
                  NearestOf(ref.feature.text(), names), ListOf(names)),
      ref.text());
  return nullptr;
}

void MachineCheck::WrongKind(const FeatureRef& ref, const std::string& path,
                             std::string_view what) {
  Add(ErrorCode::kWrongFeatureKind, path, fmt::format("{} is not {}", ref.text(), what),
      fmt::format("name {}", what), ref.text());
}

std::optional<RoundLine> RoundLineIn(const Feature& feature, const Pose& X_WP) {
  RoundLine line;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    if (hole->entries_P_mm.empty()) return std::nullopt;
    line = {
        {hole->entries_P_mm.front(), hole->into_P}, 0, hole->depth_mm, hole->diameter.middle_mm()};
  } else if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    line = {outer->axis_P, outer->from_mm, outer->to_mm, outer->diameter.middle_mm()};
  } else if (const auto* groove = std::get_if<Groove>(&feature.shape)) {
    line = {groove->axis_P, groove->from_mm, groove->to_mm, groove->diameter.middle_mm()};
  } else if (const auto* taper = std::get_if<Taper>(&feature.shape)) {
    line = {taper->axis_P, taper->from_mm, taper->to_mm, taper->start_diameter.middle_mm()};
  } else {
    return std::nullopt;
  }
  line.axis_W = Axis3{X_WP * line.axis_W.point_mm, X_WP.linear() * line.axis_W.direction};
  return line;
}

double AsideOf(const Axis3& axis, const Vec3& point) {
  const Vec3 offset = point - axis.point_mm;
  return (offset - offset.dot(axis.direction) * axis.direction).norm();
}

bool AreParallel(const Vec3& a, const Vec3& b) {
  constexpr double kParallel =
      1e-6;  // sine of the angle between drawn directions that are the same
  return a.cross(b).norm() < kParallel;
}

std::string MmText(double mm) { return FormatTrimmed(mm, 3) + " mm"; }

namespace {

template <typename List, typename NameOf>
void CheckTwice(const List& list, NameOf name_of, const std::string& group, std::string_view key,
                MachineCheck& check) {
  std::set<std::string> seen;
  for (const auto& item : list) {
    const std::string name = name_of(item);
    if (seen.insert(name).second) continue;
    check.Add(ErrorCode::kDuplicateName, fmt::format("{}.{}.{}", group, name, key),
              "the name is given twice", "names are given once: choose another", name);
  }
}

}  // namespace

std::vector<ModelFault> ValidateMachine(const Machine& machine, ValidateDepth depth) {
  std::vector<ModelFault> faults;
  for (const Part& part : machine.parts) {
    // What is wrong with a part is wrong with its mirror image, and is said of the part.
    if (part.mirror_of && machine.FindPart(*part.mirror_of) != nullptr) continue;
    std::vector<ModelFault> own;
    if (depth == ValidateDepth::kGeometry) {
      ValidatePart(part, own);
    } else {
      ValidatePartNames(part, own);
    }
    faults.insert(faults.end(), own.begin(), own.end());
  }
  // Places between parts mean nothing while a part is unsound.
  const ValidateDepth between = faults.empty() ? depth : ValidateDepth::kNames;
  MachineCheck check{machine, between, faults};
  CheckTwice(
      machine.uses, [](const PartUse& u) { return u.part.text(); }, "uses", "sheet", check);
  CheckTwice(
      machine.bought, [](const BoughtPart& b) { return b.part.name.text(); }, "bought", "name",
      check);
  CheckTwice(
      machine.joints, [](const Joint& j) { return j.name.text(); }, "joints", "name", check);
  CheckTwice(
      machine.requirements, [](const Requirement& r) { return r.name.text(); }, "requirements",
      "name", check);
  for (const BoughtPart& ready : machine.bought) {
    const auto same = [&](const PartUse& use) { return use.part == ready.part.name; };
    if (std::none_of(machine.uses.begin(), machine.uses.end(), same)) continue;
    check.Add(ErrorCode::kDuplicateName, fmt::format("bought.{}.name", ready.part.name.text()),
              "a part that is made has this name", "names are given once: choose another");
  }
  for (const PartUse& use : machine.uses) {
    if (use.quantity >= 1) continue;
    check.Add(ErrorCode::kNotPositive, fmt::format("uses.{}.quantity", use.part.text()),
              "the quantity is not above zero", "write 1 or more");
  }
  for (const Joint& joint : machine.joints) CheckJoint(check, joint);
  for (const Requirement& requirement : machine.requirements) {
    CheckRequirement(check, requirement);
  }
  return faults;
}

}  // namespace fitwright
