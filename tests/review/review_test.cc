#include "fitwright/review/review.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "fitwright/files/project.h"
#include "fitwright/review/bores.h"

namespace fitwright::review {
namespace {

namespace fs = std::filesystem;

// An example with one passage of one of its files changed.
struct Spoiling {
  std::string example;
  std::string file;
  std::string from;
  std::string to;
  std::string also_file = "";  // changed alike
};

std::string Read(const fs::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

void Change(const fs::path& file, const std::string& from, const std::string& to) {
  std::string text = Read(file);
  const std::size_t at = text.find(from);
  ASSERT_NE(at, std::string::npos) << from;
  std::ofstream(file) << text.replace(at, from.size(), to);
}

const std::string kWhole = "whole-compressor";  // every part of the compressor

fs::path FolderOf(const std::string& name) {
  return fs::path(FITWRIGHT_SOURCE_DIR) / (name == kWhole ? "tests/data" : "examples") / name;
}

std::vector<Finding> ReviewExample(const std::string& example, const Spoiling* spoiling) {
  const std::string test = ::testing::UnitTest::GetInstance()->current_test_info()->name();
  const fs::path dir = fs::path(::testing::TempDir()) / ("review_" + example + test);
  fs::remove_all(dir);
  fs::copy(FolderOf(example), dir,
           fs::copy_options::recursive);
  if (spoiling != nullptr) {
    for (const std::string& file : {spoiling->file, spoiling->also_file}) {
      if (!file.empty()) Change(dir / file, spoiling->from, spoiling->to);
    }
  }
  Diagnostics faults;
  const auto project = files::LoadProject(dir, {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  fs::remove_all(dir);
  return project ? Review(project->machine) : std::vector<Finding>{};
}

std::string Listed(const std::vector<Finding>& findings) {
  std::string text;
  for (const Finding& f : findings) {
    text += "\n  " + std::string(WordOf(f.rule)) + " " + f.where + ": " + f.say;
  }
  return text;
}

TEST(Review, SoundExamplesGiveNoFinding) {
  for (const char* example : {"bushed-block", "airbrush-compressor", "whole-compressor"}) {
    const auto findings = ReviewExample(example, nullptr);
    EXPECT_TRUE(findings.empty()) << example << Listed(findings);
  }
}

struct PlantedFault {
  Spoiling spoiling;
  Rule rule;
  std::string where;
  std::string says;  // a piece of the sentence, with its number
};

const std::string kCompressor = "airbrush-compressor";
const std::string kBlock = "bushed-block";

std::vector<PlantedFault> PlantedFaults() {
  const std::string body = "parts/body.toml";
  return {
      // At 0 deg the hole points at the cylinder bore, 30 H7 at its middle: 25 - 9 - 0.751 - 15.005.
      {{kCompressor, body, "count = 6, first = 30", "count = 6, first = 0",
        "parts/front_housing.toml"}, Rule::kWallThin,
       "body.front_holes", "0.24 mm"},
      {{kCompressor, body, "points = [[18, 18],", "points = [[18, 24],"}, Rule::kEdgeNear,
       "body.top_holes", "4.00 mm"},
      {{kCompressor, "machine.toml", "thread = \"M3\", length = 16", "thread = \"M3\", length = 12"},
       Rule::kScrewTooShort, "joint front_screws", "leaves 2 mm"},
      {{kCompressor, "machine.toml", "thread = \"M3\", length = 16", "thread = \"M3\", length = 20"},
       Rule::kScrewTooLong, "joint front_screws", "10 mm into 7 mm"},
      {{kCompressor, "parts/foot_left.toml", "at = [4, 41.5, 8]", "at = [0, 41.5, 8]"},
       Rule::kNotAMirror, "foot_right", "turned round"},
      {{kCompressor, body, "from = \"+x\"\nat = [0, 28]\ncircle", "from = \"+x\"\nat = [0, 29]\ncircle"},
       Rule::kPatternsDoNotLineUp, "joint front_screws", "1.000 mm"},
      {{kCompressor, "machine.toml", "at = [25, 0, 28]", "at = [25.5, 0, 28]"}, Rule::kFacesApart,
       "joint front_face", "0.500 mm apart"},
      {{kCompressor, "machine.toml", "at = [0, 0, 84]", "at = [0, 0.2, 84]"}, Rule::kAxesApart,
       "joint liner_fit", "0.200 mm"},
      {{kBlock, "parts/bush.toml", "fit = \"g6\"", "fit = \"p6\""}, Rule::kSpigotTooBig,
       "joint bush_spigot", "spigot 25.0"},
      {{kBlock, "parts/block.toml", "thread_depth = 7", "thread_depth = 8.5"}, Rule::kThreadTooDeep,
       "block.top_holes", "leaves 0.50 mm"},
      {{kBlock, "parts/bush.toml", "diameter = 3.2", "diameter = 3.05"}, Rule::kHoleTooSmall,
       "bush.screw_holes", "screw of 3 mm"},
      {{kBlock, "parts/bush.toml", "to = 6\ndiameter = 44", "to = 6\ndiameter = 39.6"},
       Rule::kHeadOverlaps, "bush.screw_holes", "hangs over the edge"},
      {{kBlock, "parts/foot.toml", "through = true", "depth = 9.2"}, Rule::kPointBreaksOut,
       "foot.screw_holes", "far side"},
  };
}

TEST(Review, EachPlantedFaultIsNamed) {
  for (const PlantedFault& fault : PlantedFaults()) {
    const auto findings = ReviewExample(fault.spoiling.example, &fault.spoiling);
    const bool named = std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
      return f.rule == fault.rule && f.where == fault.where &&
             f.say.find(fault.says) != std::string::npos && !f.remedy.empty();
    });
    EXPECT_TRUE(named) << fault.spoiling.to << Listed(findings);
  }
}

Part PlateWithTwoHoles(double centres_mm) {
  Part part;
  part.name = PartId("disc");
  part.block_P = {Vec3(-17, -17, 0), Vec3(17, 17, 8)};
  for (const auto& [name, x, diameter] :
       {std::tuple("shaft_hole", 0.0, 10.0), std::tuple("pin_hole", centres_mm, 6.0)}) {
    Hole hole;
    hole.entries_P_mm = {Vec3(x, 0, 8)};
    hole.diameter = {diameter, diameter, diameter, LimitsOrigin::kLimits, ""};
    hole.depth_mm = 8;
    hole.through = true;
    part.features.push_back({FeatureId(name), hole, Finish::kAsMachined, false, ""});
  }
  return part;
}

TEST(Bores, WallBetweenParallelHoles) {
  // 10 and 6 across at 10.000 centres leave 10 - 5 - 3 = 2.0; at 8.000 they touch.
  for (const auto& [centres, wall] : {std::pair(10.0, 2.0), std::pair(8.0, 0.0)}) {
    const Part part = PlateWithTwoHoles(centres);
    const auto bores = BoresOf(part);
    ASSERT_EQ(bores.size(), 2U);
    EXPECT_NEAR(CalcWall_mm(bores[0], bores[1]), wall, 1e-9);  // a sampled point lies in the plane
    EXPECT_NEAR(CalcWall_mm(bores[1], bores[0]), wall, 1e-9);
  }
}

TEST(Bores, DistanceOfPointsFromADrilledHole) {
  Bore bore;
  bore.into = -Vec3::UnitZ();
  bore.radius_mm = 2;
  bore.depth_mm = 10;
  bore.cone_mm = 1;
  EXPECT_NEAR(DistanceTo(bore, Vec3(5, 0, -5)), 3, 1e-12);     // beside
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, 3)), 3, 1e-12);      // above the entry
  EXPECT_NEAR(DistanceTo(bore, Vec3(1, 0, -5)), -1, 1e-12);    // inside
  EXPECT_NEAR(DistanceTo(bore, Vec3(5, 0, 4)), 5, 1e-12);      // 3, 4, 5 from the rim
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, -11)), 0, 1e-12);    // the tip
  EXPECT_LT(DistanceTo(bore, Vec3(0, 0, -10.5)), 0);           // inside the cone
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, -12)), 1, 1e-12);    // beyond the tip
}

}  // namespace
}  // namespace fitwright::review
