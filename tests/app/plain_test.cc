// The program's answers that need no solids.
#include <gtest/gtest.h>

#include "tests/app/run_program.h"

namespace fitwright::app {
namespace {

TEST(CommandLine, VersionAndHelp) {
  const Folder folder;
  const Ran version = folder.Run("--version");
  EXPECT_EQ(version.status, 0);
  EXPECT_EQ(version.out.rfind("fitwright ", 0), 0U);
  const Ran help = folder.Run("--help");
  EXPECT_EQ(help.status, 0);
  for (const char* verb : {"check", "plan", "odds", "replay", "draw", "export"}) {
    EXPECT_NE(help.out.find(verb), std::string::npos) << verb;
  }
  const Ran verb_help = folder.Run("plan --help");
  EXPECT_EQ(verb_help.status, 0);
  EXPECT_NE(verb_help.out.find("--builds"), std::string::npos);
}

TEST(CommandLine, AWrongLineIsRefusedWithStatusTwo) {
  const Folder folder;
  for (const char* line :
       {"", "polish", "check", "check . --units furlong", "odds . --builds 3", "plan . --nonsense",
        "draw .", "export . --out x.step --after s01.1"}) {
    const Ran ran = folder.Run(line);
    EXPECT_EQ(ran.status, 2) << line;
    EXPECT_NE(ran.err.find("[usage]"), std::string::npos) << line << ": " << ran.err;
    EXPECT_TRUE(ran.out.empty()) << line;
  }
}

TEST(Check, SoundProjectIsSound) {
  const Folder folder;
  folder.Example("bushed-block");
  const Ran ran = folder.Run("check bushed-block");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("Nothing found against it."), std::string::npos);
  EXPECT_NE(ran.out.find("Taken as"), std::string::npos);
  EXPECT_EQ(ran.out.find('\x1b'), std::string::npos) << "colour without a terminal";
  const Ran json = folder.Run("check bushed-block --json");
  EXPECT_EQ(json.status, 0);
  EXPECT_NE(json.out.find("\"schema\": \"fitwright-check/1\""), std::string::npos);
  EXPECT_NE(json.out.find("\"ok\": true"), std::string::npos);
}

TEST(Check, DesignFaultIsAnHonestNo) {
  const Folder folder;
  const fs::path dir = folder.Example("bushed-block");
  Replace(dir / "machine.toml", "thread = \"M3\", length = 12", "thread = \"M3\", length = 8");
  const Ran ran = folder.Run("check bushed-block");
  EXPECT_EQ(ran.status, 1);
  EXPECT_NE(ran.out.find("screw_too_short"), std::string::npos) << ran.out;
  EXPECT_NE(ran.out.find("What would do"), std::string::npos);
  const Ran json = folder.Run("check bushed-block --json");
  EXPECT_EQ(json.status, 1);
  EXPECT_NE(json.out.find("\"rule\": \"screw_too_short\""), std::string::npos);
}

TEST(Check, EveryFaultOfTheFilesAtOnce) {
  const Folder folder;
  const fs::path dir = folder.Example("bushed-block");
  Replace(dir / "parts/bush.toml", "material = \"bronze\"", "material = \"bronzze\"");
  Replace(dir / "parts/block.toml", "fit = \"H7\"", "fit = \"H77\"");
  const Ran ran = folder.Run("check bushed-block");
  EXPECT_EQ(ran.status, 2);
  EXPECT_TRUE(ran.out.empty());
  EXPECT_NE(ran.err.find("parts/bush.toml:2: material"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("[unknown_material]"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("[unknown_fit]"), std::string::npos) << ran.err;
  const Ran json = folder.Run("check bushed-block --json");
  EXPECT_EQ(json.status, 2);
  EXPECT_NE(json.out.find("\"schema\": \"fitwright-errors/1\""), std::string::npos);
  EXPECT_NE(json.out.find("\"code\": \"unknown_material\""), std::string::npos);
  EXPECT_NE(json.out.find("\"file\": \"parts/bush.toml\""), std::string::npos);
}

TEST(Check, NoSuchFolder) {
  const Folder folder;
  const Ran ran = folder.Run("check nowhere");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("file_missing"), std::string::npos) << ran.err;
}

TEST(Check, ShopOfOnesOwn) {
  const Folder folder;
  folder.Example("bushed-block");
  EXPECT_EQ(folder.Run("check bushed-block --shop missing.toml").status, 2);
  WriteFile(folder.path() / "mine.toml", "format = \"fitwright-shop/1\"\nlevel = \"careful\"\n");
  const Ran ran = folder.Run("check bushed-block --shop mine.toml");
  EXPECT_EQ(ran.status, 0) << ran.err;
}

TEST(Odds, WithoutAPlanSaysToPlanFirst) {
  const Folder folder;
  folder.Example("bushed-block");
  const Ran ran = folder.Run("odds bushed-block");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("fitwright plan"), std::string::npos) << ran.err;
}

}  // namespace
}  // namespace fitwright::app
