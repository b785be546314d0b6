#include "fitwright/files/machine_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/files/part_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/trade/threads.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

// Turn about axis k; whole quarter turns are exact.
Eigen::Matrix3d Turn(int k, double angle_deg) {
  const double quarters = angle_deg / 90.0;
  double c = std::cos(angle_deg * kRadPerDeg);
  double s = std::sin(angle_deg * kRadPerDeg);
  if (quarters == std::floor(quarters)) {
    c = std::round(c);
    s = std::round(s);
  }
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();
  const int a = (k + 1) % 3;
  const int b = (k + 2) % 3;
  turn(a, a) = c;
  turn(a, b) = -s;
  turn(b, a) = s;
  turn(b, b) = c;
  return turn;
}

void ReadUse(TableReader table, Machine& machine) {
  const auto sheet = table.Name("sheet");
  table.Require("sheet", "name the sheet: sheet = \"bush\" for parts/bush.toml");
  const auto quantity = table.Integer("quantity", 1, 1000);
  const auto at = table.Point_mm("at");
  const auto turn_deg = table.Angles_deg("turn", 3);
  table.Finish();
  if (!sheet) return;
  PartUse use;
  use.part = PartId(*sheet);
  if (machine.FindUse(use.part) != nullptr) {
    table.Fault(ErrorCode::kDuplicateName, "sheet", "the sheet is used twice",
                "write it once, with quantity = 2");
    return;
  }
  use.quantity = static_cast<int>(quantity.value_or(1));
  if (at) use.X_WP.translation() = *at;
  if (turn_deg) {
    use.X_WP.linear() = Turn(2, (*turn_deg)[2]) * Turn(1, (*turn_deg)[1]) * Turn(0, (*turn_deg)[0]);
  }
  machine.uses.push_back(use);
  table.Locate(fmt::format("uses.{}", *sheet));
}

std::optional<FeatureRef> ReadRef(TableReader& table, std::string_view key) {
  const auto text = table.String(key);
  table.Require(key, fmt::format("write {} = \"part.feature\"", key));
  if (!text) return std::nullopt;
  const std::size_t dot = text->find('.');
  if (dot == std::string::npos || dot == 0 || dot + 1 == text->size() ||
      text->find('.', dot + 1) != std::string::npos) {
    table.Fault(ErrorCode::kBadName, key, "this does not name a feature of a part",
                "write \"part.feature\", with one point between");
    return std::nullopt;
  }
  return FeatureRef{PartId(text->substr(0, dot)), FeatureId(text->substr(dot + 1))};
}

std::optional<Screw> ReadScrew(TableReader& table) {
  auto screw = table.Table("screw");
  table.Require("screw", "write screw = { thread = \"M3\", length = 12 }");
  if (!screw) return std::nullopt;
  const auto thread = screw->String("thread");
  screw->Require("thread", "write thread = \"M3\"");
  const auto length_mm = screw->PositiveLength_mm("length");
  screw->Require("length", "write the length under the head");
  screw->Finish();
  if (!thread || !length_mm) return std::nullopt;
  const auto* row = trade::FindThread(*thread);
  if (row == nullptr) {
    std::vector<std::string> nearest;
    for (const auto name : trade::NearestThreads(*thread)) nearest.emplace_back(name);
    screw->Fault(ErrorCode::kUnknownThread, "thread", "the thread is not in the table",
                 fmt::format("ISO metric coarse from M1.6 to M20; nearest: {}", ListOf(nearest)));
    return std::nullopt;
  }
  return Screw{std::string(row->designation), *length_mm, row->major_mm, row->pitch_mm};
}

void ReadFloat(TableReader& table, Joint& joint) {
  const auto kind = table.Word<FloatKind>("float");
  const auto push = table.Side("push");
  joint.float_kind = kind.value_or(FloatKind::kChance);
  joint.float_assumed = !table.Has("float");
  if (table.Has("float") && !kind) return;
  if (joint.float_kind == FloatKind::kPushed) {
    table.Require("push", "name the way it is pushed: push = \"-z\"");
    if (push) joint.push_W = *push;
    return;
  }
  if (!table.Has("push")) return;
  table.Fault(ErrorCode::kConflictingKeys, "push", "push belongs to a float that is pushed",
              "write float = \"pushed\", or take push out");
}

std::optional<std::string> ReadName(TableReader& table, const std::vector<std::string>& taken) {
  const auto name = table.Name("name");
  table.Require("name", "give it a name");
  if (!name || std::find(taken.begin(), taken.end(), *name) == taken.end()) return name;
  table.Fault(ErrorCode::kDuplicateName, "name", "the name is given twice",
              "names are given once: choose another");
  return std::nullopt;
}

// Joints for which a default was taken.
struct JointNotes {
  std::vector<std::string> floats;
  std::vector<std::string> apart;
};

bool HasPlay(JointKind kind) {
  return kind == JointKind::kScrewedPattern || kind == JointKind::kSpigotInBore;
}

void ReadJoint(TableReader table, Machine& machine, JointNotes& notes) {
  std::vector<std::string> taken;
  for (const Joint& j : machine.joints) taken.push_back(j.name.text());
  Joint joint;
  const auto name = ReadName(table, taken);
  const auto kind = table.Word<JointKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<JointKind>())));
  const auto fixed = ReadRef(table, "fixed");
  const auto moving = ReadRef(table, "moving");
  joint.comes_apart = table.Bool("comes_apart").value_or(true);
  const bool apart_assumed = !table.Has("comes_apart");
  ReadFloat(table, joint);
  if (kind == JointKind::kScrewedPattern) joint.screw = ReadScrew(table);
  if (!kind) table.Has("screw");
  table.Finish();
  if (!name || !kind) return;
  joint.name = JointId(*name);
  joint.kind = *kind;
  table.Locate(fmt::format("joints.{}", *name));
  if (!fixed || !moving) return;
  joint.fixed = *fixed;
  joint.moving = *moving;
  machine.joints.push_back(joint);
  if (apart_assumed) notes.apart.push_back(*name);
  if (joint.float_assumed && HasPlay(joint.kind)) notes.floats.push_back(*name);
}

// within, within_mrad with over, or limits, as the kind asks.
bool ReadRequirementLimits(TableReader& table, Requirement& r) {
  const auto within_mm = table.PositiveLength_mm("within");
  switch (r.kind) {
    case RequirementKind::kScrewsEnter:
      return true;
    case RequirementKind::kSquare: {
      const auto mrad = table.Number("within_mrad");
      const auto over_mm = table.PositiveLength_mm("over");
      if (!table.AtMostOne({"within_mrad", "within"}) ||
          !table.AtMostOne({"within_mrad", "over"})) {
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
    case RequirementKind::kFlush:
    case RequirementKind::kAxesMeet:
      table.Require("within", "write within = 0.05");
      r.upper = within_mm;
      return within_mm.has_value();
    case RequirementKind::kClearance:
    case RequirementKind::kInterference:
    case RequirementKind::kDistance:
      break;
  }
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

void ReadRequirement(TableReader table, Machine& machine) {
  std::vector<std::string> taken;
  for (const Requirement& r : machine.requirements) taken.push_back(r.name.text());
  Requirement requirement;
  const auto name = ReadName(table, taken);
  const auto kind = table.Word<RequirementKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<RequirementKind>())));
  requirement.words = table.String("say").value_or("");
  if (!kind) return;
  requirement.kind = *kind;
  bool good = name.has_value();
  if (*kind == RequirementKind::kScrewsEnter) {
    const auto joint = table.String("joint");
    table.Require("joint", "name the screwed_pattern: joint = \"NAME\"");
    if (joint) requirement.joint = JointId(*joint);
    good &= joint.has_value();
  } else {
    const auto a = ReadRef(table, "a");
    const auto b = ReadRef(table, "b");
    if (*kind == RequirementKind::kDistance) requirement.at_W_mm = table.Point_mm("at");
    const bool limited = ReadRequirementLimits(table, requirement);
    good &= a.has_value() && b.has_value() && limited;
    if (a && b) {
      requirement.a = *a;
      requirement.b = *b;
    }
  }
  table.Finish();
  if (!good) return;
  requirement.name = RequirementId(*name);
  table.Locate(fmt::format("requirements.{}", *name));
  machine.requirements.push_back(requirement);
}

void NoteJoints(const JointNotes& notes, ReadLog& log) {
  if (!notes.floats.empty()) {
    log.assumed.push_back(
        fmt::format("Joints whose float is not stated: what play they leave falls by chance: {}.",
                    ListOf(notes.floats, 100)));
  }
  if (!notes.apart.empty()) {
    log.assumed.push_back(
        fmt::format("Joints for which comes_apart is not stated: they are taken apart and put "
                    "together again: {}.",
                    ListOf(notes.apart, 100)));
  }
}

}  // namespace

Machine ReadMachine(const SourceFile& file, ReadLog& log) {
  TableReader table(file, file.table, "", LengthUnit::kMillimetre, log);
  Machine machine;
  ReadFormat(table, kMachineFormat);
  machine.name = table.String("name").value_or("");
  table.Require("name", "give the machine a name");
  machine.display_unit = ReadUnit(table, "units");
  table.set_unit(machine.display_unit);
  if (!table.Has("units")) {
    log.assumed.push_back(fmt::format("{}: no units are stated; taken as mm.", file.name));
  }
  machine.cautions = table.Strings("cautions").value_or(std::vector<std::string>());
  for (const TableReader& use : table.Tables("part")) ReadUse(use, machine);
  table.Require("part", "write a [[part]] with sheet = \"NAME\" for each part");
  JointNotes notes;
  for (const TableReader& joint : table.Tables("joint")) ReadJoint(joint, machine, notes);
  for (const TableReader& r : table.Tables("requirement")) ReadRequirement(r, machine);
  table.Finish();
  NoteJoints(notes, log);
  return machine;
}

}  // namespace fitwright::files
