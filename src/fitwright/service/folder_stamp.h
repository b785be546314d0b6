// Whether a project's folder is still as it was read.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

namespace fitwright::service {

// Names, sizes and times of everything that the project is read from, and of plan.json. Two stamps
// that are equal and settled stand for the same bytes.
struct FolderStamp {
  std::string text;
  bool settled = false;  // nothing was written in the last two seconds: a time may hide a change
  bool operator==(const FolderStamp& other) const { return text == other.text; }
};
FolderStamp ReadFolderStamp(const std::filesystem::path& dir,
                            const std::optional<std::filesystem::path>& shop_file);
// Which file stands there: another one put in its place is told apart. Empty: none.
std::string FindFileIdentity(const std::filesystem::path& file);

}  // namespace fitwright::service
