// The replay is a proof only as long as it does not look at what it is to prove.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <regex>
#include <string>

namespace {

namespace fs = std::filesystem;

std::string Read(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

TEST(Independence, OnlyTheJudgementReadsTheDesign) {
  const fs::path folder = fs::path(FITWRIGHT_SOURCE_DIR) / "src/fitwright/replay";
  const std::regex design(
      R"(Feature|\bfeatures\b|\.feature\b|MakeDesign|MakeEnvelope|[.>]holes\b|fitwright/(planner|variation|review)/)");
  int judges = 0;
  int read = 0;
  for (const auto& entry : fs::directory_iterator(folder)) {
    const std::string text = Read(entry.path());
    ++read;
    const bool looks = std::regex_search(text, design);
    if (entry.path().filename() == "design_check.cc") {
      judges += looks ? 1 : 0;
      continue;
    }
    std::smatch found;
    std::regex_search(text, found, design);
    EXPECT_FALSE(looks) << entry.path() << " says " << found.str();
  }
  EXPECT_EQ(judges, 1);
  EXPECT_GT(read, 20);
}

}  // namespace
