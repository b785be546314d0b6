#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/hole_labels.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/solid/page.h"
#include "fitwright/sheets/solid/symbols.h"
#include "fitwright/sheets/words.h"
#include "fitwright/solid/measure.h"

namespace fitwright::sheets {
namespace {

constexpr double kTable_mm = 158;   // left edge of the table
constexpr double kPageTop_mm = 30;
// Figures to be dialled in are read at arm's length.
constexpr double kDialSize_mm = 6;
constexpr double kLeastSize_mm = 2.5;
constexpr double kAboutSize_mm = 3.5;  // of figures that only help to find the way

constexpr double kBox_mm = 5;        // to tick; its step's number stands over it
constexpr double kBoxPitch_mm = 8.5;
constexpr double kBoxLeast_mm = 6;
constexpr double kBoxLabel_mm = 1.8;
constexpr double kHeading_mm = 2.5;
constexpr double kGap_mm = 4;
constexpr double kWriteIn_mm = 20;   // a reading written in by hand

struct TableRow {
  std::string label, x, y;
  std::vector<std::string> steps;  // numbers, a box each
  std::string heading;             // of a group, instead of the rest
};

FeatureRef FirstOf(const PlaceGroup& group) {
  const auto& features = group.steps.front()->features;
  return features.empty() ? FeatureRef{} : features.front();
}

// Groups of one pattern, which may be made a few holes first and then the rest.
std::vector<std::vector<const PlaceGroup*>> ByPattern(const std::vector<PlaceGroup>& groups) {
  std::vector<std::vector<const PlaceGroup*>> patterns;
  for (const PlaceGroup& group : groups) {
    if (!IsHoleGroup(group)) continue;
    const auto same = std::find_if(patterns.begin(), patterns.end(), [&](const auto& pattern) {
      return FirstOf(*pattern.front()) == FirstOf(group);
    });
    if (same == patterns.end()) {
      patterns.push_back({&group});
    } else {
      same->push_back(&group);
    }
  }
  return patterns;
}

std::string WorkText(const BookContext& context, const Step& step) {
  if (step.operation == Operation::kChamfer) {
    return fmt::format("{} ({}, {} below where it touches the rim)", VerbOf(step.operation), context.ToolText(step.tool),
                       FineLength(step.depth_mm, context.unit));
  }
  return fmt::format("{} ({}, to Z {})", VerbOf(step.operation), context.ToolText(step.tool),
                     FineLength(step.coordinates.front().z_mm, context.unit));
}

// The tool comes out below the piece in this setup.
bool ComesOut(const SetupPicture& picture, const Step& step) {
  double bottom = 1e9;
  for (std::size_t i = 0; i < picture.before_P.size(); ++i) {
    bottom = std::min(bottom, solid::CalcBoxIn(picture.before_P[i], picture.setup.parts[i].X_PS.inverse()).min_mm.z());
  }
  return std::all_of(step.path.begin(), step.path.end(), [&](const PathPiece& piece) {
    return std::all_of(piece.points_S_mm.begin(), piece.points_S_mm.end(),
                       [&](const Vec3& p) { return p.z() < bottom; });
  });
}

std::string PatternHeading(const SetupPicture& picture, const BookContext& context,
                           const std::vector<const PlaceGroup*>& pattern) {
  std::vector<std::string> work;
  for (const PlaceGroup* group : pattern) {
    for (const Step* step : group->steps) {
      const std::string text = WorkText(context, *step);
      if (std::find(work.begin(), work.end(), text) == work.end()) work.push_back(text);
    }
  }
  std::string names;
  for (const FeatureRef& ref : pattern.front()->steps.front()->features) {
    names += (names.empty() ? "" : ", ") + NameText(ref);
    const Feature* feature = picture.machine.Find(ref);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (hole == nullptr) continue;
    if (hole->thread) {
      names += fmt::format(", {} to {}", hole->thread->designation,
                           NamedLength(hole->thread->depth_mm, context.unit));
    }
    if (!hole->thread && (hole->use != HoleUse::kHole || hole->diameter.origin != LimitsOrigin::kGeneralTolerance)) {
      names += ", " + LimitsText(hole->diameter.lower_mm, hole->diameter.upper_mm, context.unit);
    }
    if (hole->through && ComesOut(picture, *pattern.front()->steps.back())) names += ", through";
  }
  if (names.empty()) return Capital(ListText(work));
  return Capital(names) + ": " + ListText(work);
}

std::vector<TableRow> MakeRows(const SetupPicture& picture, const BookContext& context, double width_mm) {
  std::vector<TableRow> rows;
  const Setup& setup = picture.setup;
  const std::vector<PlaceGroup> groups = FindPlaceGroups(setup);
  for (const auto& pattern : ByPattern(groups)) {
    for (const std::string& line : WrapToWidth(PatternHeading(picture, context, pattern), kHeading_mm, width_mm)) {
      rows.push_back({"", "", "", {}, line});
    }
    const std::size_t first = rows.size();
    for (const PlaceGroup* group : pattern) {
      std::vector<std::string> numbers;
      for (const Step* step : group->steps)
        numbers.push_back(fmt::format("{}.{}", setup.number, step - setup.steps.data() + 1));
      for (std::size_t i = 0; i < group->labels.size(); ++i) {
        const Coordinate& c = group->steps.front()->coordinates[i];
        const auto said = std::find_if(rows.begin() + static_cast<std::ptrdiff_t>(first), rows.end(),
                                       [&](const TableRow& r) { return r.label == group->labels[i]; });
        if (said != rows.end()) {
          said->steps.insert(said->steps.end(), numbers.begin(), numbers.end());
          continue;
        }
        const std::string second = c.table_deg ? DegreesAndMinutes(*c.table_deg) : FineLength(c.y_mm, context.unit);
        rows.push_back({group->labels[i], FineLength(c.x_mm, context.unit), second, numbers, ""});
      }
    }
  }
  return rows;
}

// Nothing is located in x and y: the holes come from a mate, and the figures only help to find the way.
bool ByEye(const Setup& setup) { return setup.zero.x_from.part.empty() && setup.zero.y_from.part.empty(); }

// The holes are brought under the spindle by a rotary table: its reading stands in place of y's, which stays 0.
bool IsDivided(const Setup& setup) { return setup.holding == HoldingKind::kRotaryTable; }

// Sizes and columns of a table, so that everything in a row stands beside each other.
struct TableLayout {
  double size_mm = kDialSize_mm;
  double label_mm = 0;  // right edges, from the table's left
  double x_mm = 0;
  double y_mm = 0;
  double line_mm = 0;   // from row to row
  double pitch_mm = kBoxPitch_mm;  // from box to box
};

TableLayout LayOut(const std::vector<TableRow>& rows, double width_mm, double height_mm, bool by_eye) {
  double label = 0;
  double x = 0;
  double y = 0;
  std::size_t boxes = 0;
  double headings = 0;
  double holes = 0;
  for (const TableRow& row : rows) {
    (row.heading.empty() ? holes : headings) += 1;
    label = std::max(label, TextWidth_mm(row.label, 1, true));
    x = std::max(x, TextWidth_mm(row.x, 1));
    y = std::max(y, TextWidth_mm(row.y, 1));
    boxes = std::max(boxes, row.steps.size());
  }
  const double write_in = by_eye ? 2 * (kWriteIn_mm + kGap_mm) : 0;
  const double taken = static_cast<double>(boxes) * kBoxLeast_mm + 3 * kGap_mm + write_in;
  TableLayout layout;
  const double most = by_eye ? kAboutSize_mm : kDialSize_mm;
  layout.size_mm = std::clamp((width_mm - taken) / (label + x + y), kLeastSize_mm, most);
  const double room = (height_mm - headings * 5.5) / std::max(1.0, holes);
  layout.line_mm = std::min(std::max(1.55 * layout.size_mm, kBox_mm + kBoxLabel_mm + 2.6), room);
  layout.size_mm = std::clamp(layout.line_mm / 1.3, kLeastSize_mm, layout.size_mm);
  const double head = TextWidth_mm("X mm", 2.5, true);
  layout.label_mm = std::max(TextWidth_mm("hole", 2.5, true), label * layout.size_mm);
  layout.x_mm = layout.label_mm + kGap_mm + std::max(head, x * layout.size_mm);
  layout.y_mm = layout.x_mm + kGap_mm + std::max(head, y * layout.size_mm);
  const double left = width_mm - layout.y_mm - kGap_mm - write_in;
  layout.pitch_mm = std::min(kBoxPitch_mm, left / static_cast<double>(std::max<std::size_t>(1, boxes)));
  return layout;
}

void DrawBoxes(const TableRow& row, const Vec2& at, double line_mm, double pitch_mm, Svg& svg) {
  const bool has_room = line_mm >= kBox_mm + kBoxLabel_mm + 1.5;
  const double side = std::min({kBox_mm, 0.6 * line_mm, pitch_mm - 0.8});
  for (std::size_t i = 0; i < row.steps.size(); ++i) {
    const Vec2 corner = at + Vec2(static_cast<double>(i) * pitch_mm, -side);
    svg.Box(corner, {side, side}, Stroke::kThin);
    if (has_room) {
      const double size = FittingSize_mm(row.steps[i], kBoxLabel_mm, pitch_mm - 0.5);
      svg.Text(corner + Vec2(side / 2, -0.7), size, row.steps[i], Anchor::kMiddle);
    }
  }
}

void DrawTable(const SetupPicture& picture, const BookContext& context, Svg& svg) {
  const double right = kPageWidth_mm - kPageRim_mm;
  const double width = right - kTable_mm;
  const std::vector<TableRow> rows = MakeRows(picture, context, width);
  const bool by_eye = ByEye(picture.setup);
  const TableLayout layout = LayOut(rows, width, kPageFoot_mm - kPageTop_mm - 9, by_eye);
  const double boxes = kTable_mm + layout.y_mm + kGap_mm + (by_eye ? 2 * (kWriteIn_mm + kGap_mm) : 0);
  double y = kPageTop_mm + 4;
  svg.Text({kTable_mm, y}, 2.5, "hole", Anchor::kStart, true);
  svg.Text({kTable_mm + layout.x_mm, y}, 2.5, fmt::format("X {}", UnitWord(context.unit)), Anchor::kEnd, true);
  svg.Text({kTable_mm + layout.y_mm, y}, 2.5, IsDivided(picture.setup) ? "table" : fmt::format("Y {}", UnitWord(context.unit)), Anchor::kEnd, true);
  if (by_eye) svg.Text({kTable_mm + layout.y_mm + kGap_mm, y}, 2.5, "the readings there, X and Y", Anchor::kStart, true);
  y += 1.5;
  svg.Line({kTable_mm, y}, {right, y}, Stroke::kRule);
  bool after_hole = true;
  for (const TableRow& row : rows) {
    if (!row.heading.empty()) {
      y += after_hole ? 6.4 : 4.6;
      after_hole = false;
      svg.Text({kTable_mm, y}, kHeading_mm, row.heading);
      continue;
    }
    after_hole = true;
    y += layout.line_mm;
    svg.Text({kTable_mm, y}, layout.size_mm, row.label, Anchor::kStart, true);
    svg.Text({kTable_mm + layout.x_mm, y}, layout.size_mm, row.x, Anchor::kEnd);
    svg.Text({kTable_mm + layout.y_mm, y}, layout.size_mm, row.y, Anchor::kEnd);
    for (int i = 0; by_eye && i < 2; ++i) {
      const double left = kTable_mm + layout.y_mm + kGap_mm + i * (kWriteIn_mm + kGap_mm);
      svg.Box({left, y - 0.75 * layout.line_mm}, {kWriteIn_mm, 0.8 * layout.line_mm}, Stroke::kThin);
    }
    DrawBoxes(row, {boxes, y}, layout.line_mm, layout.pitch_mm, svg);
    svg.Line({kTable_mm, y + 1.3}, {right, y + 1.3}, Stroke::kThin);
  }
}

}  // namespace

Result<std::string> DrawHolePlan(const SetupPicture& picture) {
  const BookContext context(picture.machine, picture.shop, picture.plan, {picture.unit, false});
  const std::vector<HoleMark> holes = FindHoles(picture);
  if (holes.empty() || context.IsLathe(picture.setup)) return std::string();
  Svg svg = BeginPage(picture, "holes");
  auto solids = MakeStandingSolids(picture, false);
  if (!solids) return Unexpected(solids.error());
  const solid::ViewDirection top = solid::ViewDirection::Top();
  const ShownBox box = CalcShownBox(*solids, top);
  const Vec2 corner(kPageRim_mm, kPageTop_mm);
  const double view_width = kTable_mm - 6 - kPageRim_mm;
  const std::string said = ByEye(picture.setup)
                         ? "X and Y only about: zero was set by eye, the mate gives the places. Write down what the dials read at each."
                         : IsDivided(picture.setup)
                         ? "X: the circle's radius, the same for all its holes; Y stays at 0. Table: the rotary table's reading. Each step has its own box at every hole."
                         : "X and Y: the readings with the spindle over the hole. Each step has its own box at every hole.";
  std::vector<std::string> under = WrapToWidth(said, 2.5, view_width);
  if (!picture.setup.zero.witness.empty()) {
    const auto check = WrapToWidth("Check: " + WitnessText(context, picture.setup), 2.5, view_width);
    under.insert(under.end(), check.begin(), check.end());
  }
  const double text_top = kPageFoot_mm - 2.5 - 4.6 * static_cast<double>(under.size());
  const ViewFrame frame(top, corner + Vec2(0, 4), {view_width, text_top - kPageTop_mm - 6}, box.least, box.most);
  svg.Text(corner + Vec2(0, 3), 2.5, "From above, " + frame.ScaleText());
  const ViewContents contents{true, false, false, false};
  if (auto status = DrawView(*solids, frame, contents, svg); !status) {
    return Unexpected(status.error());
  }
  const MachineTool* machine = picture.shop.Find(picture.setup.machine);
  DrawDatums(picture, frame, svg);
  DrawZero(picture.setup, machine, frame, svg);
  DrawHoles(holes, frame, 3.5, MarkPlaces(picture, frame), svg);
  double y = text_top;
  for (const std::string& line : under) {
    y += 4.6;
    svg.Text({kPageRim_mm, y}, 2.5, line);
  }
  DrawTable(picture, context, svg);
  return svg.Finish();
}

}  // namespace fitwright::sheets
