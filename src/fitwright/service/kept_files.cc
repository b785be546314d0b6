#include "fitwright/service/kept_files.h"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <system_error>
#include <utility>
#include <vector>

#include "fitwright/base/atomic_file.h"

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

void DropOldest(const fs::path& folder, const fs::path& ending) {
  std::vector<std::pair<fs::file_time_type, fs::path>> files;
  std::uintmax_t total = 0;
  std::error_code failed;
  for (const auto& entry : fs::directory_iterator(folder, failed)) {
    if (entry.path().extension() != ending) continue;
    const std::uintmax_t bytes = entry.file_size(failed);
    if (failed) continue;
    total += bytes;
    files.emplace_back(entry.last_write_time(failed), entry.path());
  }
  std::sort(files.begin(), files.end());
  for (const auto& [time, path] : files) {
    if (total <= kMostKeptBytes) return;
    const std::uintmax_t bytes = fs::file_size(path, failed);
    if (!failed && fs::remove(path, failed)) total -= bytes;
  }
}

}  // namespace

std::optional<std::string> ReadKept(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

void WriteKept(const fs::path& file, std::string_view bytes) {
  std::error_code failed;
  fs::create_directories(file.parent_path(), failed);
  if (failed || !WriteFileAtomically(file, bytes)) return;
  DropOldest(file.parent_path(), file.extension());
}

}  // namespace fitwright::service
