#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/faces.h"
#include "fitwright/sheets/book.h"
#include "fitwright/sheets/solid/page.h"
#include "fitwright/sheets/solid/symbols.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr double kColumn_mm = 146;  // left edge of the right column
constexpr double kLeftWidth_mm = 132;
constexpr double kRightWidth_mm = kPageWidth_mm - kPageRim_mm - kColumn_mm;
constexpr double kViewsTop_mm = 28;
constexpr double kNoteSize_mm = 2.5;
constexpr double kNoteLine_mm = 4.6;

struct NamedView {
  solid::ViewDirection view;
  std::string name;
  ViewContents contents;
};

bool IsLathe(const SetupPicture& picture) {
  const MachineTool* tool = picture.shop.Find(picture.setup.machine);
  return tool != nullptr && tool->kind == MachineToolKind::kLathe;
}

// From the side on which no jaw stands before the piece.
solid::ViewDirection SideView(const Setup& setup) {
  for (const FixtureSolid& f : setup.fixtures) {
    if (!f.grips || !f.grip_normal_S) continue;
    if (std::abs(f.grip_normal_S->x()) > std::abs(f.grip_normal_S->y())) {
      return solid::ViewDirection::FromOperator();
    }
    return solid::ViewDirection::FromRight();
  }
  return solid::ViewDirection::FromOperator();
}

struct ThreeViews {
  NamedView side;
  NamedView along;     // along the spindle
  NamedView standing;
};

ThreeViews ChooseViews(const SetupPicture& picture) {
  const ViewContents hatched{false, true, true, false};
  const ViewContents plain{false, true, false, false};
  if (IsLathe(picture)) {
    ViewContents section = hatched;
    section.section = true;
    return {{{Vec3::UnitX(), -Vec3::UnitY()}, "From where you stand", section},
            {{Vec3::UnitZ(), -Vec3::UnitY()}, "From the tailstock", plain},
            {{Vec3(0.75, -0.45, 0.6), -Vec3::UnitY()}, "In the round", plain}};
  }
  const solid::ViewDirection side = SideView(picture.setup);
  const bool from_right = side.to_eye.x() > 0.5;
  return {{side, from_right ? "From the right" : "From the front", hatched},
          {solid::ViewDirection::Top(), "From above", hatched},
          {solid::ViewDirection::Standing(), "From where you stand", plain}};
}

Status DrawNamed(const SetupPicture& picture, const StandingSolids& solids, const NamedView& named,
                 const Vec2& corner, const Vec2& size, bool marks, Svg& svg) {
  const ShownBox box = CalcShownBox(solids, named.view);
  const ViewFrame frame(named.view, corner + Vec2(0, 5), size - Vec2(0, 5), box.least, box.most);
  svg.Text(corner + Vec2(0, 3), 2.5, fmt::format("{}, {}", named.name, frame.ScaleText()));
  if (auto status = DrawView(solids, frame, named.contents, svg); !status) return status;
  if (!marks) return Ok{};
  const bool lathe = IsLathe(picture);
  const bool along_spindle = std::abs(named.view.to_eye.normalized().z()) > 0.99;
  if (lathe && !along_spindle) {
    const Vec2 zero = frame.ToPaper(Vec3(Vec3::Zero()));
    svg.Line(Vec2(corner.x(), zero.y()), Vec2(corner.x() + size.x(), zero.y()), Stroke::kCentre);
  }
  for (const DatumMark& mark : FindDatums(picture)) DrawDatum(mark, frame, svg);
  DrawZero(picture.setup, picture.shop.Find(picture.setup.machine), frame, svg);
  if (along_spindle && !lathe) DrawHoles(FindHoles(picture), frame, 2.5, svg);
  return Ok{};
}

// Label and text lines from `top` down; returns where it ended.
double Note(const std::string& label, const std::string& text, Tone tone, double top, Svg& svg) {
  constexpr double kLabel_mm = 24;
  const double advance = TextWidth_mm("n", kNoteSize_mm);
  const auto width = static_cast<std::size_t>((kRightWidth_mm - kLabel_mm) / advance);
  double y = top + kNoteLine_mm;
  if (tone == Tone::kStop || tone == Tone::kLook) {
    svg.Caution({kColumn_mm, y}, kNoteSize_mm, label);
  } else {
    svg.Text({kColumn_mm, y}, kNoteSize_mm, label, Anchor::kStart, true);
  }
  for (const std::string& line : WrapText(text, width)) {
    svg.Text({kColumn_mm + kLabel_mm, y}, kNoteSize_mm, line);
    y += kNoteLine_mm;
  }
  return y - kNoteLine_mm;
}

// A raw side by the face that it becomes.
std::string RawText(const SetupPicture& picture, const Vec3& out_S) {
  if (IsLathe(picture)) return std::abs(out_S.z()) > 0.7 ? "raw end" : "raw bar";
  const PartPose& held = picture.setup.parts.front();
  const Vec3 out_P = held.X_PS.linear() * out_S;
  const Part* part = picture.machine.FindPart(held.part);
  const Feature* face = part == nullptr ? nullptr : OutermostFace(*part, out_P);
  return face == nullptr ? "raw side" : "raw side that becomes " + NameText(face->name.text());
}

void DrawNotes(const SetupPicture& picture, double top, Svg& svg) {
  const Book sheet = MakeSetupSheet(picture.machine, picture.shop, picture.plan, picture.setup.id,
                                    {picture.unit, false});
  static const std::vector<std::string> kWanted = {
      "Held", "Grip", "Up", "Free end", "Zero", "", "Check", "Caution", "Note"};
  double y = top;
  const double bottom = kPageHeight_mm - kPageRim_mm - 12;
  std::string letters;
  for (const DatumMark& mark : FindDatums(picture)) {
    const bool raw = mark.surface.feature.empty();
    const std::string what = raw ? RawText(picture, mark.out_S)
                                 : fmt::format("{} ({})", NameText(mark.surface.feature.text()), mark.by);
    letters += fmt::format("{}{} {}", letters.empty() ? "" : ", ", mark.letter, what);
  }
  if (!letters.empty()) y = Note("Datums", letters, Tone::kPlain, y, svg);
  bool wanted_above = false;
  for (const Piece& piece : sheet.pieces) {
    const auto* entry = std::get_if<Entry>(&piece);
    if (entry == nullptr) continue;
    const bool wanted = std::find(kWanted.begin(), kWanted.end(), entry->label) != kWanted.end();
    if (!wanted || (entry->label.empty() && !wanted_above)) {
      wanted_above = false;
      continue;
    }
    wanted_above = true;
    if (y > bottom) return;  // the rest is in the report
    y = Note(entry->label, entry->text, entry->tone, y, svg);
  }
}

}  // namespace

Result<std::string> DrawSetup(const SetupPicture& picture) {
  Svg svg = BeginPage(picture, "");
  auto solids = MakeStandingSolids(picture, true);
  if (!solids) return Unexpected(solids.error());
  const ThreeViews views = ChooseViews(picture);
  const double side_height = 70;
  const double along_height = 96;
  if (auto status = DrawNamed(picture, *solids, views.side, {kPageRim_mm, kViewsTop_mm},
                              {kLeftWidth_mm, side_height}, true, svg);
      !status) {
    return Unexpected(status.error());
  }
  if (auto status = DrawNamed(picture, *solids, views.along,
                              {kPageRim_mm, kViewsTop_mm + side_height + 2},
                              {kLeftWidth_mm, along_height}, true, svg);
      !status) {
    return Unexpected(status.error());
  }
  if (auto status = DrawNamed(picture, *solids, views.standing, {kColumn_mm, kViewsTop_mm},
                              {kRightWidth_mm, 88}, false, svg);
      !status) {
    return Unexpected(status.error());
  }
  DrawNotes(picture, kViewsTop_mm + 88, svg);
  return svg.Finish();
}

}  // namespace fitwright::sheets
