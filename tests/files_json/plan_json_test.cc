#include "fitwright/files/plan_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/files_json/random_plan.h"

namespace fitwright::files {
namespace {

using fitwright::testing::RandomPlan;
using fitwright::testing::Same;
using ::testing::HasSubstr;

constexpr int kRandomPlans = 300;

class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "plan_json_XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~ScratchFolder() { std::filesystem::remove_all(path_); }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

std::string Contents(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

// One setup with one step, as a reader of the file would meet it.
Plan SmallPlan() {
  Plan plan;
  plan.project = "bushed block";
  plan.version = "0.1.0";
  plan.inputs_hash = "0123456789abcdef";
  plan.seed = 18446744073709551615ULL;
  plan.hours_cutting = 3.5;
  plan.odds.all = {0.96, 0.94, 0.97, 0.88, 0.99};
  plan.odds.builds = 20000;
  Setup setup;
  setup.id = SetupId("s01");
  setup.number = 1;
  setup.machine = MachineToolId("mill");
  setup.device = HoldingDeviceId("mill_vise");
  setup.up = "+z of block";
  setup.parts.push_back({PartId("block"), Pose(Eigen::Translation3d(0, 0, 40)), true});
  Contact bed;
  bed.surface = {PartId("block"), FeatureId("bottom")};
  setup.contacts.assign(3, bed);
  Contact raw;
  raw.kind = ContactKind::kRough;
  raw.surface.part = PartId("block");
  setup.contacts.push_back(raw);
  Step step;
  step.id = StepId("s01.1");
  step.features.push_back({PartId("block"), FeatureId("top_holes")});
  step.operation = Operation::kDrill;
  step.tool = ToolId("drill_2_5");
  step.rpm = 1850;
  step.feed_mm_min = 90;
  step.coordinates.push_back({"1", 15.155, 8.75, -9.0});
  step.depth_mm = 9;
  step.time_min = 0.4;
  setup.steps.push_back(step);
  plan.setups.push_back(setup);
  RequirementOdds square;
  square.name = RequirementId("bore_square");
  square.kind = RequirementKind::kSquare;
  square.chance = plan.odds.all;
  square.causes = {{"the fixed jaw is out of square", "fixed_jaw_squareness", 0.7},
                   {"rest", "", 0.3}};
  plan.odds.requirements.push_back(square);
  return plan;
}

std::string Replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, text.npos) << from;
  return at == text.npos ? text : text.replace(at, from.size(), to);
}

int LineOf(const std::string& text, const std::string& what) {
  const std::size_t at = text.find(what);
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
}

TEST(PlanJson, EveryRandomPlanReadsBackToTheSameBits) {
  for (int seed = 1; seed <= kRandomPlans; ++seed) {
    SCOPED_TRACE(seed);
    const Plan plan = RandomPlan(static_cast<std::uint64_t>(seed)).Draw<Plan>();
    const std::string text = PlanToJson(plan);
    const Result<Plan> back = PlanFromJson(text, "plan.json");
    ASSERT_TRUE(back) << Format(back.error());
    ASSERT_TRUE(Same(plan, *back));
    ASSERT_EQ(text, PlanToJson(*back));
  }
}

// The equality used above must be able to say no: each random change of one plan is seen.
TEST(PlanJson, TheEqualityOfTheseTestsTellsPlansApart) {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const Plan a = RandomPlan(seed).Draw<Plan>();
    const Plan b = RandomPlan(seed + 1000).Draw<Plan>();
    EXPECT_FALSE(Same(a, b)) << seed;
  }
  Plan changed = SmallPlan();
  changed.setups[0].steps[0].coordinates[0].y_mm = 8.750000000000002;
  EXPECT_FALSE(Same(SmallPlan(), changed));
}

TEST(PlanJson, RandomReplayReportsReadBack) {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const ReplayReport report = RandomPlan(seed).Draw<ReplayReport>();
    const Result<ReplayReport> back = ReplayFromJson(ReplayToJson(report), "replay.json");
    ASSERT_TRUE(back) << seed << ": " << Format(back.error());
    EXPECT_TRUE(Same(report, *back)) << seed;
  }
}

TEST(PlanJson, NumbersAreTheShortestThatReadBack) {
  Plan plan = SmallPlan();
  plan.hours_cutting = 0.1;
  plan.hours_expected = 1.0 / 3;
  const std::string text = PlanToJson(plan);
  EXPECT_THAT(text, HasSubstr("\"hours_cutting\": 0.1,"));
  EXPECT_THAT(text, HasSubstr("\"hours_expected\": 0.3333333333333333,"));  // 16 digits suffice
  EXPECT_THAT(text, HasSubstr("\"seed\": 18446744073709551615,"));
}

TEST(PlanJson, KeysOfTheContractAreThere) {
  const std::string text = PlanToJson(SmallPlan());
  for (const char* key :
       {"schema",         "project", "version",      "inputs_hash", "seed",        "hours_cutting",
        "hours_expected", "odds",    "all",          "low",         "high",        "shop_low",
        "shop_high",      "builds",  "parts",        "setups",      "id",          "number",
        "machine",        "holding", "up",           "X_PS",        "datums",      "zero",
        "point_P_mm",     "routine", "time_min",     "waits_for",   "steps",       "features",
        "operation",      "tool",    "rpm",          "feed_mm_min", "coordinates", "hole",
        "x_mm",           "y_mm",    "z_mm",         "depth_mm",    "aim",         "measure",
        "caution",        "joints",  "requirements", "name",        "kind",        "limits",
        "causes",         "source",  "share",        "advice",      "choices",     "buy",
        "assumed",        "warnings"}) {
    EXPECT_THAT(text, HasSubstr("\"" + std::string(key) + "\": ")) << key;
  }
  EXPECT_THAT(text, HasSubstr(R"("schema": "fitwright-plan/1")"));
  EXPECT_THAT(text, HasSubstr(R"("parts": ["block"])"));
  EXPECT_THAT(text, HasSubstr(R"("datums": ["block.bottom"])"));
  EXPECT_THAT(text, HasSubstr(R"("X_PS": [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 40]])"));
  EXPECT_THAT(text, HasSubstr("\"mean_rad\": "));
}

TEST(PlanJson, OddsHoldTheTwoMembersOnly) {
  const std::string text = OddsToJson(SmallPlan());
  EXPECT_THAT(text, HasSubstr(R"("all": 0.96)"));
  EXPECT_THAT(text, HasSubstr(R"("name": "bore_square")"));
  EXPECT_THAT(text, ::testing::Not(HasSubstr("setups")));
}

struct Corruption {
  const char* what;
  const char* from;
  const char* to;
  ErrorCode code;
  const char* key;
};

// Each change stands on a line that the message must name.
TEST(PlanJson, ChangedFilesAreRefusedWithLineAndKey) {
  const Corruption corruptions[] = {
      {"key gone", "\"rpm\": 1850,", "", ErrorCode::kMissingKey, "setups[1].steps[1]"},
      {"key misspelt", "\"seed\"", "\"sead\"", ErrorCode::kMissingKey, ""},
      {"key added", "\"rpm\": 1850,", "\"rpm\": 1850, \"rpn\": 3,", ErrorCode::kUnknownKey,
       "setups[1].steps[1].rpn"},
      {"word unknown", "\"drill\"", "\"dril\"", ErrorCode::kUnknownWord,
       "setups[1].steps[1].operation"},
      {"text for a number", "\"rpm\": 1850", "\"rpm\": \"1850\"", ErrorCode::kWrongType,
       "setups[1].steps[1].rpm"},
      {"fraction for a count", "\"number\": 1", "\"number\": 1.5", ErrorCode::kWrongType,
       "setups[1].number"},
      {"too large a count", "\"number\": 1", "\"number\": 2147483648", ErrorCode::kWrongType,
       "setups[1].number"},
      {"negative seed", "18446744073709551615", "-1", ErrorCode::kWrongType, "seed"},
      {"odds above 1", "\"all\": 0.96", "\"all\": 96", ErrorCode::kOutOfRange, "odds.all"},
      {"parts changed", "\"parts\": [\"block\"]", "\"parts\": [\"bush\"]", ErrorCode::kOutOfRange,
       "setups[1].parts"},
      {"another schema", "fitwright-plan/1", "fitwright-plan/2", ErrorCode::kSchemaVersion,
       "schema"},
      {"point too short", "\"point_P_mm\": [0, 0, 0]", "\"point_P_mm\": [0, 0]",
       ErrorCode::kWrongType, ""},
  };
  const std::string good = PlanToJson(SmallPlan());
  for (const Corruption& c : corruptions) {
    SCOPED_TRACE(c.what);
    const std::string bad = Replaced(good, c.from, c.to);
    const Result<Plan> plan = PlanFromJson(bad, "plan.json");
    ASSERT_FALSE(plan);
    const Error& error = plan.error();
    EXPECT_EQ(error.code, c.code) << Format(error);
    EXPECT_EQ(error.where.file, "plan.json");
    if (c.key[0] != '\0') {
      EXPECT_EQ(error.where.key, c.key);
    }
    EXPECT_FALSE(error.remedy.empty());
    if (c.code == ErrorCode::kMissingKey) {
      EXPECT_GT(error.where.line, 0);
    } else {
      EXPECT_EQ(error.where.line, LineOf(bad, c.to)) << Format(error);
    }
  }
}

TEST(PlanJson, APoseThatIsNoRotationIsRefused) {
  Plan plan = SmallPlan();
  plan.setups[0].parts[0].X_PS.matrix()(0, 0) = 1.001;
  const Result<Plan> back = PlanFromJson(PlanToJson(plan), "plan.json");
  ASSERT_FALSE(back);
  EXPECT_EQ(back.error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(back.error().where.key, "setups[1].poses[1].X_PS");
}

TEST(PlanJson, BrokenTextIsRefusedWithItsLine) {
  const std::string good = PlanToJson(SmallPlan());
  const std::string cut = good.substr(0, good.size() / 2);
  const Result<Plan> plan = PlanFromJson(cut, "plan.json");
  ASSERT_FALSE(plan);
  EXPECT_EQ(plan.error().code, ErrorCode::kJsonSyntax);
  EXPECT_EQ(plan.error().where.line, LineOf(cut + "@", "@"));

  const std::string twice = Replaced(good, "\"number\": 1,", "\"number\": 1,\"number\": 2,");
  const Result<Plan> doubled = PlanFromJson(twice, "plan.json");
  ASSERT_FALSE(doubled);
  EXPECT_EQ(doubled.error().code, ErrorCode::kDuplicateName);
  EXPECT_EQ(doubled.error().value, "number");

  for (const char* text :
       {"", "[]", "3", "null", "{}", "{\"schema\": 1e999}", "\xFF\xFE", "{\"a\":\"\xC3\"}"}) {
    EXPECT_FALSE(PlanFromJson(text, "plan.json")) << text;
  }
}

// Any single byte changed: refused, or read as a plan that says exactly what the changed text says.
TEST(PlanJson, NoChangedByteIsSilentlyDropped) {
  const std::string good = PlanToJson(SmallPlan());
  RandomPlan dice(7);
  for (int i = 0; i < 2000; ++i) {
    std::string bad = good;
    const auto at = dice.Draw<std::uint64_t>() % bad.size();
    bad[at] = static_cast<char>(dice.Draw<std::uint64_t>() % 256);
    const Result<Plan> plan = PlanFromJson(bad, "plan.json");
    if (!plan || bad == good) continue;
    const std::string again = PlanToJson(*plan);
    const Result<Plan> twice = PlanFromJson(again, "plan.json");
    ASSERT_TRUE(twice) << "byte " << at;
    EXPECT_TRUE(Same(*plan, *twice)) << "byte " << at;
    const bool only_blanks = std::isspace(static_cast<unsigned char>(good[at])) &&
                             std::isspace(static_cast<unsigned char>(bad[at]));
    EXPECT_TRUE(again != good || only_blanks)
        << "byte " << at << ": " << good[at] << " -> " << bad[at];
  }
}

TEST(PlanFile, IsWrittenWholeAndReadBack) {
  const ScratchFolder folder;
  ASSERT_TRUE(SavePlan(folder.path(), SmallPlan()));
  const Result<Plan> back = LoadPlan(folder.path());
  ASSERT_TRUE(back) << Format(back.error());
  EXPECT_TRUE(Same(SmallPlan(), *back));
  Plan second = SmallPlan();
  second.project = "another";
  ASSERT_TRUE(SavePlan(folder.path(), second));
  EXPECT_EQ(LoadPlan(folder.path())->project, "another");
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    EXPECT_EQ(entry.path().filename(), "plan.json");
    ++files;
  }
  EXPECT_EQ(files, 1);
}

TEST(PlanFile, AFailedWriteLeavesTheOldPlan) {
  const ScratchFolder folder;
  EXPECT_EQ(SavePlan(folder.path() / "missing", SmallPlan()).error().code,
            ErrorCode::kFileUnwritable);
  EXPECT_FALSE(std::filesystem::exists(folder.path() / "missing"));
  // A folder of the plan's name cannot be replaced by a file.
  std::filesystem::create_directories(folder.path() / "plan.json" / "held");
  EXPECT_EQ(SavePlan(folder.path(), SmallPlan()).error().code, ErrorCode::kFileUnwritable);
  EXPECT_TRUE(std::filesystem::is_directory(folder.path() / "plan.json" / "held"));
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder.path()), {}), 1);
}

TEST(PlanFile, AMissingPlanIsSaidSo) {
  const ScratchFolder folder;
  EXPECT_EQ(LoadPlan(folder.path()).error().code, ErrorCode::kFileMissing);
}

TEST(PlanFile, KeepsThePermissionsOfTheOldFile) {
  const ScratchFolder folder;
  ASSERT_TRUE(SavePlan(folder.path(), SmallPlan()));
  const std::filesystem::path file = folder.path() / "plan.json";
  ::chmod(file.c_str(), 0600);
  ASSERT_TRUE(SavePlan(folder.path(), SmallPlan()));
  EXPECT_EQ(std::filesystem::status(file).permissions(),
            std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  EXPECT_EQ(Contents(file), PlanToJson(SmallPlan()));
}

}  // namespace
}  // namespace fitwright::files
