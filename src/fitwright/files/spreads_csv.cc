#include <charconv>
#include <cmath>

#include "fitwright/files/shop_reader.h"

namespace fitwright::files {
namespace {

constexpr std::size_t kColumns = 12;
constexpr std::string_view kHeader =
    "id,quantity,unit,careful_mean,careful,default_mean,default,worn_mean,worn,distribution,scope,"
    "basis";

// Cells of one row; a quoted cell may hold commas, and "" for a quotation mark.
std::vector<std::string> Cells(std::string_view row) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const char c = row[i];
    if (c == '"' && quoted && i + 1 < row.size() && row[i + 1] == '"') {
      cells.back() += c;
      ++i;
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

// An empty cell is zero.
std::optional<double> NumberIn(const std::string& cell) {
  if (cell.empty()) return 0.0;
  double value = 0;
  const auto [end, trouble] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
  if (trouble != std::errc() || end != cell.data() + cell.size() || !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

std::optional<Spread> SpreadOf(const std::vector<std::string>& cells) {
  if (cells.size() != kColumns) return std::nullopt;
  std::array<double, 6> figures{};
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const auto number = NumberIn(cells[3 + i]);
    if (!number) return std::nullopt;
    figures[i] = *number;
  }
  const auto distribution = EnumOf<SpreadDistribution>(cells[9]);
  if (!distribution || cells[0].empty()) return std::nullopt;
  Spread spread;
  spread.id = cells[0];
  spread.words = cells[1];
  spread.unit = cells[2];
  spread.careful = {figures[0], figures[1]};
  spread.usual = {figures[2], figures[3]};
  spread.worn = {figures[4], figures[5]};
  spread.distribution = *distribution;
  spread.scope = cells[10];
  spread.basis = cells[11];
  return spread;
}

}  // namespace

Result<std::map<std::string, Spread>> ParseSpreads(std::string_view text, const std::string& name) {
  std::map<std::string, Spread> spreads;
  int line = 0;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    std::string_view row = text.substr(0, end);
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    if (!row.empty() && row.back() == '\r') row.remove_suffix(1);
    ++line;
    if (line == 1 && row == kHeader) continue;
    if (row.empty() && line > 1) continue;
    const auto spread = line == 1 ? std::nullopt : SpreadOf(Cells(row));
    if (!spread || !spreads.emplace(spread->id, *spread).second) {
      return Unexpected(Error{ErrorCode::kBadText, "this is not a row of the spreads table",
                              std::string(row.substr(0, 60)),
                              fmt::format("write {}, each id once", kHeader),
                              Where{name, line, 1, ""}});
    }
  }
  return spreads;
}

}  // namespace fitwright::files
