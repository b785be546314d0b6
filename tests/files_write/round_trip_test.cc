// What the writers write, the reader reads back as the same model.
#include <gtest/gtest.h>

#include <filesystem>
#include <sstream>

#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"
#include "tests/support/compare_models.h"
#include "tests/support/random_part.h"

namespace fitwright {
namespace {

using files::Project;
using files_test::ProjectFolder;
using files_test::Texts;

std::optional<Project> Load(const std::filesystem::path& dir, const std::string& what) {
  Diagnostics faults;
  auto project = files::LoadProject(dir, {}, faults);
  std::string words;
  for (const Error& fault : faults.errors()) words += "\n  " + Format(fault);
  EXPECT_TRUE(project.has_value()) << what << words;
  return project ? std::optional(*std::move(project)) : std::nullopt;
}

// The sheet of a part as the writers give it, a mirror part's by its original.
std::string SheetOf(const Machine& machine, const Part& part) {
  if (part.mirror_of) {
    const Part* original = machine.FindPart(*part.mirror_of);
    EXPECT_NE(original, nullptr);
    const auto axis = files::FindMirrorAxis(*original, part);
    EXPECT_TRUE(axis.has_value()) << part.name.text();
    return files::WriteMirror(*part.mirror_of, axis.value_or(0));
  }
  const auto text = files::WritePart(part);
  EXPECT_TRUE(text.has_value()) << (text ? "" : Format(text.error()));
  return text ? *text : "";
}

Texts WriteAll(const Machine& machine) {
  Texts texts{{"machine.toml", files::WriteMachine(machine)}};
  for (const Part& part : machine.parts)
    texts["parts/" + part.name.text() + ".toml"] = SheetOf(machine, part);
  return texts;
}

std::string Joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += "\n  " + line;
  return text;
}

// Keys that a sheet states, without comments and blank lines.
std::size_t KeysIn(const std::string& text) {
  std::istringstream lines(text);
  std::size_t count = 0;
  for (std::string line; std::getline(lines, line);) {
    if (line.find('=') != std::string::npos && line.find_first_not_of(" \t") != line.find('#'))
      ++count;
  }
  return count;
}

class Examples : public ::testing::TestWithParam<const char*> {
 protected:
  std::filesystem::path Dir() const {
    return std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / GetParam();
  }
};

TEST_P(Examples, AreReadWrittenAndReadAgainAlike) {
  const auto typed = Load(Dir(), "the example");
  ASSERT_TRUE(typed);
  const Texts texts = WriteAll(typed->machine);
  const ProjectFolder folder(texts);
  const auto again = Load(folder.path(), "as written");
  ASSERT_TRUE(again);
  const auto different = testing::Differences(typed->machine, again->machine);
  EXPECT_TRUE(different.empty()) << Joined(different);
}

TEST_P(Examples, AreWrittenNoLongerThanTheyWereTyped) {
  const auto typed = Load(Dir(), "the example");
  ASSERT_TRUE(typed);
  for (const auto& [file, text] : WriteAll(typed->machine)) {
    EXPECT_LE(KeysIn(text), KeysIn(files_test::ReadAll(Dir() / file))) << file << "\n" << text;
  }
}

TEST_P(Examples, AreTheSameInInches) {
  auto typed = Load(Dir(), "the example");
  ASSERT_TRUE(typed);
  typed->machine.display_unit = LengthUnit::kInch;
  for (Part& part : typed->machine.parts) part.sheet_unit = LengthUnit::kInch;
  const ProjectFolder folder(WriteAll(typed->machine));
  const auto again = Load(folder.path(), "in inches");
  ASSERT_TRUE(again);
  const auto different = testing::Differences(typed->machine, again->machine);
  EXPECT_TRUE(different.empty()) << Joined(different);
}

INSTANTIATE_TEST_SUITE_P(All, Examples,
                         ::testing::Values("airbrush-compressor", "compressor-core",
                                           "bushed-block"),
                         [](const auto& one) {
                           std::string name = one.param;
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

// Read, written, read again.
std::vector<std::string> RoundTrip(const testing::RandomPart& part) {
  const ProjectFolder folder({{"machine.toml", testing::MachineOfOne(part)},
                              {"parts/" + part.name + ".toml", part.sheet}});
  const auto first = Load(folder.path(), part.sheet);
  if (!first) return {"not read"};
  const std::string text = SheetOf(first->machine, first->machine.parts.front());
  folder.Write("parts/" + part.name + ".toml", text);
  const auto again = Load(folder.path(), text);
  if (!again) return {"not read again"};
  return testing::Differences(first->machine.parts.front(), again->machine.parts.front());
}

TEST(RandomSheets, AreReadWrittenAndReadAgainAlike) {
  constexpr std::uint64_t kSeeds = 200;
  for (std::uint64_t seed = 0; seed < kSeeds; ++seed) {
    for (const auto& part : {testing::MakeRandomPart(seed), testing::MakeHeldPart(seed)}) {
      const auto different = RoundTrip(part);
      ASSERT_TRUE(different.empty()) << "seed " << seed << Joined(different) << "\n" << part.sheet;
    }
  }
}

}  // namespace
}  // namespace fitwright
