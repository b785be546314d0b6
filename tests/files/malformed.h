// One fault in an otherwise sound project: found, placed and said.
#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {

struct Case {
  const char* name;
  const char* file;  // edited, and where the fault is to be found
  const char* from;  // "" = the whole file becomes `to`
  const char* to;
  ErrorCode code;
  const char* line;  // text that stands where the fault is said to be, '|' before the line when it
                     // is not the first one, "machine:" in front when in machine.toml; "" = no line
  const char* key;
  const char* value;   // as written
  const char* remedy;  // words of it
};

// The folder stands in for the file.
inline constexpr const char* kMissing = "(missing)";
inline constexpr const char* kFolder = "(folder)";

struct Place {
  std::string file;
  int line = 0;
};

inline Place PlaceOf(const Case& c, const Texts& texts) {
  std::string needle = c.line;
  Place place{c.file, 0};
  if (needle.starts_with("machine:")) {
    place.file = "machine.toml";
    needle = needle.substr(8);
  }
  if (needle.empty()) return place;
  std::size_t mark = needle.find('|');
  if (mark == std::string::npos) {
    mark = 0;
  } else {
    needle.erase(mark, 1);
  }
  const int first = LineOf(texts.at(place.file), needle);
  EXPECT_GT(first, 0) << "not in the file: " << needle;
  place.line =
      first + static_cast<int>(std::count(
                  needle.begin(), needle.begin() + static_cast<std::ptrdiff_t>(mark), '\n'));
  return place;
}

// The edited project is refused with the one fault, placed and said, and nothing is written.
inline void ExpectFound(const Case& c, Texts texts) {
  std::string& text = texts[c.file];
  const std::string to = c.to;
  text = *c.from == '\0' ? to : Edited(text, c.from, c.to);
  if (to == kMissing || to == kFolder) texts.erase(c.file);
  const ProjectFolder folder(texts);
  if (to == kFolder) std::filesystem::create_directory(folder.path() / c.file);
  const Texts before = folder.Snapshot();

  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);

  ASSERT_FALSE(project.has_value());
  ASSERT_FALSE(faults.empty());
  const Error& fault = faults.errors().front();
  SCOPED_TRACE(Format(fault));
  EXPECT_EQ(faults.count(), 1u) << "a second fault: " << Format(faults.errors().back());
  EXPECT_EQ(NameOf(fault.code), NameOf(c.code));
  EXPECT_EQ(ExitStatusOf(fault.code), 2);
  EXPECT_EQ(fault.where.key, c.key);
  EXPECT_EQ(fault.value, c.value);
  EXPECT_FALSE(fault.message.empty());
  EXPECT_THAT(fault.remedy, ::testing::HasSubstr(c.remedy));

  const auto [file, line] = PlaceOf(c, texts);
  EXPECT_EQ(fault.where.file, file);
  EXPECT_EQ(fault.where.line, line);
  EXPECT_EQ(fault.where.column > 0, line > 0);
  // All of it stands in the printed line.
  const std::string shown = Format(fault);
  EXPECT_THAT(shown, ::testing::HasSubstr(file));
  EXPECT_THAT(shown, ::testing::HasSubstr(c.key));
  EXPECT_THAT(shown, ::testing::HasSubstr(c.value));
  EXPECT_THAT(shown, ::testing::HasSubstr(c.remedy));

  EXPECT_EQ(folder.Snapshot(), before) << "something was written";
}

// Codes of the table of part sheets.
std::set<std::string_view> SheetFaultCodes();

}  // namespace fitwright::files_test
