#include "fitwright/service/sheet_additions.h"

#include <filesystem>
#include <map>
#include <string>

#include "fitwright/base/atomic_file.h"
#include "fitwright/service/sheet_trial.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

Error Refused(std::string message, std::string value, std::string remedy) {
  if (value.size() > 60) value.resize(60);
  return {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}};
}

// The sheets with the tables behind what they hold.
Result<std::map<std::string, std::string>> MakeSheets(
    const fs::path& dir, const std::vector<files::SheetTable>& tables) {
  std::map<std::string, std::string> sheets;
  for (const files::SheetTable& table : tables) {
    if (!IsSheetName(table.file))
      return Unexpected(Refused("this is no sheet of the project", table.file,
                                "name a part by letters, digits, - and _"));
    const auto [at, is_new] = sheets.try_emplace(table.file);
    const bool stands = is_new && fs::exists(dir / table.file);
    if (stands) {
      auto text = ReadSheetText(dir / table.file);
      if (!text) return Unexpected(text.error());
      at->second = *std::move(text);
    }
    if (table.table.empty() && !at->second.empty())
      return Unexpected(
          Refused("this sheet stands already", table.file, "give the part another name"));
    if (!at->second.empty() && at->second.back() != '\n') at->second += '\n';
    at->second += files::TextOfTable(table);
  }
  return sheets;
}

Status WriteSheets(const fs::path& dir, const std::map<std::string, std::string>& sheets) {
  std::error_code failed;
  fs::create_directories(dir / "parts", failed);
  // "parts/..." sorts behind "machine.toml": what is named stands before its name does.
  for (auto at = sheets.rbegin(); at != sheets.rend(); ++at) {
    if (const Status written = WriteFileAtomically(dir / at->first, at->second); !written)
      return written;
  }
  return Ok{};
}

}  // namespace

Status AddToSheets(const OpenOptions& open, const std::vector<files::SheetTable>& tables,
                   Diagnostics& faults) {
  if (tables.empty()) return Unexpected(Refused("nothing is to be added", "", "fill in the form"));
  const auto sheets = MakeSheets(open.dir, tables);
  if (!sheets) return Unexpected(sheets.error());
  if (const Status tried = TrySheets(open, *sheets, faults); !tried) return tried;
  return WriteSheets(open.dir, *sheets);
}

}  // namespace fitwright::service
