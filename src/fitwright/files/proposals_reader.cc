#include "fitwright/files/proposals_reader.h"

#include <array>
#include <sstream>
#include <utility>

#include "fitwright/files/sheet_text.h"

namespace fitwright::files {
namespace {

constexpr std::string_view kMark = "# proposed: ";

// Headers of tables that carry a name, and what their paths begin with.
struct Named {
  std::string_view header;
  std::string_view path;
  std::string_view key;  // that gives the name
};
constexpr auto kNamed = std::to_array<Named>({{"[[feature]]", "features", "name"},
                                              {"[[joint]]", "joints", "name"},
                                              {"[[requirement]]", "requirements", "name"},
                                              {"[[bought]]", "bought", "name"},
                                              {"[[part]]", "uses", "sheet"}});

std::string_view Trimmed(std::string_view text) {
  const auto from = text.find_first_not_of(" \t\r");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

struct Assignment {
  std::string_view key;
  std::string_view value;
};
Assignment AssignmentIn(std::string_view line) {
  const auto equals = line.find('=');
  if (equals == std::string_view::npos) return {};
  return {Trimmed(line.substr(0, equals)), Trimmed(line.substr(equals + 1))};
}

std::string_view InQuotes(std::string_view value) {
  if (value.size() < 2 || value.front() != '"') return {};
  return value.substr(1, value.find('"', 1) - 1);
}

// A table as it is met, its remarks waiting for the name, which may follow them.
struct Open {
  const Named* named = nullptr;
  std::string path;  // of a table without a name of its own: "stock"
  std::string name;
  std::vector<Remark> waiting;  // where: the key
};

void Close(Open& open, std::vector<Remark>& remarks) {
  std::string path = open.path;
  if (open.named != nullptr) path = std::string(open.named->path) + "." + open.name;
  for (Remark& one : open.waiting) {
    if (!path.empty()) one.where = path + "." + one.where;
    remarks.push_back(std::move(one));
  }
  open = {};
}

void Begin(std::string_view header, Open& open) {
  for (const Named& one : kNamed) {
    if (header.starts_with(one.header)) open.named = &one;
  }
  if (open.named == nullptr) open.path = header.substr(1, header.find(']') - 1);
}

}  // namespace

std::vector<Remark> ReadProposals(std::string_view text) {
  std::vector<Remark> remarks;
  Open open;
  std::istringstream lines{std::string(text)};
  for (std::string whole; std::getline(lines, whole);) {
    const std::string_view line = Trimmed(whole);
    if (line.starts_with('[')) {
      Close(open, remarks);
      Begin(line, open);
    }
    const Assignment found = AssignmentIn(line);
    if (open.named != nullptr && found.key == open.named->key) open.name = InQuotes(found.value);
    const auto mark = line.rfind(kMark);
    if (mark == std::string_view::npos) continue;
    open.waiting.push_back({std::string(line.starts_with('#') ? "" : found.key),
                            std::string(line.substr(mark + kMark.size()))});
  }
  Close(open, remarks);
  return remarks;
}

std::vector<std::string> ReadGoneNames(std::string_view text) {
  std::vector<std::string> names;
  bool inside = false;
  std::istringstream lines{std::string(text)};
  for (std::string whole; std::getline(lines, whole);) {
    const std::string_view line = Trimmed(whole);
    if (line.starts_with('[')) inside = line.starts_with("[gone]");
    if (!inside || AssignmentIn(line).key != "features") continue;
    for (std::size_t from = line.find('"'); from != std::string_view::npos;) {
      const std::size_t to = line.find('"', from + 1);
      if (to == std::string_view::npos) break;
      names.emplace_back(line.substr(from + 1, to - from - 1));
      from = line.find('"', to + 1);
    }
  }
  return names;
}

std::string WriteGoneNames(const std::vector<std::string>& names) {
  if (names.empty()) return "";
  std::vector<std::string> quoted;
  for (const std::string& name : names) quoted.push_back(Quoted(name));
  return "\n[gone]\nfeatures = " + BracketList(quoted) + "\n";
}

}  // namespace fitwright::files
