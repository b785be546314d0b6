// Folders to write a project's texts into, and edits of the texts.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "tests/files/sample_texts.h"

namespace fitwright::files_test {

// A fresh folder that goes away with the object.
class ProjectFolder {
 public:
  explicit ProjectFolder(const Texts& texts);
  ~ProjectFolder();
  ProjectFolder(const ProjectFolder&) = delete;
  ProjectFolder& operator=(const ProjectFolder&) = delete;
  const std::filesystem::path& path() const { return path_; }
  void Write(const std::string& file, const std::string& text) const;
  void Remove(const std::string& file) const;
  // Every file of the folder with its bytes.
  Texts Snapshot() const;

 private:
  std::filesystem::path path_;
};

// text with the one place where `from` stands put as `to`; fails the test when it is not there
// once.
inline std::string Edited(const std::string& text, const std::string& from, const std::string& to);
// The number, from 1, of the first line that holds `needle`; 0 when none does.
inline int LineOf(const std::string& text, const std::string& needle);

inline std::string ReadAll(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  std::ostringstream bytes;
  bytes << stream.rdbuf();
  return bytes.str();
}

inline ProjectFolder::ProjectFolder(const Texts& texts) {
  static std::atomic<int> counter{0};
  path_ = std::filesystem::temp_directory_path() /
          ("fitwright_files_" + std::to_string(::getpid()) + "_" + std::to_string(counter++));
  std::filesystem::create_directories(path_ / "parts");
  for (const auto& [file, text] : texts) Write(file, text);
}

inline ProjectFolder::~ProjectFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

inline void ProjectFolder::Write(const std::string& file, const std::string& text) const {
  std::ofstream stream(path_ / file, std::ios::binary | std::ios::trunc);
  stream << text;
  ASSERT_TRUE(stream.good()) << file;
}

inline void ProjectFolder::Remove(const std::string& file) const {
  std::filesystem::remove_all(path_ / file);
}

inline Texts ProjectFolder::Snapshot() const {
  Texts texts;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(path_)) {
    const std::string name = std::filesystem::relative(entry.path(), path_).string();
    texts[name] = entry.is_regular_file() ? ReadAll(entry.path()) : "(folder)";
  }
  return texts;
}

inline std::string Edited(const std::string& text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << "not in the sample: " << from;
  if (at == std::string::npos) return text;
  EXPECT_EQ(text.find(from, at + 1), std::string::npos) << "more than once in the sample: " << from;
  return text.substr(0, at) + to + text.substr(at + from.size());
}

inline int LineOf(const std::string& text, const std::string& needle) {
  const std::size_t at = text.find(needle);
  if (at == std::string::npos) return 0;
  return 1 + static_cast<int>(
                 std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

}  // namespace fitwright::files_test
