#include "fitwright/service/finding_place.h"

#include <fstream>
#include <optional>
#include <string>

#include "fitwright/model/machine.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

// The first line `name = "..."` with this name.
std::optional<int> FindNameLine(const fs::path& file, const std::string& name) {
  std::ifstream in(file);
  std::string line;
  for (int number = 1; std::getline(in, line); ++number) {
    std::string packed;
    for (const char c : line) {
      if (c == '#') break;
      if (c != ' ' && c != '\t') packed += c;
    }
    if (packed.rfind("name=\"" + name + "\"", 0) == 0) return number;
  }
  return std::nullopt;
}

struct Place {
  std::string file;
  int line = 0;
};

Place InMachine(const fs::path& dir, const std::string& name) {
  return {"machine.toml", FindNameLine(dir / "machine.toml", name).value_or(1)};
}

Place PlaceOf(const fs::path& dir, const std::string& where) {
  const std::string joint = "joint ";
  if (where.rfind(joint, 0) == 0) return InMachine(dir, where.substr(joint.size()));
  const std::string first = where.substr(0, where.find(' '));
  const std::size_t dot = first.find('.');
  const std::string part = SheetIdOf(PartId(first.substr(0, dot))).text();
  const std::string sheet = "parts/" + part + ".toml";
  if (!fs::exists(dir / sheet)) return InMachine(dir, part);
  if (dot == std::string::npos) return {sheet, 1};
  return {sheet, FindNameLine(dir / sheet, first.substr(dot + 1)).value_or(1)};
}

}  // namespace

void FillPlaces(const fs::path& dir, std::vector<review::Finding>& findings) {
  for (review::Finding& finding : findings) {
    if (finding.line > 0) continue;
    const Place place = PlaceOf(dir, finding.where);
    if (!fs::exists(dir / place.file)) continue;
    finding.file = place.file;
    finding.line = place.line;
  }
}

}  // namespace fitwright::service
