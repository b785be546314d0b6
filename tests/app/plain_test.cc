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
  for (const char* verb : {"read", "check", "plan", "odds", "replay", "draw", "export", "reckon", "next", "record", "log", "changes", "lessons", "trials", "serve"}) {
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
        "draw .", "draw . --out x --setup 0", "export . --out x.step --after s01.1", "serve", "serve . --port 80"}) {
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

TEST(Reckon, ListsSaysAndDoes) {
  const Folder folder;
  const Ran list = folder.Run("reckon");
  EXPECT_EQ(list.status, 0) << list.err;
  EXPECT_NE(list.out.find("bolt-circle"), std::string::npos);
  const Ran needs = folder.Run("reckon bolt-circle");
  EXPECT_EQ(needs.status, 0) << needs.err;
  EXPECT_NE(needs.out.find("For example: fitwright reckon bolt-circle"), std::string::npos);
  const Ran done = folder.Run("reckon bolt-circle diameter=2in holes=4 --unit in");
  EXPECT_EQ(done.status, 0) << done.err;
  EXPECT_NE(done.out.find("1.4142"), std::string::npos) << done.out;
}

TEST(Reckon, JsonAndDrawing) {
  const Folder folder;
  const Ran json = folder.Run("reckon bolt-circle diameter=60 holes=6 x=-5 --json --draw plan.svg");
  EXPECT_EQ(json.status, 0) << json.err;
  EXPECT_NE(json.out.find("\"schema\": \"fitwright-reckon/1\""), std::string::npos);
  EXPECT_NE(json.out.find("{\"name\": \"x\", \"value\": -5, \"unit\": \"mm\", \"usual\": false}"),
            std::string::npos)
      << json.out;
  const std::string svg = ReadFile(folder.path() / "plan.svg");
  EXPECT_EQ(svg.rfind("<svg", 0) == 0 || svg.rfind("<?xml", 0) == 0, true);
  EXPECT_NE(svg.find("<circle"), std::string::npos);
}

TEST(Reckon, RefusalsHaveStatusTwo) {
  const Folder folder;
  for (const char* line : {"reckon bolt-cirle", "reckon bolt-circle diameter=60",
                           "reckon bolt-circle diameter=60 holes=0",
                           "reckon fit size=25 fit=H7 --draw fit.svg"}) {
    const Ran ran = folder.Run(line);
    EXPECT_EQ(ran.status, 2) << line;
    EXPECT_FALSE(ran.err.empty()) << line;
    EXPECT_TRUE(ran.out.empty()) << line;
  }
  const Ran json = folder.Run("reckon bolt-circle diameter=60 holes=0 --json");
  EXPECT_EQ(json.status, 2);
  EXPECT_NE(json.out.find("\"code\": \"out_of_range\""), std::string::npos) << json.out;
}

}  // namespace
}  // namespace fitwright::app
