#include "fitwright/files/machine_sections.h"
#include "fitwright/files/size_reader.h"

namespace fitwright::files {
namespace {

// within_mrad, or within with over.
bool ReadAngleLimit(TableReader& table, Requirement& r) {
  const auto mrad = table.Number("within_mrad");
  const auto within_mm = table.PositiveLength_mm("within");
  const auto over_mm = table.PositiveLength_mm("over");
  if (!table.AtMostOne({"within_mrad", "within"}) || !table.AtMostOne({"within_mrad", "over"})) {
    return false;
  }
  if (mrad && *mrad <= 0) {
    table.Fault(ErrorCode::kNotPositive, "within_mrad", "within_mrad is not above zero",
                "write milliradians above zero");
    return false;
  }
  if (table.Has("within_mrad")) {
    if (mrad) r.upper = *mrad * 1e-3;
    return mrad.has_value();
  }
  table.Require("within", "write within_mrad = 0.5, or within = 0.02 with over = 25");
  if (table.Has("within")) table.Require("over", "write the length it is measured over");
  if (within_mm && over_mm) r.upper = *within_mm / *over_mm;
  return r.upper.has_value();
}

bool ReadWithin(TableReader& table, Requirement& r) {
  r.upper = table.PositiveLength_mm("within");
  table.Require("within", "write within = 0.05");
  return r.upper.has_value();
}

bool ReadLeast(TableReader& table, Requirement& r) {
  r.lower = table.PositiveLength_mm("least");
  table.Require("least", "write least = 1.5");
  return r.lower.has_value();
}

bool ReadTwoLimits(TableReader& table, Requirement& r) {
  if (table.Has("within")) {
    table.Fault(ErrorCode::kConflictingKeys, "within",
                fmt::format("{} has two limits", WordOf(r.kind)),
                "write limits = [least, greatest] instead");
    return false;
  }
  const auto bounds = ReadBounds(table, "limits");
  table.Require("limits", "write limits = [least, greatest]");
  if (!bounds) return false;
  r.lower = bounds->lower;
  r.upper = bounds->upper;
  return true;
}

// Of a plain number in the formula's own unit.
bool ReadPlainLimits(TableReader& table, Requirement& r) {
  const auto pair = table.Numbers("limits", 2, 2);
  table.Require("limits", "write limits = [least, greatest] in the value's unit");
  if (!pair) return false;
  if (!((*pair)[0] < (*pair)[1])) {
    table.Fault(ErrorCode::kLimitsSwapped, "limits", "the first limit is not below the second",
                "write the least first: [least, greatest]");
    return false;
  }
  r.lower = (*pair)[0];
  r.upper = (*pair)[1];
  return true;
}

bool ReadRequirementLimits(TableReader& table, Requirement& r) {
  switch (r.kind) {
    case RequirementKind::kScrewsEnter:
      return true;
    case RequirementKind::kSquare:
    case RequirementKind::kParallel:
    case RequirementKind::kAngle:
      return ReadAngleLimit(table, r);
    case RequirementKind::kFlush:
    case RequirementKind::kAxesMeet:
    case RequirementKind::kInLine:
    case RequirementKind::kRunOut:
      return ReadWithin(table, r);
    case RequirementKind::kWallLeft:
    case RequirementKind::kEngagement:
      return ReadLeast(table, r);
    case RequirementKind::kClearance:
    case RequirementKind::kInterference:
    case RequirementKind::kDistance:
    case RequirementKind::kProud:
    case RequirementKind::kEndFloat:
      return ReadTwoLimits(table, r);
    case RequirementKind::kFormula:
      return ReadPlainLimits(table, r);
  }
  return false;
}

bool ReadOfJoint(TableReader& table, Requirement& r) {
  const auto joint = table.String("joint");
  table.Require("joint", "name the screwed_pattern: joint = \"NAME\"");
  if (joint) r.joint = JointId(*joint);
  return joint.has_value();
}

bool ReadGaps(TableReader& table, Requirement& r) {
  const auto pairs = table.StringLists("gaps", 2);
  table.Require("gaps", "write the gaps: gaps = [[\"disc.face\", \"bearing.low_end\"]]");
  if (!pairs) return false;
  for (const auto& pair : *pairs) {
    const auto a = RefOf(table, "gaps", pair[0]);
    const auto b = RefOf(table, "gaps", pair[1]);
    if (!a || !b) return false;
    r.gaps.emplace_back(*a, *b);
  }
  return true;
}

// name = "part.feature" (its size), or ["part.feature", "part.feature"] (how far apart).
std::optional<FormulaName> ReadFormulaName(TableReader& names, const std::string& key) {
  FormulaName name;
  name.name = key;
  if (!names.HasList(key)) {
    const auto ref = ReadRef(names, key);
    if (!ref) return std::nullopt;
    name.a = *ref;
    return name;
  }
  const auto texts = names.Strings(key);
  if (!texts) return std::nullopt;
  if (texts->size() != 2) {
    names.Fault(ErrorCode::kWrongCount, key, fmt::format("{} stand here", texts->size()),
                "write two features for a distance, or one as text for its size");
    return std::nullopt;
  }
  const auto a = RefOf(names, key, (*texts)[0]);
  const auto b = RefOf(names, key, (*texts)[1]);
  if (!a || !b) return std::nullopt;
  name.a = *a;
  name.b = *b;
  return name;
}

bool ReadFormula(TableReader& table, Requirement& r) {
  Formula formula;
  const auto value = table.String("value");
  table.Require("value", "write the expression: value = \"pi / 4 * bore ^ 2 * stroke / 1000\"");
  formula.unit = table.String("unit").value_or("");
  table.Require("unit", "say what the value is in: unit = \"cm3\", or \"\" for a plain number");
  auto names = table.Table("names");
  table.Require("names", "say what each name stands for: names = { bore = \"liner.bore\" }");
  if (!names) return false;
  bool sound = value.has_value();
  for (const std::string& key : names->Keys()) {
    const auto name = ReadFormulaName(*names, key);
    sound &= name.has_value();
    if (name) formula.names.push_back(*name);
  }
  formula.expression = value.value_or("");
  r.formula = std::move(formula);
  return sound;
}

bool ReadTwoFeatures(TableReader& table, Requirement& r) {
  const auto a = ReadRef(table, "a");
  const auto b = ReadRef(table, "b");
  if (r.kind == RequirementKind::kDistance) r.at_W_mm = table.Point_mm("at");
  if (r.kind == RequirementKind::kInLine) r.extended = table.Bool("extended").value_or(false);
  bool sound = a.has_value() && b.has_value();
  if (r.kind == RequirementKind::kAngle) {
    const auto angle_deg = table.Angle_deg("angle");
    table.Require("angle", "write the angle between the two, in degrees: angle = 63.43");
    sound &= angle_deg.has_value();
    r.nominal_rad = angle_deg.value_or(0) * kRadPerDeg;
  }
  if (!sound) return false;
  r.a = *a;
  r.b = *b;
  return true;
}

bool ReadSubject(TableReader& table, Requirement& r) {
  switch (r.kind) {
    case RequirementKind::kScrewsEnter:
    case RequirementKind::kEngagement:
      return ReadOfJoint(table, r);
    case RequirementKind::kEndFloat:
      return ReadGaps(table, r);
    case RequirementKind::kFormula:
      return ReadFormula(table, r);
    case RequirementKind::kClearance:
    case RequirementKind::kInterference:
    case RequirementKind::kFlush:
    case RequirementKind::kSquare:
    case RequirementKind::kDistance:
    case RequirementKind::kAxesMeet:
    case RequirementKind::kParallel:
    case RequirementKind::kAngle:
    case RequirementKind::kInLine:
    case RequirementKind::kRunOut:
    case RequirementKind::kProud:
    case RequirementKind::kWallLeft:
      return ReadTwoFeatures(table, r);
  }
  return false;
}

}  // namespace

void ReadRequirement(TableReader table, Machine& machine) {
  std::vector<std::string> taken;
  for (const Requirement& r : machine.requirements) taken.push_back(r.name.text());
  Requirement requirement;
  const auto name = ReadNewName(table, taken);
  const auto kind = table.Word<RequirementKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<RequirementKind>())));
  requirement.words = table.String("say").value_or("");
  if (!kind) return;
  requirement.kind = *kind;
  const bool named = ReadSubject(table, requirement);
  const bool limited = ReadRequirementLimits(table, requirement);
  table.Finish();
  if (!name || !named || !limited) return;
  requirement.name = RequirementId(*name);
  table.Locate(fmt::format("requirements.{}", *name));
  machine.requirements.push_back(requirement);
}

}  // namespace fitwright::files
