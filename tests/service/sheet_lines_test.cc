#include "fitwright/service/sheet_lines.h"

#include <gtest/gtest.h>

namespace fitwright::service {
namespace {

constexpr std::string_view kSheet =
    "material = \"steel\"   # proposed: nothing is said\r\n"
    "unit=\"mm\"\n"
    "\n"
    "[[feature]]   # the large one\n"
    "kind = \"bore\"\n"
    "name = \"main # bore\" # mine\n"
    "points = [[1, 2],\n"
    "  [3, 4]]\n"
    "diameter = 25.0# proposed: as drawn\n"
    "[stock]\n"
    "size = [64, 55]\n"
    "note = \"a = \\\"b\\\" # no remark\"";

TEST(SheetLines, AreReadWithTheirTablesAndRemarks) {
  const auto lines = ReadSheetLines(kSheet);
  std::vector<std::string> read;
  for (const SheetLine& line : lines)
    read.push_back(std::to_string(line.line) + "|" + line.table + "|" + line.key + "|" +
                   line.value + "|" + line.remark + (line.proposed ? "|proposed" : ""));
  EXPECT_EQ(read, (std::vector<std::string>{
                      "1||material|\"steel\"|nothing is said|proposed", "2||unit|\"mm\"|",
                      "5|feature main # bore|kind|\"bore\"|",
                      "6|feature main # bore|name|\"main # bore\"|mine",
                      "9|feature main # bore|diameter|25.0|as drawn|proposed",
                      "11|stock|size|[64, 55]|", "12|stock|note|\"a = \\\"b\\\" # no remark\"|"}));
}

SheetEdit EditOf(int line, std::string value, bool confirm) {
  for (const SheetLine& one : ReadSheetLines(kSheet)) {
    if (one.line == line) return {"", line, one.text, std::move(value), confirm};
  }
  return {};
}

std::string With(std::string_view from, std::string_view to) {
  std::string sheet(kSheet);
  return sheet.replace(sheet.find(from), from.size(), to);
}

TEST(SheetLines, AreSplicedByteByByte) {
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(2, " \"inch\" ", false)), With("\"mm\"", "\"inch\""));
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(6, "\"x\"", true)), With("\"main # bore\"", "\"x\""))
      << "the person's own remark stays";
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(9, "", true)), With("25.0# proposed: as drawn", "25.0"));
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(1, "\"brass\"", true)),
            With("\"steel\"   # proposed: nothing is said\r", "\"brass\"\r"));
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(9, "26", false)), With("25.0#", "26#"));
  EXPECT_EQ(*SpliceSheet(kSheet, EditOf(12, "1", false)),
            With("\"a = \\\"b\\\" # no remark\"", "1"));
}

TEST(SheetLines, WhatIsNoValueOrAnotherLineByNowIsRefused) {
  for (const char* value : {"1\n[stock]", "\"a", "[1", "1 # x", "\"\"\"a\"\"\"", "\xff"}) {
    const auto spliced = SpliceSheet(kSheet, EditOf(2, value, false));
    ASSERT_FALSE(spliced) << value;
    EXPECT_EQ(spliced.error().code, ErrorCode::kBadText) << value;
  }
  SheetEdit edit = EditOf(2, "\"inch\"", false);
  for (const int line : {0, -3, 1, 3, 99}) {
    edit.line = line;
    EXPECT_FALSE(SpliceSheet(kSheet, edit)) << line;
  }
}

}  // namespace
}  // namespace fitwright::service
