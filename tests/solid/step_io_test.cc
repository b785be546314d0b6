#include "fitwright/solid/step_io.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "tests/solid/sample_parts.h"

namespace fitwright::solid {
namespace {

class StepFile : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
    folder_ = std::filesystem::path(::testing::TempDir()) / (std::string("step_") + test->name());
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string PathOf(const std::string& name) const { return (folder_ / name).string(); }
  static std::string Read(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  }
  std::filesystem::path folder_;
};

std::vector<NamedSolid> MakeAssembly() {
  Pose turned = Pose::Identity();
  turned.linear() = Eigen::AngleAxisd(0.5 * kPi, Vec3::UnitY()).toRotationMatrix();
  turned.translation() = Vec3(25, 0, 28);
  Pose beside = Pose::Identity();
  beside.translation() = Vec3(0, 100, 0);
  const Solid foot = *MakeDesign(testing::MakeFoot(1));
  return {{"body", *MakeDesign(testing::MakeBody()), Pose::Identity()},
          {"front_housing", *MakeDesign(testing::MakeHousing()), turned},
          {"foot", foot, Pose::Identity()},
          {"foot", foot, beside}};
}

TEST_F(StepFile, RoundTripKeepsNamesPlacesAndVolumes) {
  const std::vector<NamedSolid> written = MakeAssembly();
  for (const LengthUnit unit : {LengthUnit::kMillimetre, LengthUnit::kInch}) {
    const std::string path = PathOf("machine.step");
    const Status status = WriteStep(written, path, {.assembly_name = "machine", .unit = unit});
    ASSERT_TRUE(status.has_value()) << Format(status.error());
    const auto read = ReadStepForTest(path);
    ASSERT_TRUE(read.has_value()) << Format(read.error());
    ASSERT_EQ(read->size(), written.size());
    for (std::size_t i = 0; i < written.size(); ++i) {
      EXPECT_EQ((*read)[i].name, written[i].name);
      EXPECT_LT(((*read)[i].X_WP.matrix() - written[i].X_WP.matrix()).cwiseAbs().maxCoeff(), 1e-9);
      const double volume = CalcVolume_mm3(written[i].solid);
      // Numbers are written with 15 digits; inches are divided by 25.4 and multiplied again.
      EXPECT_NEAR(CalcVolume_mm3((*read)[i].solid), volume, 1e-8 * volume);
      EXPECT_TRUE(IsValid((*read)[i].solid));
    }
    const std::string text = Read(path);
    const bool inch = text.find("CONVERSION_BASED_UNIT('INCH'") != std::string::npos;
    EXPECT_EQ(inch, unit == LengthUnit::kInch);
  }
}

TEST_F(StepFile, SameBytesEveryTime) {
  const std::vector<NamedSolid> solids = MakeAssembly();
  const StepWriting writing{.assembly_name = "machine"};
  ASSERT_TRUE(WriteStep(solids, PathOf("a.step"), writing).has_value());
  ASSERT_TRUE(WriteStep(solids, PathOf("b.step"), writing).has_value());
  const std::string a = Read(PathOf("a.step"));
  ASSERT_FALSE(a.empty());
  EXPECT_TRUE(a == Read(PathOf("b.step")));
  EXPECT_NE(a.find("2000-01-01T00:00:00"), std::string::npos);
  EXPECT_FALSE(std::filesystem::exists(PathOf("a.step.partial")));
}

TEST_F(StepFile, PrintsNothing) {
  ::testing::internal::CaptureStdout();
  ASSERT_TRUE(WriteStep(MakeAssembly(), PathOf("a.step"), {.assembly_name = "m"}).has_value());
  ASSERT_TRUE(ReadStepForTest(PathOf("a.step")).has_value());
  EXPECT_EQ(::testing::internal::GetCapturedStdout(), "");
}

TEST_F(StepFile, Faults) {
  EXPECT_EQ(ReadStepForTest(PathOf("none.step")).error().code, ErrorCode::kFileMissing);
  EXPECT_EQ(WriteStep(MakeAssembly(), PathOf("no/such/folder/a.step"), {}).error().code,
            ErrorCode::kFileUnwritable);
  EXPECT_EQ(WriteStep({{"gone", Solid(), Pose::Identity()}}, PathOf("a.step"), {}).error().code,
            ErrorCode::kOutOfRange);
  EXPECT_EQ(WriteStep({}, PathOf("a.step"), {}).error().code, ErrorCode::kOutOfRange);
  EXPECT_FALSE(std::filesystem::exists(PathOf("a.step")));
}

}  // namespace
}  // namespace fitwright::solid
