#include "fitwright/service/folder_stamp.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <ctime>
#include <vector>

namespace fitwright::service {
namespace {

namespace fs = std::filesystem;

constexpr std::time_t kSettled_s = 2;

void Add(const fs::path& file, FolderStamp& stamp) {
  struct stat found {};
  if (::stat(file.c_str(), &found) != 0) {
    stamp.text += fmt::format("{}|-\n", file.string());
    return;
  }
  stamp.text += fmt::format("{}|{}|{}|{}.{}|{}.{}\n", file.string(), found.st_ino, found.st_size,
                            found.st_mtim.tv_sec, found.st_mtim.tv_nsec, found.st_ctim.tv_sec,
                            found.st_ctim.tv_nsec);
  const std::time_t now = std::time(nullptr);
  if (found.st_ctim.tv_sec + kSettled_s > now) stamp.settled = false;
}

}  // namespace

FolderStamp ReadFolderStamp(const fs::path& dir, const std::optional<fs::path>& shop_file) {
  FolderStamp stamp{"", true};
  std::vector<fs::path> sheets;
  std::error_code failed;
  for (fs::directory_iterator at(dir / "parts", failed), end; !failed && at != end;
       at.increment(failed)) {
    sheets.push_back(at->path());
  }
  std::sort(sheets.begin(), sheets.end());
  for (const char* name : {"machine.toml", "shop.toml", "choices.toml", "plan.json"})
    Add(dir / name, stamp);
  if (shop_file) Add(*shop_file, stamp);
  for (const fs::path& sheet : sheets) Add(sheet, stamp);
  return stamp;
}

std::string FindFileIdentity(const fs::path& file) {
  struct stat found {};
  if (::stat(file.c_str(), &found) != 0) return "";
  return fmt::format("{}:{}", found.st_dev, found.st_ino);
}

}  // namespace fitwright::service
