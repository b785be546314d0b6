// Runs the real program in a folder of its own and keeps what it said.
#pragma once

#include <gtest/gtest.h>
#include <sys/wait.h>

#include <cstdlib>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace fitwright::app {

namespace fs = std::filesystem;

struct Ran {
  int status = -1;
  std::string out;
  std::string err;
};

inline std::string ReadFile(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

inline void WriteFile(const fs::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

// A folder that is empty at the start of the test and gone at its end.
class Folder {
 public:
  Folder() {
    const auto* unit = ::testing::UnitTest::GetInstance();
    const auto* suite = unit->current_test_suite();
    const auto* test = unit->current_test_info();  // none while a suite is being set up
    path_ = fs::path(::testing::TempDir()) /
            (std::string("app_") + suite->name() + "_" + (test != nullptr ? test->name() : "suite") + "_" +
             std::to_string(::getpid()));
    fs::remove_all(path_);
    fs::create_directories(path_);
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const fs::path& path() const { return path_; }

  // A copy of one of the examples; its path.
  fs::path Example(const std::string& name) const {
    fs::copy(fs::path(FITWRIGHT_SOURCE_DIR) / "examples" / name, path_ / name,
             fs::copy_options::recursive);
    return path_ / name;
  }

  // `line` as a shell would take it. What the program keeps (by its own file's hash; the tests of plan_again
  // hold a plan from it to the same bytes as one from nothing) serves all tests of these.
  Ran Run(const std::string& line) const { return RunWith(std::string(FITWRIGHT_BINARY_DIR) + "/tests/kept", line); }

  // With nothing kept from before.
  Ran RunAnew(const std::string& line) const {
    fs::remove_all(path_ / "cache");
    return RunWith((path_ / "cache").string(), line);
  }

 private:
  Ran RunWith(const std::string& cache, const std::string& line) const {
    const std::string command = "cd '" + path_.string() + "' && XDG_CACHE_HOME='" + cache + "' COLUMNS=80 '" +
                                FITWRIGHT_BINARY_DIR + "/fitwright' " + line + " >out.txt 2>err.txt </dev/null";
    const int raw = std::system(command.c_str());
    return {WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw), ReadFile(path_ / "out.txt"),
            ReadFile(path_ / "err.txt")};
  }

  fs::path path_;
};

inline void Replace(const fs::path& file, const std::string& from, const std::string& to) {
  std::string text = ReadFile(file);
  const std::size_t at = text.find(from);
  ASSERT_NE(at, std::string::npos) << file << ": " << from;
  WriteFile(file, text.replace(at, from.size(), to));
}

}  // namespace fitwright::app
