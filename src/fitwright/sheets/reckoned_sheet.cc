#include "fitwright/sheets/reckoned_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/sheets/sheet_model.h"
#include "fitwright/sheets/svg.h"
#include "fitwright/sheets/words.h"
#include "fitwright/units/length.h"

namespace fitwright::sheets {
namespace {

using reckon::Kind;

constexpr double kPageWidth_mm = 180;
constexpr double kPageHeight_mm = 160;
constexpr double kMargin_mm = 15;
constexpr double kTitleHeight_mm = 5;
constexpr double kLettering_mm = 3.5;

bool IsList(Kind kind) {
  return kind == Kind::kLengths || kind == Kind::kCounts || kind == Kind::kNumbers;
}

// "deg (14 deg 22 min)", small ones "deg (12.5 s of arc)": a dividing head and a protractor are
// read in minutes.
std::string UnitCell(Kind kind, const reckon::Shown& shown, double value) {
  if (kind != Kind::kAngle || value == 0) return std::string(shown.unit);
  constexpr double kSmall_deg = 0.1;
  if (std::abs(shown.value) < kSmall_deg) {
    return fmt::format("{} ({} s of arc)", shown.unit, FormatFixed(3600 * shown.value, 1));
  }
  if (value < 0) return std::string(shown.unit);
  return fmt::format("{} ({})", shown.unit, FormatAngle_degmin(value));
}

std::vector<std::string> ValueRow(const std::string& label, Kind kind, double value,
                                  LengthUnit unit) {
  const reckon::Shown shown = reckon::Show(kind, value, unit);
  return {label, shown.text, UnitCell(kind, shown, value)};
}

Table ValueTable(std::string_view head) {
  return {{{std::string(head), "", Align::kLeft, false},
           {"value", "", Align::kPoint, false},
           {"unit", "", Align::kLeft, false}},
          {},
          false,
          1};
}

// Words are written out on lines of their own: in a column aligned on the point they would push the
// figures away.
void AddWords(Book& book, const std::string& label, const std::string& word) {
  book.pieces.emplace_back(Paragraph{Capital(label) + ": " + word + ".", Tone::kPlain});
}

void AddGiven(Book& book, const reckon::Given& given) {
  Table table = ValueTable("given");
  std::vector<std::pair<std::string, std::string>> words;
  for (const reckon::GivenValue& value : given.values()) {
    const std::string name(value.input->name);
    const std::string usual = value.by_fallback ? " (taken as usual)" : "";
    if (value.input->kind == Kind::kWord || IsList(value.input->kind)) {
      words.emplace_back(name, value.word + usual);
    } else {
      table.rows.push_back(ValueRow(name + usual, value.input->kind, value.number, given.unit()));
    }
  }
  if (!table.rows.empty()) book.pieces.emplace_back(std::move(table));
  for (const auto& [name, word] : words) AddWords(book, name, word);
}

void AddLines(Book& book, const std::vector<reckon::Line>& lines, LengthUnit unit) {
  Table table = ValueTable("found");
  for (const reckon::Line& line : lines) {
    if (std::holds_alternative<double>(line.value)) {
      table.rows.push_back(ValueRow(line.label, line.kind, std::get<double>(line.value), unit));
    }
  }
  if (!table.rows.empty()) book.pieces.emplace_back(std::move(table));
  for (const reckon::Line& line : lines) {
    if (const auto* word = std::get_if<std::string>(&line.value)) AddWords(book, line.label, *word);
  }
}

void AddTable(Book& book, const reckon::Table& from, LengthUnit unit) {
  Table table;
  for (const reckon::Column& column : from.columns) {
    const bool word = column.kind == Kind::kWord;
    table.columns.push_back({column.head,
                             word ? "" : std::string(reckon::Show(column.kind, 0, unit).unit),
                             word ? Align::kLeft : Align::kPoint, word});
  }
  for (const auto& row : from.rows) {
    std::vector<std::string> cells;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const auto* word = std::get_if<std::string>(&row[i]);
      cells.push_back(
          word != nullptr
              ? *word
              : reckon::Show(from.columns[i].kind, std::get<double>(row[i]), unit).text);
    }
    table.rows.push_back(std::move(cells));
  }
  book.pieces.emplace_back(Heading{3, from.title, ""});
  book.pieces.emplace_back(std::move(table));
}

std::string Title(const reckon::Reckoning& reckoning) {
  std::string title(reckoning.name);
  std::replace(title.begin(), title.end(), '-', ' ');
  return Capital(title);
}

// Paper from the drawing's own coordinates.
struct Fitting {
  double scale = 1;
  Vec2 low_mm = Vec2::Zero();
  Vec2 offset_mm = Vec2::Zero();
  Vec2 At(const Vec2& p) const {
    const Vec2 q = scale * (p - low_mm) + offset_mm;
    return {q.x(), kPageHeight_mm - q.y()};
  }
};

Fitting FitToPage(const reckon::Drawing& drawing) {
  Vec2 low = Vec2::Constant(1e300);
  Vec2 high = -low;
  const auto take = [&](const Vec2& p) {
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
  };
  for (const auto& s : drawing.stretches) {
    take(s.from_mm);
    take(s.to_mm);
  }
  for (const auto& c : drawing.rounds) {
    take(c.centre_mm - Vec2::Constant(c.radius_mm));
    take(c.centre_mm + Vec2::Constant(c.radius_mm));
  }
  for (const auto& l : drawing.labels) take(l.at_mm);
  const Vec2 room(kPageWidth_mm - 2 * kMargin_mm, kPageHeight_mm - 3 * kMargin_mm);
  const Vec2 size = (high - low).cwiseMax(Vec2::Constant(1e-6));
  Fitting fit;
  fit.scale = std::min(room.x() / size.x(), room.y() / size.y());
  fit.low_mm = low;
  fit.offset_mm = Vec2(kMargin_mm, kMargin_mm) + 0.5 * (room - fit.scale * size);
  return fit;
}

Stroke StrokeOf(reckon::Style style) {
  switch (style) {
    case reckon::Style::kVisible:
      return Stroke::kVisible;
    case reckon::Style::kHidden:
      return Stroke::kHidden;
    case reckon::Style::kCentre:
      return Stroke::kCentre;
    case reckon::Style::kThin:
      return Stroke::kThin;
  }
  return Stroke::kThin;
}

}  // namespace

std::string ReckonedText(const reckon::Reckoning& reckoning, const reckon::Given& given,
                         const reckon::Reckoned& reckoned, const TextOptions& options) {
  Book book;
  book.pieces.emplace_back(Heading{2, Title(reckoning), std::string(UnitWord(given.unit()))});
  AddGiven(book, given);
  AddLines(book, reckoned.lines, given.unit());
  for (const reckon::Table& table : reckoned.tables) AddTable(book, table, given.unit());
  for (const std::string& note : reckoned.notes) {
    book.pieces.emplace_back(Paragraph{note, Tone::kNote});
  }
  for (const std::string& caution : reckoned.cautions) {
    book.pieces.emplace_back(Paragraph{caution, Tone::kStop});
  }
  book.pieces.emplace_back(Paragraph{"From: " + reckoned.source + ".", Tone::kPlain});
  return RenderText(book, options);
}

std::string ReckoningsText(const TextOptions& options) {
  Book book;
  book.pieces.emplace_back(Heading{2, "Reckonings", ""});
  Table table;
  table.columns = {{"what", "", Align::kLeft, false}, {"for", "", Align::kLeft, true}};
  for (const reckon::Reckoning& reckoning : reckon::Reckonings()) {
    table.rows.push_back({std::string(reckoning.name), std::string(reckoning.purpose)});
  }
  book.pieces.emplace_back(std::move(table));
  book.pieces.emplace_back(Paragraph{
      "`fitwright reckon WHAT` says what one of them needs; `fitwright reckon WHAT NAME=VALUE ...` "
      "does it.",
      Tone::kPlain});
  return RenderText(book, options);
}

std::string ReckoningText(const reckon::Reckoning& reckoning, LengthUnit unit,
                          const TextOptions& options) {
  Book book;
  book.pieces.emplace_back(Heading{2, Title(reckoning), ""});
  book.pieces.emplace_back(Paragraph{std::string(reckoning.purpose), Tone::kPlain});
  Table table;
  table.columns = {{"value", "", Align::kLeft, false},
                   {"what it is", "", Align::kLeft, true},
                   {"range", "", Align::kLeft, true},
                   {"if not given", "", Align::kLeft, true}};
  for (const reckon::Input& input : reckoning.inputs) {
    const std::string range =
        input.kind == Kind::kWord ? std::string(input.choices) : reckon::RangeText(input, unit);
    table.rows.push_back({std::string(input.name), std::string(input.about), range,
                          input.needed             ? "needed"
                          : input.fallback.empty() ? "left out"
                                                   : std::string(input.fallback)});
  }
  book.pieces.emplace_back(std::move(table));
  book.pieces.emplace_back(Paragraph{
      fmt::format("For example: fitwright reckon {} {}", reckoning.name, reckoning.example),
      Tone::kPlain});
  return RenderText(book, options);
}

std::string ReckonedSvg(const reckon::Reckoning& reckoning, const reckon::Reckoned& reckoned) {
  FW_CHECK(!reckoned.drawing.empty(), reckoning.name);
  const Fitting fit = FitToPage(reckoned.drawing);
  Svg svg(kPageWidth_mm, kPageHeight_mm, Title(reckoning));
  svg.Text({kMargin_mm, kMargin_mm}, kTitleHeight_mm, Title(reckoning), Anchor::kStart, true);
  for (const auto& s : reckoned.drawing.stretches) {
    svg.Line(fit.At(s.from_mm), fit.At(s.to_mm), StrokeOf(s.style));
  }
  for (const auto& c : reckoned.drawing.rounds) {
    svg.Circle(fit.At(c.centre_mm), fit.scale * c.radius_mm, StrokeOf(c.style));
  }
  for (const auto& l : reckoned.drawing.labels) {
    svg.Text(fit.At(l.at_mm), kLettering_mm, l.text, Anchor::kMiddle);
  }
  return svg.Finish();
}

}  // namespace fitwright::sheets
