#include "fitwright/files/page_asked_json.h"

#include <gtest/gtest.h>

namespace fitwright::files {
namespace {

Result<std::vector<SheetTable>> TablesIn(const std::string& tables) {
  return AdditionFromJson(R"({"schema":"fitwright-addition/1","tables":)" + tables + "}");
}

TEST(PageAsked, ATableIsWrittenInTheOrderOfItsKeys) {
  const auto tables = TablesIn(
      R"([{"file":"parts/a.toml","table":"feature","keys":{"name":"bore","diameter":24,"plus_minus":0.02,
      "through":true,"at":[0,"1/2 in"],"circle":{"count":6,"zero":"+x"},"note":"a \"b\" # c"}}])");
  ASSERT_TRUE(tables) << Format(tables.error());
  EXPECT_EQ(TextOfTable(tables->front()),
            "\n[[feature]]\nname = \"bore\"\ndiameter = 24\nplus_minus = 0.02\nthrough = true\n"
            "at = [0, \"1/2 in\"]\ncircle = { count = 6, zero = \"+x\" }\n"
            "note = \"a \\\"b\\\" # c\"\n");
}

TEST(PageAsked, OneOfAKindHasASingleHeaderAndTheHeadHasNone) {
  const auto tables = TablesIn(
      R"([{"file":"parts/a.toml","table":"","keys":{"unit":"mm"}},{"file":"parts/a.toml","table":"stock","keys":{"form":"flat"}}])");
  ASSERT_TRUE(tables) << Format(tables.error());
  EXPECT_EQ(TextOfTable((*tables)[0]), "unit = \"mm\"\n");
  EXPECT_EQ(TextOfTable((*tables)[1]), "\n[stock]\nform = \"flat\"\n");
}

TEST(PageAsked, WhatCouldNotStandInASheetIsRefused) {
  for (const char* bad : {
           R"([{"file":"a","table":"x","keys":{"a b":1}}])",
           R"([{"file":"a","table":"x\n[y]","keys":{"a":1}}])",
           R"([{"file":"a","table":"x","keys":{"a":null}}])",
           R"([{"file":"a","table":"x","keys":{"a":[[[[[1]]]]]}}])",
           R"([{"file":"a","table":"x","keys":{"a":{"b\n":1}}}])",
           R"([{"file":"a","table":"x","keys":[1]}])",
           R"([{"file":"a","table":"x"}])",
           R"([{"file":"a","table":"x","keys":{},"more":1}])",
           R"([7])",
           R"({"a":1})",
       }) {
    EXPECT_FALSE(TablesIn(bad)) << bad;
  }
  EXPECT_FALSE(AdditionFromJson("{"));
  EXPECT_FALSE(AdditionFromJson(R"({"schema":"fitwright-addition/2","tables":[]})"));
}

TEST(PageAsked, ATextNeverLeavesItsQuotationMarks) {
  const auto tables =
      TablesIn(R"([{"file":"a","table":"feature","keys":{"note":"\"\n[[feature]]\nname = \"x"}}])");
  ASSERT_TRUE(tables);
  const std::string text = TextOfTable(tables->front());
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 3) << text;
}

TEST(PageAsked, AQuestionNamesItsChanges) {
  const auto asked = WhatIfAskedFromJson(
      R"({"schema":"fitwright-asked/1","changes":["edge_finder=half"],"requirement":"R1"})");
  ASSERT_TRUE(asked) << Format(asked.error());
  EXPECT_EQ(asked->changes, std::vector<std::string>{"edge_finder=half"});
  EXPECT_EQ(asked->requirement, "R1");
  for (const char* bad :
       {"[]", R"({"schema":"fitwright-asked/1","changes":[1],"requirement":""})",
        R"({"schema":"fitwright-asked/1","changes":"x","requirement":""})",
        R"({"schema":"fitwright-asked/1","changes":[]})",
        R"({"schema":"fitwright-asked/1","changes":[],"requirement":"","more":1})"}) {
    EXPECT_FALSE(WhatIfAskedFromJson(bad)) << bad;
  }
}

}  // namespace
}  // namespace fitwright::files
