// Outlines and cutouts by a closed line: as a sheet says them, written, and read back.
#include <gtest/gtest.h>

#include <string>

#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"

namespace fitwright {
namespace {

constexpr const char* kOnePart =
    "format = \"fitwright-machine/1\"\nname = \"one\"\nunits = \"mm\"\n\n[[part]]\nsheet = "
    "\"plate\"\n";
constexpr const char* kLinedPlate = R"(format = "fitwright-part/1"
material = "steel"
unit = "inch"

[envelope]
block = { x = [-2, 1], y = [-1, 1], z = [0, 0.5] }

[[feature]]
name = "shape"
kind = "outline"
from = "+z"
line = [[-2, -1], [0.5, -0.75, 0.9], [0.5, 0.75], [-2, 1]]

[[feature]]
name = "window"
kind = "cutout"
from = "-z"
line = [[-1, -0.2], [0, -0.2, 0.3], [0, 0.2], [-1, 0.2, -0.5]]
depth = "3 mm"

[[feature]]
name = "side"
kind = "cutout"
from = "-x"
line = [[-0.3, 0.1], [0.3, 0.1], [0.1, 0.4]]
through = true

[[feature]]
name = "ledge"
kind = "outline"
from = "+z"
line = [[-2, -0.6], [0.4, -0.6], [0.4, 0.6], [-2, 0.6]]
entry = 0.45
depth = 0.1
)";

Result<Part> ReadPlate(const std::string& sheet) {
  const files_test::ProjectFolder folder({{"machine.toml", kOnePart}, {"parts/plate.toml", sheet}});
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  if (!project) return Unexpected(project.error());
  return project->machine.parts.front();
}

const Outline& LineNamed(const Part& part, const char* name) {
  return std::get<Outline>(part.Find(FeatureId(name))->shape);
}

TEST(ClosedLines, StandByARightHandInMillimetres) {
  const auto part = ReadPlate(kLinedPlate);
  ASSERT_TRUE(part);
  const Outline& shape = LineNamed(*part, "shape");
  EXPECT_FALSE(shape.within);
  EXPECT_EQ(shape.depth_mm, 0);
  EXPECT_TRUE(shape.line[1].at_mm.isApprox(Vec2(12.7, -19.05), 1e-9));
  // An arc of 0.9 over a way of 1.5.
  EXPECT_NEAR(shape.line[1].turn_rad, 2 * std::asin(0.75 / 0.9), 1e-9);
  // Seen from below, v runs against y, and what turned left turns right.
  const Outline& window = LineNamed(*part, "window");
  EXPECT_TRUE(window.within);
  EXPECT_NEAR(window.depth_mm, 3, 1e-9);
  EXPECT_TRUE(window.u_P.cross(window.v_P).isApprox(-window.into_P));
  EXPECT_TRUE(window.line[0].at_mm.isApprox(Vec2(-25.4, 5.08), 1e-9));
  EXPECT_LT(window.line[1].turn_rad, 0);
  EXPECT_GT(window.line[3].turn_rad, 0);
  EXPECT_NEAR(LineNamed(*part, "ledge").origin_P_mm.z(), 0.45 * 25.4, 1e-9);
}

TEST(ClosedLines, ComeBackFromWhatIsWritten) {
  const auto part = ReadPlate(kLinedPlate);
  ASSERT_TRUE(part);
  const auto text = files::WritePart(*part);
  ASSERT_TRUE(text) << Format(text.error());
  const auto again = ReadPlate(*text);
  ASSERT_TRUE(again) << *text;
  for (const char* name : {"shape", "window", "side", "ledge"}) {
    const Outline& a = LineNamed(*part, name);
    const Outline& b = LineNamed(*again, name);
    ASSERT_EQ(a.line.size(), b.line.size()) << name;
    EXPECT_EQ(a.within, b.within) << name;
    EXPECT_NEAR(a.depth_mm, b.depth_mm, 1e-6) << name;
    EXPECT_TRUE(a.origin_P_mm.isApprox(b.origin_P_mm, 1e-9)) << name;
    for (std::size_t i = 0; i < a.line.size(); ++i) {
      EXPECT_TRUE(a.line[i].at_mm.isApprox(b.line[i].at_mm, 1e-6)) << name << " corner " << i;
      EXPECT_NEAR(a.line[i].turn_rad, b.line[i].turn_rad, 1e-6) << name << " corner " << i;
    }
  }
}

}  // namespace
}  // namespace fitwright
