#include "fitwright/service/kept_outcomes.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <system_error>
#include <utility>
#include <vector>

#include "fitwright/base/atomic_file.h"
#include "fitwright/base/hash.h"
#include "fitwright/base/system.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kEnding = ".outcomes";
constexpr std::uintmax_t kMostBytes = 64U << 20U;

void DropOldest(const fs::path& folder) {
  std::vector<std::pair<fs::file_time_type, fs::path>> files;
  std::uintmax_t total = 0;
  std::error_code failed;
  for (const auto& entry : fs::directory_iterator(folder, failed)) {
    if (entry.path().extension() != kEnding) continue;
    const std::uintmax_t bytes = entry.file_size(failed);
    if (failed) continue;
    total += bytes;
    files.emplace_back(entry.last_write_time(failed), entry.path());
  }
  std::sort(files.begin(), files.end());
  for (const auto& [time, path] : files) {
    if (total <= kMostBytes) return;
    const std::uintmax_t bytes = fs::file_size(path, failed);
    if (!failed && fs::remove(path, failed)) total -= bytes;
  }
}

}  // namespace

KeptOutcomes::KeptOutcomes(const fs::path& project_folder) {
  const fs::path cache = UserCacheFolder();
  std::error_code failed;
  const fs::path folder = fs::weakly_canonical(project_folder, failed);
  if (cache.empty() || failed) return;
  file_ = cache / "outcomes" / fmt::format("{:016x}{}", StableHash(folder.native()), kEnding);
  std::ifstream in(file_, std::ios::binary);
  if (!in) return;
  memo_.AddBytes(std::string(std::istreambuf_iterator<char>(in), {}));
}

void KeptOutcomes::Save() const {
  if (file_.empty()) return;
  std::error_code failed;
  fs::create_directories(file_.parent_path(), failed);
  if (failed || !WriteFileAtomically(file_, memo_.ToBytes())) return;
  DropOldest(file_.parent_path());
}

}  // namespace fitwright::service
