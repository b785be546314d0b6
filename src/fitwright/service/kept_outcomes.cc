#include "fitwright/service/kept_outcomes.h"

#include <fmt/format.h>

#include <string_view>
#include <system_error>

#include "fitwright/base/hash.h"
#include "fitwright/base/system.h"
#include "fitwright/service/kept_files.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kEnding = ".outcomes";

}  // namespace

KeptOutcomes::KeptOutcomes(const fs::path& project_folder) {
  const fs::path cache = UserCacheFolder();
  std::error_code failed;
  const fs::path folder = fs::weakly_canonical(project_folder, failed);
  if (cache.empty() || failed) return;
  file_ = cache / "outcomes" / fmt::format("{:016x}{}", StableHash(folder.native()), kEnding);
  if (const auto bytes = ReadKept(file_)) memo_.AddBytes(*bytes);
}

void KeptOutcomes::Save() const {
  if (!file_.empty()) WriteKept(file_, memo_.ToBytes());
}

}  // namespace fitwright::service
