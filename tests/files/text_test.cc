// Files as bytes: encodings, line ends, places.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/files/project.h"
#include "tests/files/describe.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

using ::testing::HasSubstr;

std::string Read(const Texts& texts, Diagnostics& faults) {
  const ProjectFolder folder(texts);
  const auto project = files::LoadProject(folder.path(), {}, faults);
  return project ? Describe(*project) : "";
}

std::string Replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) {
    text.replace(at, from.size(), to);
  }
  return text;
}

TEST(Text, LineEndsAndByteOrderMarkMeanNothing) {
  Diagnostics faults;
  const std::string plain = Read(SampleProject(), faults);
  Texts texts = SampleProject();
  for (auto& [file, text] : texts) text = "\xEF\xBB\xBF" + Replaced(text, "\n", "\r\n");
  EXPECT_EQ(Read(texts, faults), plain);
  EXPECT_TRUE(faults.empty()) << Format(faults.errors().front());
}

TEST(Text, OtherLettersMayStandInStringsAndComments) {
  Texts texts = SampleProject();
  texts["machine.toml"] =
      "# fa\xC3\xA7"
      "ade \xE2\x80\x94 no fault\n" +
      Edited(texts["machine.toml"], "say = \"the bore lies level\"",
             "say = 'gr\xC3\xB6\xC3\x9F"
             "er'");
  texts["parts/block.toml"] =
      Edited(texts["parts/block.toml"], "note = \"clears the nut\"",
             "note = \"\"\"\n\"quoted\" \\\" \xC3\xA9 # not a comment\"\"\"");
  Diagnostics faults;
  const std::string described = Read(texts, faults);
  EXPECT_TRUE(faults.empty()) << Format(faults.errors().front());
  EXPECT_THAT(described, HasSubstr("gr\xC3\xB6\xC3\x9F"
                                   "er"));
  EXPECT_THAT(described, HasSubstr("\"quoted\" \" \xC3\xA9 # not a comment"));
}

TEST(Text, PlacesCountCharactersAndValuesAreAsWritten) {
  Texts texts = SampleProject();
  texts["machine.toml"] = Edited(texts["machine.toml"], "cautions = [\"guard the belt\"]",
                                 "cautions = [\"\xC3\xA9\xC3\xA9\", 7 ]");
  Diagnostics faults;
  EXPECT_EQ(Read(texts, faults), "");
  ASSERT_EQ(faults.count(), 1u);
  const Error& fault = faults.errors()[0];
  EXPECT_EQ(fault.code, ErrorCode::kWrongType);
  EXPECT_EQ(fault.where.key, "cautions[2]");
  EXPECT_EQ(fault.value, "7");
  EXPECT_EQ(fault.where.column, 19);  // cautions = ["ee", 7
}

TEST(Text, LongValuesAreShownShortAndOnOneLine) {
  Texts texts = SampleProject();
  std::string list = "[\n";
  for (int i = 0; i < 60; ++i) list += "  1.25,\n";
  texts["parts/foot.toml"] =
      Edited(texts["parts/foot.toml"], "legs = [3, 6]", "legs = " + list + "]");
  Diagnostics faults;
  EXPECT_EQ(Read(texts, faults), "");
  ASSERT_FALSE(faults.empty());
  const Error& fault = faults.errors()[0];
  EXPECT_EQ(fault.code, ErrorCode::kWrongCount);
  EXPECT_EQ(fault.value.find('\n'), std::string::npos);
  EXPECT_LE(fault.value.size(), 64u);
  EXPECT_THAT(fault.value, HasSubstr("[ 1.25, 1.25"));
}

TEST(Text, UnclosedStringsAndDeepNestingAreRefused) {
  for (const std::string& bad :
       {std::string("x = \"\"\"open"), std::string("x = '"), "x = " + std::string(5000, '['),
        std::string("x = \"\\"), std::string("\xC3"), std::string("a\xE2\x82\xAC = 1"),
        std::string("[[part]]\n[part]\n"), std::string("a = 1\na = 2\n")}) {
    Texts texts = SampleProject();
    texts["machine.toml"] = bad;
    Diagnostics faults;
    EXPECT_EQ(Read(texts, faults), "") << bad.substr(0, 20);
    EXPECT_EQ(faults.count(), 1u);
    EXPECT_EQ(faults.errors()[0].where.file, "machine.toml");
    EXPECT_GT(faults.errors()[0].where.line, 0);
  }
}

TEST(Text, EmptyFilesAreIncompleteNotFatal) {
  for (const auto& [file, text] : SampleProject()) {
    Texts texts = SampleProject();
    texts[file].clear();
    Diagnostics faults;
    EXPECT_EQ(Read(texts, faults), "") << file;
    ASSERT_FALSE(faults.empty());
    EXPECT_EQ(faults.errors()[0].code, ErrorCode::kMissingKey) << file;
    EXPECT_EQ(faults.errors()[0].where.file, file);
  }
}

}  // namespace
}  // namespace fitwright::files_test
