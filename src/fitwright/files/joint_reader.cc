#include "fitwright/files/machine_sections.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/trade/threads.h"

namespace fitwright::files {
namespace {

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
                 fmt::format("known: {}; nearest: {}", trade::KnownThreads(), ListOf(nearest)));
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

// Where the play it leaves is worth a word when nobody says what becomes of it.
bool HasPlay(JointKind kind) {
  switch (kind) {
    case JointKind::kScrewedPattern:
    case JointKind::kSpigotInBore:
    case JointKind::kRunningFit:
    case JointKind::kSliderInBore:
    case JointKind::kBonded:
    case JointKind::kHubOnShaft:
    case JointKind::kBearingOnShaft:
      return true;
    case JointKind::kFaceContact:
    case JointKind::kPressFit:
    case JointKind::kBearingSeat:
    case JointKind::kPinned:
    case JointKind::kRingInGroove:
    case JointKind::kGasketedFace:
    case JointKind::kBelt:
      return false;
  }
  return false;
}

void ReadScrewed(TableReader& table, Joint& joint) {
  joint.screw = ReadScrew(table);
  if (const auto texts = table.Strings("between")) {
    for (const std::string& text : *texts) {
      if (const auto ref = RefOf(table, "between", text)) joint.between.push_back(*ref);
    }
  }
  joint.washer_mm = table.PositiveLength_mm("washer").value_or(0);
}

void ReadBonded(TableReader& table, Joint& joint) {
  joint.compound = table.String("compound").value_or("");
  table.Require("compound", "say what holds it: compound = \"retaining compound\"");
  const auto cure_min = table.Number("cure_min");
  table.Require("cure_min", "write the minutes until it may be handled, from the maker's sheet");
  if (!cure_min) return;
  if (*cure_min < 0) {
    table.Fault(ErrorCode::kOutOfRange, "cure_min", "the time is below zero",
                "write minutes, 0 when it may be handled at once");
    return;
  }
  joint.cure_min = *cure_min;
}

void ReadPinned(TableReader& table, Joint& joint) {
  auto pin = table.Table("pin");
  if (!pin) return;
  SizeWish wish;
  wish.of = SizeOf::kShaft;
  joint.pin = ReadSize(*pin, wish);
  pin->Finish();
}

void ReadKindsOwn(TableReader& table, Joint& joint) {
  if (joint.kind == JointKind::kScrewedPattern) ReadScrewed(table, joint);
  if (joint.kind == JointKind::kBonded) ReadBonded(table, joint);
  if (joint.kind == JointKind::kPinned) ReadPinned(table, joint);
  if (joint.kind == JointKind::kBelt) {
    joint.belt = PartId(table.String("belt").value_or(""));
    table.Require("belt", "name the [[bought]] belt that runs over both");
  }
}

}  // namespace

void ReadJoint(TableReader table, Machine& machine, JointNotes& notes) {
  std::vector<std::string> taken;
  for (const Joint& j : machine.joints) taken.push_back(j.name.text());
  Joint joint;
  const auto name = ReadNewName(table, taken);
  const auto kind = table.Word<JointKind>("kind");
  table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<JointKind>())));
  const auto fixed = ReadRef(table, "fixed");
  const auto moving = ReadRef(table, "moving");
  const bool bonded = kind == JointKind::kBonded;
  joint.comes_apart = table.Bool("comes_apart").value_or(!bonded);
  const bool apart_assumed = !table.Has("comes_apart") && !bonded;
  ReadFloat(table, joint);
  if (kind) {
    joint.kind = *kind;
    ReadKindsOwn(table, joint);
  } else {
    table.Know({"screw", "between", "washer", "compound", "cure_min", "belt", "pin"});
  }
  table.Finish();
  if (!name || !kind) return;
  joint.name = JointId(*name);
  table.Locate(fmt::format("joints.{}", *name));
  if (!fixed || !moving) return;
  joint.fixed = *fixed;
  joint.moving = *moving;
  machine.joints.push_back(joint);
  if (apart_assumed) notes.apart.push_back(*name);
  if (joint.float_assumed && HasPlay(joint.kind)) notes.floats.push_back(*name);
}

}  // namespace fitwright::files
