#include "fitwright/service/sheet_trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <fstream>
#include <iterator>
#include <random>

#include "fitwright/base/atomic_file.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

// A folder of its own that is gone in the end.
class TrialFolder {
 public:
  TrialFolder() {
    std::random_device random;
    path_ =
        fs::temp_directory_path() / fmt::format("fitwright-edit-{:08x}{:08x}", random(), random());
    std::error_code ignored;
    fs::create_directory(path_, ignored);
    fs::permissions(path_, fs::perms::owner_all, ignored);
  }
  ~TrialFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  TrialFolder(const TrialFolder&) = delete;
  TrialFolder& operator=(const TrialFolder&) = delete;
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

// The sheets of the project with these in their place.
Status MakeTrial(const fs::path& dir, const std::map<std::string, std::string>& sheets,
                 const fs::path& trial) {
  std::error_code failed;
  fs::create_directory(trial / "parts", failed);
  const auto copy = [&](const fs::path& name) {
    if (!failed && fs::is_regular_file(dir / name)) fs::copy_file(dir / name, trial / name, failed);
  };
  for (const char* name : {"machine.toml", "shop.toml", "choices.toml"}) copy(name);
  if (fs::is_directory(dir / "parts")) {
    for (fs::directory_iterator at(dir / "parts", failed), end; !failed && at != end;
         at.increment(failed)) {
      if (at->path().extension() == ".toml") copy(fs::path("parts") / at->path().filename());
    }
  }
  if (failed) {
    return Unexpected(Error{ErrorCode::kFileUnwritable,
                            "the change cannot be tried: " + failed.message(),
                            trial.string(),
                            "make room on the disk",
                            {}});
  }
  for (const auto& [file, text] : sheets) {
    if (const Status written = WriteFileAtomically(trial / file, text); !written) return written;
  }
  return Ok{};
}

}  // namespace

bool IsSheetName(const std::string& file) {
  if (file == "machine.toml") return true;
  constexpr std::string_view kFolder = "parts/";
  constexpr std::string_view kEnd = ".toml";
  if (!file.starts_with(kFolder) || !file.ends_with(kEnd)) return false;
  const std::string name = file.substr(kFolder.size(), file.size() - kFolder.size() - kEnd.size());
  return !name.empty() && std::all_of(name.begin(), name.end(), [](unsigned char c) {
    return std::isalnum(c) != 0 || c == '_' || c == '-';
  });
}

Result<std::string> ReadSheetText(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (in && text.size() <= kMostSheetBytes) return text;
  return Unexpected(Error{
      ErrorCode::kFileUnreadable, "this sheet cannot be read", "", "", {file.string(), 0, 0, ""}});
}

Status TrySheets(const OpenOptions& open, const std::map<std::string, std::string>& sheets,
                 Diagnostics& faults) {
  const TrialFolder trial;
  if (const Status made = MakeTrial(open.dir, sheets, trial.path()); !made) return made;
  OpenOptions tried = open;
  tried.dir = trial.path();
  if (const auto read = Open(tried, faults); !read) return Unexpected(read.error());
  return Ok{};
}

}  // namespace fitwright::service
