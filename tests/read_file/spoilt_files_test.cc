// Damaged files, all the way to a project or to an error.
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/step_io.h"
#include "tests/support/read_any.h"
#include "tests/support/step_text.h"

namespace fitwright {
namespace {

std::string DrilledBlock(const std::filesystem::path& file) {
  const solid::Solid block = *solid::MakeBox({Vec3(0, 0, 0), Vec3(30, 20, 10)});
  const solid::Solid drilled =
      *solid::Cut(block, {*solid::MakeCylinder({Vec3(8, 10, 0), Vec3::UnitZ()}, -1, 11, 6)});
  EXPECT_TRUE(solid::WriteStep({{"block", drilled, Pose::Identity()}}, file.string(),
                               {.assembly_name = "block"}));
  std::ostringstream text;
  text << std::ifstream(file, std::ios::binary).rdbuf();
  return text.str();
}

TEST(SpoiltFiles, EndInAProjectOrAnErrorAndLeaveNothing) {
  const auto folder =
      std::filesystem::temp_directory_path() / ("fitwright_spoilt_" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  const std::string sound = DrilledBlock(folder / "any.step");
  const int count = std::getenv("FITWRIGHT_DEEP") != nullptr ? 2000 : 100;
  testing::Dice dice(20240611);
  int read = 0;
  for (int i = 0; i < count; ++i) {
    const std::string text = testing::Spoilt(sound, dice);
    std::ofstream(folder / "any.step", std::ios::binary) << text;
    bool was_read = false;
    EXPECT_EQ(testing::ReadAny(folder, "any.step", &was_read), "") << "file " << i << "\n" << text;
    read += was_read ? 1 : 0;
  }
  std::filesystem::remove_all(folder);
  EXPECT_GT(read, 0);
  EXPECT_LT(read, count);
}

}  // namespace
}  // namespace fitwright
