#include "fitwright/service/finding_place.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

namespace fitwright::service {
namespace {

const std::filesystem::path kExample =
    std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples/airbrush-compressor";

// The line of the passage, counted by its line ends.
int LineOf(const std::string& file, const std::string& passage) {
  std::stringstream read;
  read << std::ifstream(kExample / file).rdbuf();
  const std::string text = read.str();
  const std::size_t at = text.find(passage);
  EXPECT_NE(at, std::string::npos) << file << ": " << passage;
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
}

TEST(FindingPlace, FileAndLineOfWhatIsMeant) {
  struct Case {
    const char* where;
    const char* file;
    const char* passage;  // its line; nothing for the first line
  };
  for (const Case& c : {
           Case{"body.front_holes", "parts/body.toml", "name = \"front_holes\""},
           Case{"crank_disc.pin_hole", "parts/crank_disc.toml", "name = \"pin_hole\""},
           Case{"joint front_screws", "machine.toml", "name = \"front_screws\""},
           Case{"bearing_front", "machine.toml", "name = \"bearing_front\""},
           Case{"pin_washer", "parts/pin_washer.toml", ""},
           Case{"ring#2.outside", "parts/ring.toml", "name = \"outside\""},
           Case{"foot_right.screw_holes", "parts/foot_right.toml", ""},
           Case{"reed_stop and head", "parts/reed_stop.toml", ""},
       }) {
    std::vector<review::Finding> findings = {{review::Rule::kWallThin, c.where, "", ""}};
    FillPlaces(kExample, findings);
    EXPECT_EQ(findings[0].file, c.file) << c.where;
    const int line = c.passage[0] == '\0' ? 1 : LineOf(c.file, c.passage);
    EXPECT_EQ(findings[0].line, line) << c.where;
  }
}

}  // namespace
}  // namespace fitwright::service
