#include "fitwright/service/drawing_shelf.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <sstream>
#include <vector>

#include "fitwright/base/hash.h"
#include "fitwright/base/program.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostAtOnce = 2;  // programs drawing

constexpr std::string_view kEnd = ".svg";
const std::string kMadeAs = "drawings and solids ";  // another word when more is made at once
constexpr std::string_view kSolidsEnd = "-solids.json";
constexpr std::string_view kHolesEnd = "-holes";
constexpr std::string_view kCuts = "-cuts";

// "setup-07-bush-cuts-2.svg": the second of its cuts. Nothing for a file of another setup.
std::optional<DrawingName> NameOf(std::string_view file, int setup) {
  if (!file.starts_with(fmt::format("setup-{:02}-", setup)) || !file.ends_with(kEnd))
    return std::nullopt;
  file.remove_suffix(kEnd.size());
  if (file.ends_with(kHolesEnd)) return DrawingName{DrawingKind::kHoles, 1};
  if (file.ends_with(kCuts)) return DrawingName{DrawingKind::kCuts, 1};
  const std::size_t cuts = file.rfind(kCuts);
  if (cuts == std::string_view::npos) return DrawingName{DrawingKind::kSetup, 1};
  const std::string_view digits = file.substr(cuts + kCuts.size());
  int sheet = 0;
  const auto [end, fault] =
      std::from_chars(digits.data() + 1, digits.data() + digits.size(), sheet);
  const bool number = digits.front() == '-' && fault == std::errc() && sheet >= 2 &&
                      end == digits.data() + digits.size();
  return number ? DrawingName{DrawingKind::kCuts, sheet} : DrawingName{DrawingKind::kSetup, 1};
}

// The last line of what the program said, which names the fault.
std::string LastLine(std::string said) {
  while (!said.empty() && said.back() == '\n') said.pop_back();
  const std::size_t at = said.rfind('\n');
  return at == std::string::npos ? said : said.substr(at + 1);
}

Error NotDrawn(const ProgramEnd& end) {
  if (end.cancelled) return {ErrorCode::kStopped, "stopped while drawing", "", "", {}};
  if (end.out_of_time) {
    return {ErrorCode::kKernel,
            "the drawings took too long",
            "",
            "try 'fitwright draw' at the terminal",
            {}};
  }
  if (end.exit_status >= 128) {
    return {ErrorCode::kKernel,
            "the program that draws ended badly",
            fmt::format("signal {}", end.exit_status - 128),
            "ask again; the plan is not harmed",
            {}};
  }
  return {ErrorCode::kKernel, "the setups were not drawn", LastLine(end.err), "", {}};
}

std::string TextOf(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

Error NothingOf(const DrawingUse& use) {
  return {ErrorCode::kFileMissing,
          "there is no such drawing of this setup",
          fmt::format("setup {}", use.setup),
          "",
          {}};
}

}  // namespace

std::optional<DrawingKind> DrawingKindOf(std::string_view word) {
  if (word == "setup") return DrawingKind::kSetup;
  if (word == "holes") return DrawingKind::kHoles;
  if (word == "cuts") return DrawingKind::kCuts;
  return std::nullopt;
}

std::string_view WordOf(DrawingKind kind) {
  static constexpr std::string_view kWords[] = {"setup", "holes", "cuts"};
  return kWords[static_cast<std::size_t>(kind)];
}

DrawingShelf::DrawingShelf(ShelfOptions options) : options_(std::move(options)) {}

Status DrawingShelf::Draw(const fs::path& folder, const DrawingUse& use) const {
  const fs::path making = folder.string() + fmt::format(".{}", getpid());
  std::error_code ignored;
  fs::remove_all(making, ignored);
  fs::create_directories(making.parent_path(), ignored);
  std::vector<std::string> arguments = {"draw",    options_.dir.string(),
                                        "--out",   making.string(),
                                        "--setup", std::to_string(use.setup),
                                        "--units", use.unit == LengthUnit::kInch ? "inch" : "mm",
                                        "--solids"};
  if (options_.shop_file)
    arguments.insert(arguments.end(), {"--shop", options_.shop_file->string()});
  const auto end = RunProgram(options_.program, arguments, {options_.seconds, options_.cancel});
  if (!end) return Unexpected(end.error());
  if (end->exit_status != 0 || end->out_of_time || end->cancelled) {
    fs::remove_all(making, ignored);
    return Unexpected(NotDrawn(*end));
  }
  std::error_code error;
  fs::rename(making, folder, error);
  if (error && !fs::is_directory(folder)) {
    return Unexpected(Error{ErrorCode::kFileUnwritable,
                            "the drawings cannot be kept: " + error.message(),
                            folder.string(),
                            "make room on the disk",
                            {}});
  }
  return Ok{};
}

void DrawingShelf::TakeOffOlder(const std::string& kept) const {
  std::error_code ignored;
  std::vector<fs::path> older;
  for (const auto& entry : fs::directory_iterator(options_.folder, ignored)) {
    if (!entry.path().filename().string().starts_with(kept)) older.push_back(entry.path());
  }
  for (const fs::path& path : older) fs::remove_all(path, ignored);
}

Result<fs::path> DrawingShelf::FolderOf(const std::string& drawn_from, const DrawingUse& use) {
  const std::string kept = fmt::format("{:016x}", StableHash(kMadeAs + drawn_from));
  const std::string name =
      fmt::format("{}-{}-{}", kept, use.unit == LengthUnit::kInch ? "inch" : "mm", use.setup);
  const fs::path folder = options_.folder / name;
  std::unique_lock lock(mutex_);
  drawn_.wait(lock,
              [&] { return being_drawn_.count(name) == 0 && being_drawn_.size() < kMostAtOnce; });
  if (fs::is_directory(folder)) return folder;
  being_drawn_.insert(name);
  TakeOffOlder(kept);
  lock.unlock();
  const Status drawn = Draw(folder, use);
  lock.lock();
  being_drawn_.erase(name);
  drawn_.notify_all();
  if (!drawn) return Unexpected(drawn.error());
  return folder;
}

Result<std::string> DrawingShelf::Get(const std::string& drawn_from, const DrawingUse& use) {
  const auto folder = FolderOf(drawn_from, use);
  if (!folder) return Unexpected(folder.error());
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(*folder, ignored)) {
    if (NameOf(entry.path().filename().string(), use.setup) != DrawingName{use.kind, use.sheet})
      continue;
    return TextOf(entry.path());
  }
  return Unexpected(NothingOf(use));
}

Result<std::string> DrawingShelf::GetSolids(const std::string& drawn_from, const DrawingUse& use) {
  const auto folder = FolderOf(drawn_from, use);
  if (!folder) return Unexpected(folder.error());
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(*folder, ignored)) {
    if (entry.path().filename().string().ends_with(kSolidsEnd)) return TextOf(entry.path());
  }
  return Unexpected(NothingOf(use));
}

Result<std::vector<DrawingName>> DrawingShelf::List(const std::string& drawn_from,
                                                    const DrawingUse& use) {
  const auto folder = FolderOf(drawn_from, use);
  if (!folder) return Unexpected(folder.error());
  std::vector<DrawingName> names;
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(*folder, ignored)) {
    if (const auto name = NameOf(entry.path().filename().string(), use.setup))
      names.push_back(*name);
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace fitwright::service
