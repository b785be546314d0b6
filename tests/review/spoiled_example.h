// Examples read with passages of their files changed, and what the review says of them.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/review/review.h"

namespace fitwright::review {

// One passage of a file, replaced where it stands first.
struct Change {
  std::string file;
  std::string from;
  std::string to;
};

inline const std::string kWhole = "airbrush-compressor";

inline std::filesystem::path FolderOf(const std::string& name) {
  return std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / name;
}

inline void Apply(const std::filesystem::path& dir, const Change& change) {
  std::stringstream read;
  read << std::ifstream(dir / change.file).rdbuf();
  std::string text = read.str();
  const std::size_t at = text.find(change.from);
  ASSERT_NE(at, std::string::npos) << change.file << ": " << change.from;
  std::ofstream(dir / change.file) << text.replace(at, change.from.size(), change.to);
}

inline Machine LoadSpoiled(const std::string& example, const std::vector<Change>& changes) {
  namespace fs = std::filesystem;
  const std::string test = ::testing::UnitTest::GetInstance()->current_test_info()->name();
  const fs::path dir = fs::path(::testing::TempDir()) / ("review_" + example + test);
  fs::remove_all(dir);
  fs::copy(FolderOf(example), dir, fs::copy_options::recursive);
  for (const Change& change : changes) Apply(dir, change);
  Diagnostics faults;
  const auto project = files::LoadProject(dir, {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  fs::remove_all(dir);
  return project ? project->machine : Machine{};
}

inline std::vector<Finding> ReviewSpoiled(const std::string& example,
                                          const std::vector<Change>& changes) {
  return Review(LoadSpoiled(example, changes));
}

inline std::string Listed(const std::vector<Finding>& findings) {
  std::string text;
  for (const Finding& f : findings) {
    text += "\n  " + std::string(WordOf(f.rule)) + " " + f.where + ": " + f.say;
  }
  return text;
}

struct Expected {
  Rule rule;
  std::string where;
  std::string says;  // a piece of the sentence, with its number
};

inline bool Names(const std::vector<Finding>& findings, const Expected& expected) {
  for (const Finding& f : findings) {
    if (f.rule == expected.rule && f.where == expected.where &&
        f.say.find(expected.says) != std::string::npos && !f.remedy.empty()) {
      return true;
    }
  }
  return false;
}

}  // namespace fitwright::review
