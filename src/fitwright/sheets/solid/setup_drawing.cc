#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/faces.h"
#include "fitwright/sheets/book.h"
#include "fitwright/sheets/solid/page.h"
#include "fitwright/sheets/solid/symbols.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr double kColumn_mm = 146;  // left edge of the right column
constexpr double kLeftWidth_mm = 132;
constexpr double kRightWidth_mm = kPageWidth_mm - kPageRim_mm - kColumn_mm;
constexpr double kViewsTop_mm = 28;
constexpr double kNoteSize_mm = 2.5;
constexpr double kNoteLeast_mm = 2;   // read close by, not from the machine
constexpr double kViewMost_mm = 88;
constexpr double kViewLeast_mm = 42;
constexpr double kNotesRim_mm = 2;  // between the last line and the foot's rule

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
  return {{side, from_right ? "From your right hand" : "From your side", hatched},
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
  DrawDatums(picture, frame, svg);
  DrawZero(picture.setup, picture.shop.Find(picture.setup.machine), frame, svg);
  if (along_spindle && !lathe) DrawHoles(FindHoles(picture), frame, 2.5, MarkPlaces(picture, frame), svg);
  return Ok{};
}

struct NoteLine {
  std::string label;
  std::string text;
  Tone tone = Tone::kPlain;
};

constexpr double kLabelWidth_mm = 24;
constexpr double kNoteLineShare = 1.84;  // of the size, from line to line

std::vector<std::string> NoteLines(const NoteLine& note, double size_mm) {
  return WrapToWidth(note.text, size_mm, kRightWidth_mm - kLabelWidth_mm);
}

double HeightOf(const std::vector<NoteLine>& notes, double size_mm) {
  std::size_t lines = 0;
  for (const NoteLine& note : notes) lines += NoteLines(note, size_mm).size();
  return static_cast<double>(lines) * kNoteLineShare * size_mm;
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

std::vector<NoteLine> CollectNotes(const SetupPicture& picture) {
  const Book sheet = MakeSetupSheet(picture.machine, picture.shop, picture.plan, picture.setup.id,
                                    {picture.unit, false});
  // Cautions before what may stay in the book when the page is full.
  static const std::vector<std::string> kWanted = {"Held", "Grip", "Up", "Free end", "Zero", "", "Check", "Caution", "Note"};
  std::vector<NoteLine> notes;
  std::string letters;
  for (const DatumMark& mark : FindDatums(picture)) {
    const bool raw = mark.surface.feature.empty();
    const std::string what = raw ? RawText(picture, mark.out_S)
                                 : fmt::format("{} ({})", NameText(mark.surface.feature.text()), mark.by);
    letters += fmt::format("{}{} {}", letters.empty() ? "" : ", ", mark.letter, what);
  }
  if (!letters.empty()) notes.push_back({"Datums", letters, Tone::kPlain});
  bool wanted_above = false;
  for (const Piece& piece : sheet.pieces) {
    const auto* entry = std::get_if<Entry>(&piece);
    if (entry == nullptr) continue;
    const bool wanted = std::find(kWanted.begin(), kWanted.end(), entry->label) != kWanted.end();
    wanted_above = wanted && (!entry->label.empty() || wanted_above);
    if (wanted_above) notes.push_back({entry->label, entry->text, entry->tone});
  }
  return notes;
}

// How the right column is shared: the view gives way first, then the lettering grows smaller.
struct ColumnPlan {
  double view_mm = kViewMost_mm;
  double size_mm = kNoteSize_mm;
};

ColumnPlan PlanColumn(const std::vector<NoteLine>& notes) {
  const double room = kPageFoot_mm - kViewsTop_mm - kNotesRim_mm;
  ColumnPlan plan;
  plan.view_mm = std::clamp(room - HeightOf(notes, plan.size_mm), kViewLeast_mm, kViewMost_mm);
  while (plan.size_mm > kNoteLeast_mm && HeightOf(notes, plan.size_mm) > room - plan.view_mm) plan.size_mm -= 0.1;
  return plan;
}

void DrawNotes(const std::vector<NoteLine>& notes, const ColumnPlan& plan, Svg& svg) {
  const double line_mm = kNoteLineShare * plan.size_mm;
  double y = kViewsTop_mm + plan.view_mm + line_mm;
  for (const NoteLine& note : notes) {
    const std::vector<std::string> lines = NoteLines(note, plan.size_mm);
    if (y + static_cast<double>(lines.size() - 1) * line_mm > kPageFoot_mm - 1) {
      svg.Text({kColumn_mm + kLabelWidth_mm, y}, plan.size_mm, "The rest of this setup's notes stands in the book.", Anchor::kStart, true);
      return;
    }
    if (note.tone == Tone::kStop || note.tone == Tone::kLook) {
      svg.Caution({kColumn_mm, y}, plan.size_mm, note.label);
    } else {
      svg.Text({kColumn_mm, y}, plan.size_mm, note.label, Anchor::kStart, true);
    }
    for (const std::string& line : lines) {
      svg.Text({kColumn_mm + kLabelWidth_mm, y}, plan.size_mm, line);
      y += line_mm;
    }
  }
}

}  // namespace

Result<std::string> DrawSetup(const SetupPicture& picture) {
  Svg svg = BeginPage(picture, "");
  auto solids = MakeStandingSolids(picture, true);
  if (!solids) return Unexpected(solids.error());
  const ThreeViews views = ChooseViews(picture);
  const double side_height = 70;
  const double along_height = kPageFoot_mm - kViewsTop_mm - side_height - 4;
  const std::vector<NoteLine> notes = CollectNotes(picture);
  const ColumnPlan column = PlanColumn(notes);
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
                              {kRightWidth_mm, column.view_mm}, false, svg);
      !status) {
    return Unexpected(status.error());
  }
  DrawNotes(notes, column, svg);
  return svg.Finish();
}

}  // namespace fitwright::sheets
