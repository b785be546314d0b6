// The folder that a project goes into, all of it or nothing. Internal to service/.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::service {

Error CannotWrite(const std::filesystem::path& path, const std::string& why, const std::string& remedy);

// Holds a machine.toml.
bool HoldsProject(const std::filesystem::path& folder);
// Absent or empty. Errors: kFileUnwritable.
Status CheckEmpty(const std::filesystem::path& folder);

// A folder beside the target that takes its place when all is written, and goes when it does not.
class HalfWritten {
 public:
  explicit HalfWritten(const std::filesystem::path& target);
  ~HalfWritten();
  HalfWritten(const HalfWritten&) = delete;
  HalfWritten& operator=(const HalfWritten&) = delete;

  Status Make() const;
  // The target is absent or empty.
  Status Keep();
  // The target is a project: each of `files` takes the place of its namesake, machine.toml last, and
  // all else stays. Stopped on the way, new sheets stand under the old machine.toml; the same again
  // mends it.
  Status KeepOver(const std::vector<std::filesystem::path>& files);
  const std::filesystem::path& folder() const { return folder_; }

 private:
  std::filesystem::path target_;
  std::filesystem::path folder_;
  bool kept_ = false;
};

}  // namespace fitwright::service
