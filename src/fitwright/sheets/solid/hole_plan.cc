#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/hole_labels.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/solid/page.h"
#include "fitwright/sheets/solid/symbols.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"
#include "fitwright/solid/measure.h"

namespace fitwright::sheets {
namespace {

constexpr double kTable_mm = 158;   // left edge of the table
constexpr double kTop_mm = 30;
// Figures to be dialled in are read at arm's length.
constexpr double kDialSize_mm = 6;
constexpr double kLeastSize_mm = 2.5;

struct TableRow {
  std::string label, x, y;
  std::string heading;  // of a group, instead of the rest
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
    if (!hole->thread && hole->use != HoleUse::kHole) {
      names += ", " + LimitsText(hole->diameter.lower_mm, hole->diameter.upper_mm, context.unit);
    }
    if (hole->through && ComesOut(picture, *pattern.front()->steps.back())) names += ", through";
  }
  if (names.empty()) return Capital(ListText(work));
  return Capital(names) + ": " + ListText(work);
}

std::vector<TableRow> MakeRows(const SetupPicture& picture, const BookContext& context,
                               std::size_t heading_width) {
  std::vector<TableRow> rows;
  const std::vector<PlaceGroup> groups = FindPlaceGroups(picture.setup);
  for (const auto& pattern : ByPattern(groups)) {
    for (const std::string& line :
         WrapText(PatternHeading(picture, context, pattern), heading_width)) {
      rows.push_back({"", "", "", line});
    }
    const std::size_t first = rows.size();
    for (const PlaceGroup* group : pattern) {
      for (std::size_t i = 0; i < group->labels.size(); ++i) {
        const Coordinate& c = group->steps.front()->coordinates[i];
        TableRow row{group->labels[i], FineLength(c.x_mm, context.unit),
                     FineLength(c.y_mm, context.unit), ""};
        const bool said = std::any_of(rows.begin() + static_cast<std::ptrdiff_t>(first), rows.end(),
                                      [&](const TableRow& r) { return r.label == row.label; });
        if (!said) rows.push_back(std::move(row));
      }
    }
  }
  return rows;
}

void DrawTable(const SetupPicture& picture, const BookContext& context, Svg& svg) {
  const double right = kPageWidth_mm - kPageRim_mm;
  const double heading_size = 2.5;
  const auto heading_width =
      static_cast<std::size_t>((right - kTable_mm) / TextWidth_mm("n", heading_size));
  const std::vector<TableRow> rows = MakeRows(picture, context, heading_width);
  double headings = 0;
  double holes = 0;
  for (const TableRow& row : rows) (row.heading.empty() ? holes : headings) += 1;
  const double room = kPageHeight_mm - kPageRim_mm - 8 - kTop_mm - 10 - headings * 5.5;
  const double size = std::clamp(room / std::max(1.0, holes) / 1.55, kLeastSize_mm, kDialSize_mm);
  const double x_right = kTable_mm + 66;
  const double y_right = kTable_mm + 118;
  double y = kTop_mm + 4;
  svg.Text({kTable_mm, y}, 2.5, "hole", Anchor::kStart, true);
  svg.Text({x_right, y}, 2.5, fmt::format("X {}", UnitWord(context.unit)), Anchor::kEnd, true);
  svg.Text({y_right, y}, 2.5, fmt::format("Y {}", UnitWord(context.unit)), Anchor::kEnd, true);
  y += 1.5;
  svg.Line({kTable_mm, y}, {right, y}, Stroke::kRule);
  bool after_hole = true;
  for (const TableRow& row : rows) {
    if (!row.heading.empty()) {
      y += after_hole ? 6.4 : 4.6;
      after_hole = false;
      svg.Text({kTable_mm, y}, heading_size, row.heading);
      continue;
    }
    after_hole = true;
    y += 1.55 * size;
    svg.Text({kTable_mm, y}, size, row.label, Anchor::kStart, true);
    svg.Text({x_right, y}, size, row.x, Anchor::kEnd);
    svg.Text({y_right, y}, size, row.y, Anchor::kEnd);
    svg.Box({y_right + 5, y - size}, {size, size}, Stroke::kThin);
    svg.Line({kTable_mm, y + 0.3 * size}, {right, y + 0.3 * size}, Stroke::kThin);
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
  const Vec2 corner(kPageRim_mm, kTop_mm);
  const ViewFrame frame(top, corner, {kTable_mm - 6 - kPageRim_mm, 150}, box.least, box.most);
  const ViewContents contents{true, false, false, false};
  if (auto status = DrawView(*solids, frame, contents, svg); !status) {
    return Unexpected(status.error());
  }
  for (const DatumMark& mark : FindDatums(picture)) DrawDatum(mark, frame, svg);
  DrawZero(picture.setup, picture.shop.Find(picture.setup.machine), frame, svg);
  DrawHoles(holes, frame, 3.5, svg);
  const double under = kTop_mm + 156;
  svg.Text({kPageRim_mm, under}, 2.5,
           fmt::format("From above, {}. X and Y: the readings with the spindle over the hole.",
                       frame.ScaleText()));
  if (!picture.setup.zero.witness.empty()) {
    svg.Text({kPageRim_mm, under + 5}, 2.5, "Check: " + WitnessText(context, picture.setup));
  }
  DrawTable(picture, context, svg);
  return svg.Finish();
}

}  // namespace fitwright::sheets
