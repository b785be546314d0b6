// Threads as sheets, joints and shops write them all come to the table's one name.
#include <gtest/gtest.h>

#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

files::Project LoadWith(const std::string& sheet, const std::string& joint,
                        const std::string& shop) {
  Texts texts = SampleProject();
  texts["parts/block.toml"] =
      Edited(texts["parts/block.toml"], "thread = \"M4\"", "thread = \"" + sheet + "\"");
  texts["machine.toml"] = Edited(texts["machine.toml"], "thread = \"M4\", length = 16",
                                 "thread = \"" + joint + "\", length = 16");
  texts["shop.toml"] += "\n[[tool]]\nname = \"tap_m6_plug\"\nthread = \"" + shop + "\"\n";
  const ProjectFolder folder(texts);
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  return project ? *project : files::Project{};
}

void ExpectAll(const files::Project& project, const std::string& name, double drill_mm) {
  const Feature* feature = project.machine.Find({PartId("block"), FeatureId("side_holes")});
  ASSERT_NE(feature, nullptr);
  const auto& hole = std::get<Hole>(feature->shape);
  ASSERT_TRUE(hole.thread.has_value());
  EXPECT_EQ(hole.thread->designation, name);
  EXPECT_NEAR(hole.diameter.nominal_mm, drill_mm, 1e-9);
  for (const Joint& joint : project.machine.joints) {
    if (joint.fixed.feature.text() == "side_holes" && joint.screw) {
      EXPECT_EQ(joint.screw->thread, name);
    }
  }
  const Tool* tap = project.shop.Find(ToolId("tap_m6_plug"));
  ASSERT_NE(tap, nullptr);
  EXPECT_EQ(tap->thread, name);
}

TEST(ThreadNames, InchInThreeWays) {
  ExpectAll(LoadWith("#8-32", "8-32 UNC", "No. 8-32"), "#8-32 UNC", 0.136 * 25.4);
}
TEST(ThreadNames, Ba) { ExpectAll(LoadWith("4BA", "4 BA", "ba 4"), "4 BA", 3.0); }
TEST(ThreadNames, MetricFine) {
  ExpectAll(LoadWith("m4 x 0.50", "M4x0.5", "M4X0.5"), "M4x0.5", 3.5);
}

}  // namespace
}  // namespace fitwright::files_test
