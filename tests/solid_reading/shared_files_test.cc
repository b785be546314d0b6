// Files from elsewhere that are not part of this repository: the folder that FITWRIGHT_STEP_FILES
// names, else ../shared/step beside the repository; without it these tests are skipped.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <string>

#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::solid {
namespace {

std::filesystem::path StepFolder() {
  if (const char* folder = std::getenv("FITWRIGHT_STEP_FILES")) return folder;
  return std::filesystem::path(FITWRIGHT_SOURCE_DIR) / ".." / "shared" / "step";
}

// Test models whose planes, cylinders, cones and tori are all written as B-splines, lines and
// circles too.
TEST(SharedFiles, SplinesAreFoundToBeWhatTheyMean) {
  const std::filesystem::path folder = StepFolder() / "nist";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << folder << " is not here";
  for (const std::string name : {"NIST_MBE_PMI_1.stp", "NIST_MBE_PMI_11.stp"}) {
    SCOPED_TRACE(name);
    const auto contents = ReadStep((folder / name).string());
    ASSERT_TRUE(contents.has_value()) << Format(contents.error());
    ASSERT_EQ(contents->shapes.size(), 1u);
    const auto graphs = MakeFaceGraphs(contents->shapes[0], {}, contents->face_labels[0]);
    ASSERT_TRUE(graphs.has_value());
    ASSERT_EQ(graphs->size(), 1u);
    for (const GraphFace& face : graphs->front().faces) {
      EXPECT_NE(face.surface.kind, SurfaceKind::kOther);
      EXPECT_LT(face.surface.misfit_mm, 1e-6);
    }
    for (const FaceEdge& edge : graphs->front().edges) EXPECT_NE(edge.kind, CurveKind::kOther);
  }
}

}  // namespace
}  // namespace fitwright::solid
