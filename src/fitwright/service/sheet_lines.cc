#include "fitwright/service/sheet_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <optional>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/utf8.h"
#include "fitwright/service/sheet_trial.h"

namespace fitwright::service {
namespace {

constexpr std::string_view kProposed = "proposed: ";

std::string_view Trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t\r");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

// Where the value of a line stands, and its remark; none where it does not end on the line.
struct Span {
  std::size_t value = 0;
  std::size_t value_end = 0;
  std::size_t remark = std::string_view::npos;  // at its mark
};

std::optional<Span> FindSpan(std::string_view line) {
  const std::size_t equals = line.find('=');
  if (equals == std::string_view::npos) return std::nullopt;
  Span span;
  span.value = line.find_first_not_of(" \t", equals + 1);
  if (span.value == std::string_view::npos) return std::nullopt;
  if (line.substr(span.value, 3) == "\"\"\"" || line.substr(span.value, 3) == "'''")
    return std::nullopt;
  int depth = 0;
  char quote = '\0';
  std::size_t at = span.value;
  for (; at < line.size(); ++at) {
    const char c = line[at];
    if (quote != '\0') {
      if (c == '\\' && quote == '"')
        ++at;
      else if (c == quote)
        quote = '\0';
      continue;
    }
    if (c == '"' || c == '\'') quote = c;
    if (c == '[' || c == '{') ++depth;
    if (c == ']' || c == '}') --depth;
    if (c == '#') break;
  }
  if (quote != '\0' || depth != 0) return std::nullopt;
  at = std::min(at, line.size());
  if (at < line.size()) span.remark = at;
  span.value_end = span.value + Trimmed(line.substr(span.value, at - span.value)).size();
  if (span.value_end == span.value) return std::nullopt;
  return span;
}

bool IsKey(std::string_view key) {
  return !key.empty() && std::all_of(key.begin(), key.end(), [](unsigned char c) {
    return std::isalnum(c) != 0 || c == '_' || c == '-' || c == '.' || c == '"';
  });
}

// "[[feature]]" -> "feature", "[stock]" -> "stock".
std::optional<std::string> TableOf(std::string_view line) {
  line = Trimmed(line.substr(0, line.find('#')));
  if (line.size() < 3 || line.front() != '[' || line.back() != ']') return std::nullopt;
  const bool list = line.starts_with("[[");
  const std::string_view name = Trimmed(line.substr(list ? 2 : 1, line.size() - (list ? 4 : 2)));
  // A row of a list that runs over several lines is no header.
  if (!IsKey(name) || std::isdigit(static_cast<unsigned char>(name.front())) != 0)
    return std::nullopt;
  return std::string(name);
}

SheetLine MakeLine(std::string_view text, const Span& span, int number) {
  SheetLine line;
  line.line = number;
  line.key = Trimmed(text.substr(0, text.find('=')));
  line.value = text.substr(span.value, span.value_end - span.value);
  line.text = text;
  if (span.remark != std::string_view::npos) {
    std::string_view remark = Trimmed(text.substr(span.remark + 1));
    line.proposed = remark.starts_with(kProposed);
    if (line.proposed) remark.remove_prefix(kProposed.size());
    line.remark = remark;
  }
  return line;
}

// A table of many is called by its name too, which stands in it.
void NameTable(std::vector<SheetLine>& lines, std::size_t from) {
  for (std::size_t i = from; i < lines.size(); ++i) {
    if (lines[i].key != "name" && lines[i].key != "sheet") continue;
    std::string name = lines[i].value;
    std::erase(name, '"');
    for (std::size_t k = from; k < lines.size(); ++k) lines[k].table += " " + name;
    return;
  }
}

Error Stale(const SheetEdit& edit) {
  return {ErrorCode::kUsage,
          "this line is another one by now",
          fmt::format("line {}", edit.line),
          "look at the sheet again",
          {edit.file, edit.line, 0, ""}};
}

Result<std::string> Spliced(std::string_view line, const SheetEdit& edit) {
  const auto span = FindSpan(line);
  if (!span) return Unexpected(Stale(edit));
  const std::string_view value = Trimmed(edit.value);
  const bool several = value.find_first_of("\n\r") != std::string_view::npos;
  const auto as_written = FindSpan("key = " + std::string(value));
  if (!value.empty() &&
      (several || !IsUtf8(value) || !as_written || as_written->remark != std::string_view::npos)) {
    return Unexpected(Error{ErrorCode::kBadText,
                            "a value ends on its line and carries no remark",
                            std::string(value.substr(0, 60)),
                            "write it as it would stand in the sheet, texts in quotation marks",
                            {edit.file, edit.line, 0, ""}});
  }
  std::string out(line.substr(0, span->value));
  out += value.empty() ? line.substr(span->value, span->value_end - span->value) : value;
  const bool goes = edit.confirm && span->remark != std::string_view::npos &&
                    Trimmed(line.substr(span->remark + 1)).starts_with(kProposed);
  if (!goes) out += line.substr(span->value_end);
  if (goes && line.ends_with('\r')) out += '\r';
  return out;
}

}  // namespace

std::vector<SheetLine> ReadSheetLines(std::string_view sheet) {
  std::vector<SheetLine> lines;
  std::string table;
  std::size_t begun = 0;
  int number = 0;
  while (!sheet.empty()) {
    const std::size_t end = sheet.find('\n');
    const std::string_view text = sheet.substr(0, end);
    sheet.remove_prefix(end == std::string_view::npos ? sheet.size() : end + 1);
    ++number;
    if (auto header = TableOf(text)) {
      NameTable(lines, begun);
      begun = lines.size();
      table = *std::move(header);
      continue;
    }
    const auto span = FindSpan(text);
    if (!span || !IsKey(Trimmed(text.substr(0, text.find('='))))) continue;
    lines.push_back(MakeLine(text, *span, number));
    lines.back().table = table;
  }
  NameTable(lines, begun);
  return lines;
}

Result<std::string> SpliceSheet(std::string_view sheet, const SheetEdit& edit) {
  std::size_t from = 0;
  for (int line = 1; line < edit.line; ++line) {
    const std::size_t end = sheet.find('\n', from);
    if (end == std::string_view::npos) return Unexpected(Stale(edit));
    from = end + 1;
  }
  const std::size_t length = std::min(sheet.find('\n', from), sheet.size()) - from;
  if (edit.line < 1 || sheet.substr(from, length) != edit.text) return Unexpected(Stale(edit));
  const auto line = Spliced(sheet.substr(from, length), edit);
  if (!line) return line;
  return std::string(sheet.substr(0, from)) + *line + std::string(sheet.substr(from + length));
}

Status EditSheet(const OpenOptions& open, const SheetEdit& edit, Diagnostics& faults) {
  if (!IsSheetName(edit.file)) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "this is no sheet of the project",
                            edit.file.substr(0, 60),
                            "take one that the page names",
                            {}});
  }
  const auto sheet = ReadSheetText(open.dir / edit.file);
  if (!sheet) return Unexpected(sheet.error());
  const auto changed = SpliceSheet(*sheet, edit);
  if (!changed) return Unexpected(changed.error());
  if (const Status tried = TrySheets(open, {{edit.file, *changed}}, faults); !tried) return tried;
  return WriteFileAtomically(open.dir / edit.file, *changed);
}

}  // namespace fitwright::service
