#include "fitwright/files/machine_writer.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/files/machine_reader.h"
#include "fitwright/files/sheet_text.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::files {
namespace {

// Turns about x, then y, then z, in degrees from -180 to 180; of the two ways, the one with fewer
// and smaller turns.
std::array<double, 3> TurnsOf(const Eigen::Matrix3d& turn) {
  const double sine = std::clamp(-turn(2, 0), -1.0, 1.0);
  const double cosine = std::hypot(turn(0, 0), turn(1, 0));
  constexpr double kUpright = 1e-9;
  if (cosine < kUpright) {
    // x and z turn about one line: all of it goes to x.
    return {std::atan2(sine * turn(0, 1), turn(1, 1)) / kRadPerDeg, sine > 0 ? 90.0 : -90.0, 0};
  }
  const auto tidy = [](double deg) {
    while (deg > 180 + 1e-9) deg -= 360;
    while (deg <= -180 - 1e-9) deg += 360;
    return deg;
  };
  const std::array<double, 3> one{std::atan2(turn(2, 1), turn(2, 2)) / kRadPerDeg,
                                  std::atan2(sine, cosine) / kRadPerDeg,
                                  std::atan2(turn(1, 0), turn(0, 0)) / kRadPerDeg};
  const std::array<double, 3> other{tidy(one[0] + 180), tidy(180 - one[1]), tidy(one[2] + 180)};
  const auto size = [](const std::array<double, 3>& turns) {
    double sum = 0;
    for (const double deg : turns) sum += std::abs(deg) + (std::abs(deg) > 1e-7 ? 1000 : 0);
    return sum;
  };
  return size(other) < size(one) - 1e-6 ? other : one;
}

struct PlaceText {
  std::string at;
  std::string turn;  // empty for none
};
PlaceText PlaceOf(const Pose& X_WP, const SheetText& text) {
  const Vec3 at = X_WP.translation();
  PlaceText place{text.ListOf({at[0], at[1], at[2]}), ""};
  std::vector<std::string> turns;
  for (const double deg : TurnsOf(X_WP.linear())) turns.push_back(ShortNumber(deg));
  if (std::any_of(turns.begin(), turns.end(), [](const std::string& t) { return t != "0"; })) {
    place.turn = BracketList(turns);
  }
  return place;
}

// at and turn, or places; a place at the origin only where it must be said.
void WriteUsePlaces(const PartUse& use, bool say_origin, SheetText& text) {
  const std::size_t standing = 1 + use.copies_X_WP.size();
  if (static_cast<std::size_t>(use.quantity) != standing)
    text.Key("quantity", std::to_string(use.quantity));
  if (use.copies_X_WP.empty()) {
    const PlaceText place = PlaceOf(use.X_WP, text);
    if (say_origin || place.at != "[0, 0, 0]") text.Key("at", place.at);
    if (!place.turn.empty()) text.Key("turn", place.turn);
    return;
  }
  std::vector<Pose> poses{use.X_WP};
  poses.insert(poses.end(), use.copies_X_WP.begin(), use.copies_X_WP.end());
  std::vector<std::string> places;
  for (const Pose& pose : poses) {
    const PlaceText place = PlaceOf(pose, text);
    places.push_back(place.turn.empty()
                         ? fmt::format("{{ at = {} }}", place.at)
                         : fmt::format("{{ at = {}, turn = {} }}", place.at, place.turn));
  }
  text.Key("places", BracketList(places));
}

std::string JointSizeText(const Size& size, const SheetText& text, std::string_view key) {
  const auto limits = LimitsOf(text, size, false);
  return fmt::format("{{ {} = {}, {} = {} }}", key, text.LengthOf(size.nominal_mm), limits[0].key,
                     limits[0].value);
}

void WriteReadySize(std::string_view key, const Size& size, SheetText& text) {
  const auto general = trade::MakeGeneralSize(size.nominal_mm, "m");
  const bool usual =
      size.origin == LimitsOrigin::kGeneralTolerance &&
      (size.width_mm() < kGeometryNoise_mm || (general && SameLimits(*general, size)));
  if (usual) return text.Length(key, size.nominal_mm);
  text.Key(key, JointSizeText(size, text, "size"));
}

bool IsBelow(const Size& size, double nominal_mm, double lower_mm) {
  return Alike(size.upper_mm, nominal_mm) && Alike(size.lower_mm, nominal_mm + lower_mm);
}

// The row of the table that the sizes are, with its limits.
const trade::Bearing* RowOf(const Size& bore, const Size& outside, const Size& width) {
  const auto* row = trade::FindBearing(bore.nominal_mm, outside.nominal_mm, width.nominal_mm);
  const bool same = row != nullptr && IsBelow(bore, row->bore_mm, row->bore_low_mm) &&
                    IsBelow(outside, row->outside_mm, row->outside_low_mm) &&
                    IsBelow(width, row->width_mm, row->width_low_mm);
  return same ? row : nullptr;
}

// Sizes of what has a shape, and a bearing's play where it is not the usual one.
void WriteShape(const BoughtPart& bought, SheetText& text) {
  const Feature* outside = bought.part.Find(FeatureId("outside"));
  const Feature* bore = bought.part.Find(FeatureId("bore"));
  const Feature* high = bought.part.Find(FeatureId("high_end"));
  if (outside == nullptr || high == nullptr) return;
  const Size& outside_size = std::get<OuterDiameter>(outside->shape).diameter;
  const Size* bore_size = bore == nullptr ? nullptr : &std::get<Hole>(bore->shape).diameter;
  const Size& width = std::get<PlanarFace>(high->shape).at;
  const bool bearing = bought.kind == BoughtKind::kBearing;
  const auto* row =
      bearing && bore_size != nullptr ? RowOf(*bore_size, outside_size, width) : nullptr;
  if (row != nullptr) {
    text.Lengths("size", {row->bore_mm, row->outside_mm, row->width_mm});
  } else {
    WriteReadySize("outside", outside_size, text);
    if (bore_size != nullptr) WriteReadySize("bore", *bore_size, text);
    WriteReadySize("width", width, text);
  }
  if (!bearing) return;
  constexpr double kAxialOverRadial = 10;  // the reader's own
  const double usual_mm = row == nullptr ? 0 : row->radial_play_mm;
  if (!Alike(bought.radial_play_mm, usual_mm)) text.Length("radial_play", bought.radial_play_mm);
  if (!Alike(bought.axial_play_mm, kAxialOverRadial * usual_mm))
    text.Length("axial_play", bought.axial_play_mm);
}

void WriteBought(const Machine& machine, const BoughtPart& bought, SheetText& text) {
  const std::string& name = bought.part.name.text();
  text.Table("[[bought]]", "bought." + name);
  text.Text("name", name);
  text.Word("kind", WordOf(bought.kind));
  text.Text("what", bought.what);
  if (!bought.why.empty()) text.Text("why", bought.why);
  WriteShape(bought, text);
  if (bought.kind == BoughtKind::kBelt) {
    text.Length("section", bought.section_mm);
    text.Length("pitch_length", bought.pitch_length_mm);
    if (!bought.stretch.empty()) text.Text("stretch", bought.stretch);
  }
  const PartUse* use = bought.placed ? machine.FindUse(bought.part.name) : nullptr;
  if (use != nullptr) {
    WriteUsePlaces(*use, true, text);
  } else if (bought.quantity != 1) {
    text.Key("quantity", std::to_string(bought.quantity));
  }
}

void WriteJoint(const Joint& joint, SheetText& text) {
  text.Table("[[joint]]", "joints." + joint.name.text());
  text.Text("name", joint.name.text());
  text.Word("kind", WordOf(joint.kind));
  text.Text("fixed", joint.fixed.text());
  text.Text("moving", joint.moving.text());
  if (!joint.between.empty()) {
    std::vector<std::string> refs;
    for (const FeatureRef& ref : joint.between) refs.push_back(Quoted(ref.text()));
    text.Key("between", BracketList(refs));
  }
  if (joint.screw) {
    text.Key("screw", fmt::format("{{ thread = {}, length = {} }}", Quoted(joint.screw->thread),
                                  text.LengthOf(joint.screw->length_mm)));
  }
  if (joint.washer_mm > 0) text.Length("washer", joint.washer_mm);
  if (joint.kind == JointKind::kBonded) {
    text.Text("compound", joint.compound);
    text.Key("cure_min", PlainNumber(joint.cure_min));
  }
  if (joint.kind == JointKind::kBelt) text.Text("belt", joint.belt.text());
  if (joint.pin) text.Key("pin", JointSizeText(*joint.pin, text, "diameter"));
  if (!joint.float_assumed) text.Word("float", WordOf(joint.float_kind));
  if (!joint.float_assumed && joint.float_kind == FloatKind::kPushed)
    text.Side("push", joint.push_W);
  const bool usual = joint.kind != JointKind::kBonded;
  if (joint.comes_apart != usual) text.Key("comes_apart", joint.comes_apart ? "true" : "false");
}

void WriteFormula(const Formula& formula, SheetText& text) {
  text.Text("value", formula.expression);
  std::string names;
  for (const FormulaName& name : formula.names) {
    const std::string stands = name.b ? BracketList({Quoted(name.a.text()), Quoted(name.b->text())})
                                      : Quoted(name.a.text());
    names += fmt::format("{}{} = {}", names.empty() ? "" : ", ", name.name, stands);
  }
  text.Key("names", "{ " + names + " }");
  text.Text("unit", formula.unit);
}

void WriteSubject(const Requirement& r, SheetText& text) {
  if (r.joint) return text.Text("joint", r.joint->text());
  if (r.formula) return WriteFormula(*r.formula, text);
  if (r.kind == RequirementKind::kEndFloat) {
    std::vector<std::string> gaps;
    for (const auto& [a, b] : r.gaps)
      gaps.push_back(BracketList({Quoted(a.text()), Quoted(b.text())}));
    return text.Key("gaps", BracketList(gaps));
  }
  text.Text("a", r.a.text());
  text.Text("b", r.b.text());
  if (r.kind == RequirementKind::kAngle) text.Key("angle", ShortNumber(r.nominal_rad / kRadPerDeg));
  if (r.at_W_mm) text.Lengths("at", {r.at_W_mm->x(), r.at_W_mm->y(), r.at_W_mm->z()});
  if (r.extended) text.Yes("extended");
}

void WriteRequirementLimits(const Requirement& r, SheetText& text) {
  const double lower = r.lower.value_or(0);
  const double upper = r.upper.value_or(0);
  switch (r.kind) {
    case RequirementKind::kScrewsEnter:
      return;
    case RequirementKind::kSquare:
    case RequirementKind::kParallel:
    case RequirementKind::kAngle:
      return text.Key("within_mrad", PlainNumber(upper * 1e3));
    case RequirementKind::kFlush:
    case RequirementKind::kAxesMeet:
    case RequirementKind::kInLine:
    case RequirementKind::kRunOut:
      return text.Length("within", upper);
    case RequirementKind::kWallLeft:
    case RequirementKind::kEngagement:
      return text.Length("least", lower);
    case RequirementKind::kClearance:
    case RequirementKind::kInterference:
    case RequirementKind::kDistance:
    case RequirementKind::kProud:
    case RequirementKind::kEndFloat:
      return text.Lengths("limits", {lower, upper});
    case RequirementKind::kFormula:
      return text.Key("limits", BracketList({PlainNumber(lower), PlainNumber(upper)}));
  }
}

void WriteRequirement(const Requirement& r, SheetText& text) {
  text.Table("[[requirement]]", "requirements." + r.name.text());
  text.Text("name", r.name.text());
  text.Word("kind", WordOf(r.kind));
  WriteSubject(r, text);
  WriteRequirementLimits(r, text);
  if (!r.words.empty()) text.Text("say", r.words);
}

}  // namespace

std::string WriteMachine(const Machine& machine, const std::vector<Remark>& remarks) {
  SheetText text(machine.display_unit, remarks);
  text.Text("format", kMachineFormat);
  text.Text("name", machine.name);
  text.Word("units", machine.display_unit == LengthUnit::kInch ? "inch" : "mm");
  if (!machine.cautions.empty()) {
    std::string list;
    for (const std::string& caution : machine.cautions)
      list += fmt::format("\n  {},", Quoted(caution));
    text.Key("cautions", "[" + list + "\n]");
  }
  for (const PartUse& use : machine.uses) {
    text.Table("[[part]]", "uses." + use.part.text());
    text.Text("sheet", use.part.text());
    WriteUsePlaces(use, false, text);
  }
  for (const BoughtPart& bought : machine.bought) WriteBought(machine, bought, text);
  for (const Joint& joint : machine.joints) WriteJoint(joint, text);
  for (const Requirement& r : machine.requirements) {
    if (!r.derived) WriteRequirement(r, text);
  }
  return text.Finish();
}

}  // namespace fitwright::files
