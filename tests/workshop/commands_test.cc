// The commands by the program itself.
#include "tests/app/run_program.h"
#include "tests/workshop/as_schema.h"
#include "tests/workshop/bushed_block.h"

namespace fitwright::workshop_test {
namespace {

class Commands : public ::testing::Test {
 protected:
  app::Ran Run(const std::string& line) const {
    fs::remove_all(folder_.path() / "bushed-block/plan.json");
    fs::copy(place_.dir(), folder_.path() / "bushed-block",
             fs::copy_options::recursive | fs::copy_options::overwrite_existing);
    return folder_.Run(line);
  }
  Workplace place_;
  app::Folder folder_;
};

TEST_F(Commands, NextRecordLog) {
  const app::Ran next = Run("next bushed-block");
  EXPECT_EQ(next.status, 0) << next.err;
  EXPECT_NE(next.out.find("Next: 1.1, block"), std::string::npos) << next.out;
  EXPECT_NE(next.out.find("0 of 11 steps done"), std::string::npos) << next.out;
  EXPECT_FALSE(fs::exists(folder_.path() / "bushed-block/build.db"));
  EXPECT_EQ(folder_.Run("record bushed-block 1.1 --done").status, 0);
  const app::Ran within = folder_.Run("record bushed-block 1.2 25.010 --note 'warm day'");
  EXPECT_EQ(within.status, 0) << within.err;
  EXPECT_NE(within.out.find("Within its limits"), std::string::npos) << within.out;
  const app::Ran outside = folder_.Run("record bushed-block block.bore 25.5 --with bore_gauge --build 2");
  EXPECT_EQ(outside.status, 1) << outside.err;
  EXPECT_NE(outside.out.find("Outside its limits"), std::string::npos) << outside.out;
  const app::Ran log = folder_.Run("log bushed-block");
  EXPECT_EQ(log.status, 0) << log.err;
  for (const char* words : {"warm day", "25.500 mm (typed 25.5)", "gauge 18-35", "1 plan followed"}) {
    EXPECT_NE(log.out.find(words), std::string::npos) << words << "\n" << log.out;
  }
  const app::Ran first = folder_.Run("log bushed-block --build 1");
  EXPECT_EQ(first.out.find("25.500"), std::string::npos) << first.out;
  EXPECT_NE(folder_.Run("next bushed-block").out.find("Next: 1.3, block"), std::string::npos);
}

TEST_F(Commands, TheStepThatComesNextStandsAsInTheBook) {
  Run("next bushed-block");
  folder_.Run("record bushed-block 1 --done");
  const app::Ran next = folder_.Run("next bushed-block");
  EXPECT_NE(next.out.find("Setup 2 of 4: bush"), std::string::npos) << next.out;
  EXPECT_NE(next.out.find("2.1"), std::string::npos) << next.out;
  EXPECT_NE(next.out.find("block bore as measured"), std::string::npos) << next.out;
  EXPECT_EQ(next.out.find("3.1"), std::string::npos) << next.out;
  const app::Ran inch = folder_.Run("next bushed-block --units inch");
  EXPECT_NE(inch.out.find("0.98"), std::string::npos) << inch.out;
}

TEST_F(Commands, JsonIsAsItsSchemasSay) {
  ExpectAsSchema("next", Run("next bushed-block --json").out);
  ExpectAsSchema("record", folder_.Run("record bushed-block 1.2 25.010 --json").out);
  ExpectAsSchema("record", folder_.Run("record bushed-block --note hello --json").out);
  folder_.Run("record bushed-block 4.1 --done");
  folder_.Run("record bushed-block 4.2 --done");
  ExpectAsSchema("next", folder_.Run("next bushed-block --json").out);
  ExpectAsSchema("log", folder_.Run("log bushed-block --json").out);
  EXPECT_EQ(folder_.Run("log bushed-block --out all.json").status, 0);
  ExpectAsSchema("log", store_test::BytesOf(folder_.path() / "all.json"));
  const app::Ran again = folder_.Run("log bushed-block --from all.json");
  EXPECT_EQ(again.out, "0 added, 5 were in the log already\n") << again.err;
}

TEST_F(Commands, RefusalsAreInWords) {
  Run("next bushed-block");
  for (const char* line : {"record bushed-block", "record bushed-block 9.9 3", "record bushed-block 1.2 wide",
                           "record nowhere 1.2 3", "record bushed-block 1.1 --done --undone",
                           "log bushed-block --from missing.json", "next bushed-block --build 0"}) {
    const app::Ran ran = folder_.Run(line);
    EXPECT_EQ(ran.status, 2) << line;
    EXPECT_FALSE(ran.err.empty()) << line;
    EXPECT_TRUE(ran.out.empty()) << line;
  }
  EXPECT_FALSE(fs::exists(folder_.path() / "bushed-block/build.db"));
  store_test::WriteBytes(folder_.path() / "bushed-block/build.db", "not a log at all");
  for (const char* line : {"record bushed-block 1.2 25.01", "next bushed-block", "log bushed-block"}) {
    const app::Ran ran = folder_.Run(line);
    EXPECT_EQ(ran.status, 2) << line;
    EXPECT_NE(ran.err.find("left as it is"), std::string::npos) << ran.err;
  }
  EXPECT_EQ(store_test::BytesOf(folder_.path() / "bushed-block/build.db"), "not a log at all");
}

TEST_F(Commands, WithoutAPlanANoteIsKeptAndAStepIsNot) {
  Run("next bushed-block");
  fs::remove(folder_.path() / "bushed-block/plan.json");
  EXPECT_EQ(folder_.Run("next bushed-block").status, 2);
  const app::Ran step = folder_.Run("record bushed-block 1.2 25.01");
  EXPECT_EQ(step.status, 2);
  EXPECT_NE(step.err.find("fitwright plan"), std::string::npos) << step.err;
  EXPECT_EQ(folder_.Run("record bushed-block --note 'bar ordered'").status, 0);
  EXPECT_NE(folder_.Run("log bushed-block").out.find("bar ordered"), std::string::npos);
}

}  // namespace
}  // namespace fitwright::workshop_test
