#include "fitwright/sheets/report.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <regex>
#include <sstream>

#include "tests/sheets/small_plan.h"

namespace fitwright::sheets {
namespace {

std::vector<std::string> LinesOf(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

std::string Report(const ReportOptions& options) {
  const SmallPlan s = MakeSmallPlan();
  return MakeReport(s.machine, s.shop, s.plan, options);
}

ReportOptions Options(LengthUnit unit, int width) {
  ReportOptions options;
  options.unit = unit;
  options.width = width;
  return options;
}

void ExpectGolden(const std::string& name, const std::string& text) {
  const std::string path = std::string(FITWRIGHT_SOURCE_DIR) + "/tests/golden/" + name;
  if (std::getenv("FITWRIGHT_WRITE_GOLDEN") != nullptr) std::ofstream(path) << text;
  std::ifstream in(path);
  ASSERT_TRUE(in) << path;
  std::stringstream golden;
  golden << in.rdbuf();
  EXPECT_EQ(text, golden.str()) << "run with FITWRIGHT_WRITE_GOLDEN=1 after reading the change";
}

TEST(Report, ReadsAsWritten) {
  ExpectGolden("report_mm.txt", Report(Options(LengthUnit::kMillimetre, 80)));
  ExpectGolden("report_inch.txt", Report(Options(LengthUnit::kInch, 80)));
}

TEST(Report, NoLineIsWiderThanThePageAndNoneEndsInBlanks) {
  for (const int width : {60, 72, 80, 100, 120}) {
    for (const LengthUnit unit : {LengthUnit::kMillimetre, LengthUnit::kInch}) {
      for (const std::string& line : LinesOf(Report(Options(unit, width)))) {
        EXPECT_LE(line.size(), static_cast<std::size_t>(width)) << line;
        EXPECT_TRUE(line.empty() || line.back() != ' ') << line;
      }
    }
  }
}

TEST(Report, IsPlainAsciiWithoutExclamation) {
  const std::string text = Report(Options(LengthUnit::kMillimetre, 80));
  for (const char c : text) EXPECT_TRUE(c == '\n' || (c >= 32 && c < 127)) << static_cast<int>(c);
  EXPECT_EQ(text.find('!'), std::string::npos);
}

TEST(Report, ColourAddsCodesAndChangesNoWord) {
  ReportOptions options = Options(LengthUnit::kMillimetre, 80);
  const std::string plain = Report(options);
  options.colour = true;
  const std::string coloured = Report(options);
  EXPECT_NE(coloured, plain);
  EXPECT_EQ(std::regex_replace(coloured, std::regex("\x1b\\[[0-9;]*m"), ""), plain);
  EXPECT_EQ(plain.find('\x1b'), std::string::npos);
}

TEST(Report, InchEditionHoldsNoLengthInMillimetres) {
  const std::string text = Report(Options(LengthUnit::kInch, 100));
  // Tools and instruments are what they are; nothing else may be in mm.
  const std::string rest =
      std::regex_replace(text, std::regex("(2\\.5 mm drill|3\\.2 mm drill|[mM]icrometer 0-25 mm)"), "");
  EXPECT_FALSE(std::regex_search(rest, std::regex("[0-9] ?mm\\b"))) << rest;
  EXPECT_NE(text.find("0.3937"), std::string::npos);  // hole 1 at X 10 mm
  EXPECT_NE(text.find("X 0.0000 Y 1.5748"), std::string::npos);  // the witness of setup 2
}

TEST(Report, SaysWhenThePlanIsOlderThanTheSheets) {
  ReportOptions options = Options(LengthUnit::kMillimetre, 80);
  EXPECT_EQ(Report(options).find("older than the sheets"), std::string::npos);
  options.older_than_sheets = true;
  EXPECT_NE(Report(options).find("older than the sheets"), std::string::npos);
}

TEST(Report, WhatIsSaidOfSeveralFeaturesIsSaidOnce) {
  SmallPlan s = MakeSmallPlan();
  s.plan.warnings = {"disc.bore: no gauge is fine enough.", "Something else.", "rod.eye: no gauge is fine enough.", "rod.end: another matter."};
  const std::string text = MakeReport(s.machine, s.shop, s.plan, Options(LengthUnit::kMillimetre, 120));
  EXPECT_NE(text.find("Look here   disc.bore, rod.eye: no gauge is fine enough.\nLook here   Something else.\nLook here   rod.end: another matter.\n"),
            std::string::npos)
      << text;
}

TEST(Report, SizeToSuitIsWrittenAsASum) {
  const std::string text = Report(Options(LengthUnit::kMillimetre, 120));
  EXPECT_NE(text.find("Size = block bore as measured - 0.018 = ________ mm"), std::string::npos);
}

TEST(Report, ReplayNamesStepAndRule) {
  const SmallPlan s = MakeSmallPlan();
  ReplayReport replay;
  replay.parts = {{PartId("block"), 3, {{StepId("s02.2"), "fixture_cut", "the drill meets a parallel"}},
                   100, 99, 1}};
  const std::string text = MakeReplayReport(s.plan, replay, Options(LengthUnit::kMillimetre, 80));
  EXPECT_NE(text.find("2.2         the drill meets a parallel (block, fixture_cut)"),
            std::string::npos)
      << text;
}

}  // namespace
}  // namespace fitwright::sheets
