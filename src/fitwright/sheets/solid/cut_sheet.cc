// The steps of a setup as they are worked from: the book's own lines, set large.
#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <optional>

#include "fitwright/sheets/book.h"
#include "fitwright/sheets/solid/page.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {
namespace {

constexpr double kTop_mm = 29;
constexpr double kBottom_mm = kPageFoot_mm - 2.5;
constexpr double kGutter_mm = 8;
constexpr double kWidth_mm = (kPageWidth_mm - 2 * kPageRim_mm - kGutter_mm) / 2;
constexpr double kIndent_mm = 8;     // of what belongs to a step
constexpr double kSentence_mm = 3;
constexpr double kDetail_mm = 2.5;
constexpr double kDial_mm = 6;       // read at arm's length and dialled in
constexpr double kPass_mm = 5;
constexpr double kTick_mm = 5;
constexpr double kPassBox_mm = 3.2;
constexpr double kMeasuredWidth_mm = 46;
constexpr double kMeasuredHeight_mm = 8;
constexpr double kLineShare = 1.75;  // from line to line, of the size
constexpr double kBlockGap_mm = 3;

// What is kept on one line of the page; drawn with its top left corner at a place.
struct Item {
  double height_mm = 0;
  std::function<void(Svg&, const Vec2&)> draw;
};
using Block = std::vector<Item>;

void AddText(Block& block, const std::string& text, double size_mm, double indent_mm, bool heavy = false) {
  for (const std::string& line : WrapToWidth(text, size_mm, kWidth_mm - indent_mm, heavy)) {
    block.push_back({kLineShare * size_mm, [=](Svg& svg, const Vec2& at) {
                       svg.Text(at + Vec2(indent_mm, 1.25 * size_mm), size_mm, line, Anchor::kStart, heavy);
                     }});
  }
}

void AddCaution(Block& block, const std::string& text) {
  for (const std::string& line : WrapToWidth(text, kDetail_mm, kWidth_mm - kIndent_mm, true)) {
    block.push_back({kLineShare * kDetail_mm, [=](Svg& svg, const Vec2& at) {
                       svg.Caution(at + Vec2(kIndent_mm, 1.25 * kDetail_mm), kDetail_mm, line);
                     }});
  }
}

void AddHead(Block& block, const TickLine& line) {
  const double number_mm = TextWidth_mm(line.number, kSentence_mm, true) + 3;
  const auto lines = WrapToWidth(line.text, kSentence_mm, kWidth_mm - kIndent_mm - number_mm);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    block.push_back({i == 0 ? kTick_mm + 0.8 : kLineShare * kSentence_mm, [=, text = lines[i]](Svg& svg, const Vec2& at) {
                       const double base = i == 0 ? 0.8 * kTick_mm : 1.25 * kSentence_mm;
                       if (i == 0) {
                         svg.Box(at, {kTick_mm, kTick_mm}, Stroke::kThin);
                         svg.Text(at + Vec2(kIndent_mm, base), kSentence_mm, line.number, Anchor::kStart, true);
                       }
                       svg.Text(at + Vec2(kIndent_mm + number_mm, base), kSentence_mm, text);
                     }});
  }
}

// The readings of the passes, each with a box.
void AddPasses(Block& block, const TickLine& line) {
  const double axis_mm = TextWidth_mm("X", kPass_mm, true) + 3;
  double reading_mm = 0;
  for (const std::string& reading : line.passes) reading_mm = std::max(reading_mm, TextWidth_mm(reading, kPass_mm));
  const double pitch = reading_mm + kPassBox_mm + 5;
  const auto in_row = static_cast<std::size_t>(std::max(1.0, (kWidth_mm - kIndent_mm - axis_mm) / pitch));
  for (std::size_t from = 0; from < line.passes.size(); from += in_row) {
    const std::size_t to = std::min(from + in_row, line.passes.size());
    const std::vector<std::string> row(line.passes.begin() + static_cast<std::ptrdiff_t>(from),
                                       line.passes.begin() + static_cast<std::ptrdiff_t>(to));
    block.push_back({1.5 * kPass_mm, [=, axis = from == 0 ? line.pass_axis : ""](Svg& svg, const Vec2& at) {
                       const double base = at.y() + 1.2 * kPass_mm;
                       svg.Text({at.x() + kIndent_mm, base}, kPass_mm, axis, Anchor::kStart, true);
                       for (std::size_t i = 0; i < row.size(); ++i) {
                         const double right = at.x() + kIndent_mm + axis_mm + static_cast<double>(i) * pitch + reading_mm;
                         svg.Text({right, base}, kPass_mm, row[i], Anchor::kEnd);
                         svg.Box({right + 1.2, base - kPassBox_mm}, {kPassBox_mm, kPassBox_mm}, Stroke::kThin);
                       }
                     }});
  }
}

void AddMeasured(Block& block, const std::string& unit) {
  block.push_back({kMeasuredHeight_mm + 2, [=](Svg& svg, const Vec2& at) {
                     const Vec2 base = at + Vec2(kIndent_mm, 0.7 * kMeasuredHeight_mm + 1);
                     const double label_mm = TextWidth_mm("MEASURED", kDetail_mm, true) + 3;
                     svg.Text(base, kDetail_mm, "MEASURED", Anchor::kStart, true);
                     svg.Box(at + Vec2(kIndent_mm + label_mm, 1), {kMeasuredWidth_mm, kMeasuredHeight_mm}, Stroke::kVisible);
                     svg.Text(base + Vec2(label_mm + kMeasuredWidth_mm + 2, 0), kDetail_mm, unit);
                   }});
}

Block BlockOf(const TickLine& line, const std::string& unit) {
  static constexpr std::string_view kMeasured = "Measured ____";
  static constexpr std::string_view kCaution = "Caution: ";
  Block block;
  AddHead(block, line);
  bool passes_due = !line.passes.empty();
  for (const std::string& detail : line.details) {
    if (detail.starts_with(kMeasured)) {
      AddMeasured(block, unit);
      continue;
    }
    if (detail.starts_with(kCaution)) {
      AddCaution(block, detail);
      continue;
    }
    const std::size_t passes = passes_due ? detail.find(fmt::format("; {} passes, to ", line.passes.size())) : std::string::npos;
    AddText(block, passes == std::string::npos ? detail : detail.substr(0, passes) + ".", kDetail_mm, kIndent_mm);
    if (passes == std::string::npos) continue;
    AddPasses(block, line);
    passes_due = false;
  }
  return block;
}

// Right edges of a table's columns at a size of the figures.
std::vector<double> ColumnEdges(const Table& table, double size_mm) {
  std::vector<double> edges;
  double right = kIndent_mm;
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    const Column& column = table.columns[c];
    double width = TextWidth_mm(column.head + " " + column.unit, kDetail_mm, true);
    for (const auto& row : table.rows) width = std::max(width, TextWidth_mm(row[c], c == 0 ? kSentence_mm : size_mm, c == 0));
    right += width + (c == 0 ? 0 : 4);
    edges.push_back(right);
  }
  return edges;
}

void AddTable(Block& block, const Table& table) {
  double size = kDial_mm;
  while (size > kSentence_mm && ColumnEdges(table, size).back() > kWidth_mm) size -= 0.25;
  const std::vector<double> edges = ColumnEdges(table, size);
  block.push_back({kLineShare * kDetail_mm, [=](Svg& svg, const Vec2& at) {
                     for (std::size_t c = 1; c < table.columns.size(); ++c) {
                       const Column& column = table.columns[c];
                       const std::string head = column.unit.empty() ? column.head : column.head + " " + column.unit;
                       svg.Text(at + Vec2(edges[c], 1.3 * kDetail_mm), kDetail_mm, head, Anchor::kEnd, true);
                     }
                   }});
  for (const std::vector<std::string>& row : table.rows) {
    block.push_back({1.45 * size, [=](Svg& svg, const Vec2& at) {
                       const double base = at.y() + 1.2 * size;
                       svg.Text({at.x() + kIndent_mm, base}, kSentence_mm, row[0], Anchor::kStart, true);
                       for (std::size_t c = 1; c < row.size(); ++c)
                         svg.Text({at.x() + edges[c], base}, size, row[c], Anchor::kEnd);
                       svg.Line({at.x() + kIndent_mm, base + 0.2 * size}, {at.x() + edges.back(), base + 0.2 * size},
                                Stroke::kThin);
                     }});
  }
}

// Fills columns and pages one after the other; a block is broken only when no column holds it.
class Flow {
 public:
  explicit Flow(const SetupPicture& picture) : picture_(picture), svg_(BeginPage(picture, "steps")) {}

  void Put(const Block& block) {
    double height = 0;
    for (const Item& item : block) height += item.height_mm;
    if (y_ > kTop_mm && y_ + height > kBottom_mm && height <= kBottom_mm - kTop_mm) NextColumn();
    for (const Item& item : block) {
      if (y_ + item.height_mm > kBottom_mm) NextColumn();
      item.draw(svg_, {kPageRim_mm + column_ * (kWidth_mm + kGutter_mm), y_});
      y_ += item.height_mm;
    }
    y_ += kBlockGap_mm;
  }

  std::vector<std::string> Finish() {
    pages_.push_back(svg_.Finish());
    return std::move(pages_);
  }

 private:
  void NextColumn() {
    y_ = kTop_mm;
    column_ = 1 - column_;
    if (column_ == 1) return;
    pages_.push_back(svg_.Finish());
    svg_ = BeginPage(picture_, fmt::format("steps, page {}", pages_.size() + 1));
  }

  const SetupPicture& picture_;
  Svg svg_;
  std::vector<std::string> pages_;
  int column_ = 0;
  double y_ = kTop_mm;
};

// A hole's places stand on the page of the holes.
bool IsHoleTable(const Table& table) { return table.repeated > 1; }

}  // namespace

std::vector<std::string> DrawCuts(const SetupPicture& picture) {
  if (picture.setup.steps.empty()) return {};
  const Book sheet = MakeSetupSheet(picture.machine, picture.shop, picture.plan, picture.setup.id, {picture.unit, false});
  Flow flow(picture);
  const std::string unit(UnitWord(picture.unit));
  std::optional<Block> open;
  for (const Piece& piece : sheet.pieces) {
    if (const auto* line = std::get_if<TickLine>(&piece)) {
      if (open) flow.Put(*open);
      open = BlockOf(*line, unit);
    }
    const auto* table = std::get_if<Table>(&piece);
    if (table == nullptr || !open || !table->indented) continue;
    if (IsHoleTable(*table)) {
      AddText(*open, "Places and depths: the page of the holes.", kDetail_mm, kIndent_mm);
    } else {
      AddTable(*open, *table);
    }
  }
  if (open) flow.Put(*open);
  return flow.Finish();
}

}  // namespace fitwright::sheets
