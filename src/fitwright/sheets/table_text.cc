#include "fitwright/sheets/table_text.h"

#include <algorithm>
#include <numeric>

#include "fitwright/base/check.h"
#include "fitwright/sheets/text.h"

namespace fitwright::sheets {
namespace {

constexpr std::size_t kGap = 2;
constexpr std::size_t kLeastWrapped = 14;

std::size_t BeforePoint(const std::string& cell) {
  const std::size_t point = cell.find('.');
  return point == std::string::npos ? cell.size() : point;
}

struct Measured {
  std::size_t width = 0;
  std::size_t before_point = 0;  // kPoint columns
};

Measured Measure(const Table& table, std::size_t column) {
  const Column& c = table.columns[column];
  Measured m;
  std::size_t after = 0;
  std::size_t cells = 0;
  for (const auto& row : table.rows) {
    FW_CHECK(row.size() == table.columns.size(), row.size(), table.columns.size());
    cells = std::max(cells, row[column].size());
    m.before_point = std::max(m.before_point, BeforePoint(row[column]));
    after = std::max(after, row[column].size() - BeforePoint(row[column]));
  }
  if (c.align == Align::kPoint) cells = m.before_point + after;
  m.width = std::max({cells, c.head.size(), c.unit.size()});
  if (c.align == Align::kPoint) m.before_point += m.width - cells;
  return m;
}

std::string Padded(const std::string& cell, Align align, const Measured& m) {
  std::size_t left = 0;
  if (align == Align::kRight && cell.size() < m.width) left = m.width - cell.size();
  if (align == Align::kPoint && BeforePoint(cell) < m.before_point) {
    left = m.before_point - BeforePoint(cell);
  }
  std::string text = std::string(left, ' ') + cell;
  if (text.size() < m.width) text.append(m.width - text.size(), ' ');
  return text;
}

std::size_t TotalWidth(const std::vector<Measured>& measured) {
  std::size_t total = measured.empty() ? 0 : kGap * (measured.size() - 1);
  for (const Measured& m : measured) total += m.width;
  return total;
}

void Shrink(const Table& table, std::vector<Measured>& measured, std::size_t width) {
  while (TotalWidth(measured) > width) {
    std::size_t widest = measured.size();
    for (std::size_t i = 0; i < measured.size(); ++i) {
      if (!table.columns[i].wraps || measured[i].width <= kLeastWrapped) continue;
      if (widest == measured.size() || measured[i].width > measured[widest].width) widest = i;
    }
    if (widest == measured.size()) return;
    --measured[widest].width;
  }
}

void TrimRight(std::string& line) { line.erase(line.find_last_not_of(' ') + 1); }

class TableLines {
 public:
  TableLines(const Table& table, const std::vector<Measured>& measured)
      : table_(table), measured_(measured) {}

  std::vector<std::string> Make() {
    AddCells(Heads(false), true);
    const auto units = Heads(true);
    if (std::any_of(units.begin(), units.end(), [](const auto& u) { return !u.empty(); })) {
      AddCells(units, true);
    }
    std::string rule;
    for (std::size_t i = 0; i < measured_.size(); ++i) {
      if (i > 0) rule.append(kGap, ' ');
      rule.append(measured_[i].width, '-');
    }
    lines_.push_back(rule);
    for (const auto& row : table_.rows) AddCells(row, false);
    return lines_;
  }

 private:
  std::vector<std::string> Heads(bool units) const {
    std::vector<std::string> cells;
    for (const Column& c : table_.columns) cells.push_back(units ? c.unit : c.head);
    return cells;
  }

  void AddCells(const std::vector<std::string>& cells, bool head) {
    std::vector<std::vector<std::string>> wrapped;
    std::size_t height = 1;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const bool wraps = table_.columns[i].wraps;
      wrapped.push_back(wraps ? WrapText(cells[i], measured_[i].width)
                              : std::vector<std::string>{cells[i]});
      height = std::max(height, wrapped.back().size());
    }
    for (std::size_t k = 0; k < height; ++k) {
      std::string line;
      for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) line.append(kGap, ' ');
        Align align = table_.columns[i].align;
        if (head && align == Align::kPoint) align = Align::kRight;
        line += Padded(k < wrapped[i].size() ? wrapped[i][k] : "", align, measured_[i]);
      }
      TrimRight(line);
      lines_.push_back(line);
    }
  }

  const Table& table_;
  const std::vector<Measured>& measured_;
  std::vector<std::string> lines_;
};

Table Columns(const Table& table, const std::vector<std::size_t>& which) {
  Table part;
  for (const std::size_t i : which) part.columns.push_back(table.columns[i]);
  for (const auto& row : table.rows) {
    std::vector<std::string> cells;
    for (const std::size_t i : which) cells.push_back(row[i]);
    part.rows.push_back(std::move(cells));
  }
  return part;
}

// Column sets that fit, each with the repeated columns.
std::vector<std::vector<std::size_t>> Split(const std::vector<Measured>& measured,
                                            std::size_t repeated, std::size_t width) {
  std::vector<std::size_t> first(std::min(repeated, measured.size()));
  std::iota(first.begin(), first.end(), std::size_t{0});
  std::size_t first_width = 0;
  for (const std::size_t i : first) first_width += measured[i].width + kGap;
  std::vector<std::vector<std::size_t>> sets;
  std::vector<std::size_t> now = first;
  std::size_t used = first_width;
  for (std::size_t i = first.size(); i < measured.size(); ++i) {
    if (now.size() > first.size() && used + measured[i].width > width) {
      sets.push_back(now);
      now = first;
      used = first_width;
    }
    now.push_back(i);
    used += kGap + measured[i].width;
  }
  sets.push_back(now);
  return sets;
}

}  // namespace

std::vector<std::string> LayOutTable(const Table& table, std::size_t width) {
  if (table.columns.empty()) return {};
  std::vector<Measured> measured;
  for (std::size_t i = 0; i < table.columns.size(); ++i) measured.push_back(Measure(table, i));
  Shrink(table, measured, width);
  if (TotalWidth(measured) <= width) return TableLines(table, measured).Make();
  std::vector<std::string> lines;
  for (const auto& which : Split(measured, table.repeated, width)) {
    const Table part = Columns(table, which);
    std::vector<Measured> part_measured;
    for (const std::size_t i : which) part_measured.push_back(measured[i]);
    if (!lines.empty()) lines.emplace_back();
    for (auto& line : TableLines(part, part_measured).Make()) lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace fitwright::sheets
