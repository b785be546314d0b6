// Virtual builds' outcomes of one project, kept between runs in the user's cache folder.
#pragma once

#include <filesystem>

#include "fitwright/variation/outcome_memo.h"

namespace fitwright::service {

class KeptOutcomes {
 public:
  // Reads what the last run on this project folder kept; nothing where there is no cache folder, or
  // what lies there is no whole file of this program's.
  explicit KeptOutcomes(const std::filesystem::path& project_folder);
  variation::OutcomeMemo& memo() { return memo_; }
  // Keeps what this run used; the oldest projects' go where all take more than 64 MB. Failing to
  // write is no error: the next run computes again.
  void Save() const;

 private:
  std::filesystem::path file_;
  variation::OutcomeMemo memo_;
};

}  // namespace fitwright::service
