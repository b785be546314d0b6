#include "fitwright/files/sheet_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/table_reader.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

constexpr std::size_t kCommentColumn = 34;
constexpr int kMostDecimals = 9;

// The fewest decimals that give the value back; kMostDecimals + 1 when none does.
int DecimalsOf(double value, double within) {
  for (int decimals = 0; decimals <= kMostDecimals; ++decimals) {
    if (std::abs(RoundHalfAway(value, decimals) - value) <= within) return decimals;
  }
  return kMostDecimals + 1;
}

// Comments end with their line.
std::string OneLine(std::string text) {
  std::replace_if(
      text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7f; }, ' ');
  return text;
}

}  // namespace

std::string Quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (byte < 0x20 || byte == 0x7f) {
      out += fmt::format("\\u{:04X}", byte);
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string ShortNumber(double value) {
  return FormatTrimmed(value, std::min(DecimalsOf(value, kGeometryNoise_mm), kMostDecimals));
}

std::string PlainNumber(double value) {
  const int decimals = DecimalsOf(value, std::abs(value) * 1e-12);
  return decimals <= kMostDecimals ? FormatTrimmed(value, decimals) : fmt::format("{}", value);
}

std::string BracketList(const std::vector<std::string>& items) {
  std::string out;
  for (const std::string& item : items) out += (out.empty() ? "" : ", ") + item;
  return "[" + out + "]";
}

SheetText::SheetText(LengthUnit unit, const std::vector<Remark>& remarks)
    : unit_(unit), remarks_(remarks) {
  tables_.emplace_back("", 0);
}

void SheetText::Table(std::string_view header, std::string path) {
  lines_.push_back({"", "", ""});
  lines_.push_back({std::string(header), "", ""});
  path_ = std::move(path);
  tables_.emplace_back(path_, lines_.size());
}

void SheetText::Key(std::string_view key, std::string value) {
  lines_.push_back({fmt::format("{} = {}", key, value),
                    path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key), ""});
}

void SheetText::Text(std::string_view key, std::string_view value) { Key(key, Quoted(value)); }
void SheetText::Length(std::string_view key, double mm) { Key(key, LengthOf(mm)); }
void SheetText::Lengths(std::string_view key, const std::vector<double>& mm) {
  Key(key, ListOf(mm));
}
void SheetText::Side(std::string_view key, const Vec3& direction) {
  Word(key, SideWord(direction));
}

std::string SheetText::LengthOf(double mm) const {
  if (unit_ == LengthUnit::kMillimetre) return ShortNumber(mm);
  // In inches, unless the length is a round one in mm alone.
  constexpr int kRoundInches = 5;
  constexpr int kRoundMm = 3;
  const double inches = mm / kMmPerInch;
  const int decimals = DecimalsOf(inches, kGeometryNoise_mm / kMmPerInch);
  if (decimals > kRoundInches && DecimalsOf(mm, kGeometryNoise_mm) <= kRoundMm) {
    return fmt::format("\"{} mm\"", ShortNumber(mm));
  }
  return FormatTrimmed(inches, std::min(decimals, kMostDecimals));
}

std::string SheetText::ListOf(const std::vector<double>& mm) const {
  std::vector<std::string> items;
  for (const double one : mm) items.push_back(LengthOf(one));
  return BracketList(items);
}

void SheetText::Attach(const Remark& remark) {
  const std::string words = OneLine("proposed: " + remark.words);
  const auto put = [&](Line& line) { line.comment += (line.comment.empty() ? "" : "; ") + words; };
  for (Line& line : lines_) {
    if (line.path == remark.where && !line.path.empty()) return put(line);
  }
  // Beside the first key of the table that it belongs to, the innermost.
  std::string path = remark.where;
  while (true) {
    for (const auto& [table, first] : tables_) {
      if (table == path && first < lines_.size() && !lines_[first].path.empty()) {
        return put(lines_[first]);
      }
    }
    const std::size_t dot = path.rfind('.');
    if (path.empty()) break;
    path = dot == std::string::npos ? "" : path.substr(0, dot);
  }
}

std::string SheetText::Finish() {
  for (const Remark& remark : remarks_) Attach(remark);
  std::string text;
  for (const Line& line : lines_) {
    text += line.text;
    if (!line.comment.empty()) {
      text.append(line.text.size() < kCommentColumn ? kCommentColumn - line.text.size() : 1, ' ');
      text += "# " + line.comment;
    }
    text += '\n';
  }
  return text;
}

bool Alike(double a, double b) { return std::abs(a - b) < kGeometryNoise_mm; }
bool Alike(const Vec3& a, const Vec3& b) { return (a - b).norm() < kGeometryNoise_mm; }

bool SameLimits(const Size& a, const Size& b) {
  return Alike(a.nominal_mm, b.nominal_mm) && Alike(a.lower_mm, b.lower_mm) &&
         Alike(a.upper_mm, b.upper_mm);
}

std::vector<LimitKey> LimitsOf(const SheetText& text, const Size& size, bool general) {
  const double under_mm = size.lower_mm - size.nominal_mm;
  const double over_mm = size.upper_mm - size.nominal_mm;
  if (size.origin == LimitsOrigin::kFit) return {{"fit", Quoted(size.fit)}};
  if (size.origin == LimitsOrigin::kLimits) {
    return {{"limits", text.ListOf({size.lower_mm, size.upper_mm})}};
  }
  if (general) return {};
  if (Alike(under_mm, -over_mm)) return {{"plus_minus", text.LengthOf(over_mm)}};
  return {{"deviations", text.ListOf({under_mm, over_mm})}};
}

}  // namespace fitwright::files
