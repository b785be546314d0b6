// Made-up parts, built, read back and compared; and the same part read from wherever it stands.
#include <gtest/gtest.h>

#include <cstdlib>
#include <iostream>
#include <set>

#include "tests/recognize/round_trip.h"
#include "tests/recognize/sheet_part.h"
#include "tests/support/random_part.h"

namespace fitwright::recognize_test {
namespace {

int CountFromEnvironment(const char* name, int otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::atoi(text);
}

TEST(ReadBackRandom, MostAreTheSame) {
  const int first = CountFromEnvironment("FITWRIGHT_READ_FIRST", 1);
  const int count = CountFromEnvironment("FITWRIGHT_READ_COUNT", std::getenv("FITWRIGHT_DEEP") != nullptr ? 40 : 6);
  int parts = 0;
  int same_solid = 0;
  int same_sheet = 0;
  for (int seed = first; seed < first + count; ++seed) {
    const testing::RandomPart made = testing::MakeRandomPart(static_cast<std::uint64_t>(seed));
    const auto part = LoadSheet(made.name, made.sheet);
    ASSERT_TRUE(part);
    const auto trip = ReadBack(*part);
    if (!trip) {
      ADD_FAILURE() << "seed " << seed << " was not read\n" << made.sheet;
      continue;
    }
    ++parts;
    if (trip->difference_share <= 1e-6) ++same_solid;
    if (trip->sheets.Equal()) ++same_sheet;
    if (!trip->Same()) std::cout << "seed " << seed << "\n" << trip->Words();
  }
  std::cout << fmt::format("{} parts, {} solids the same, {} sheets the same\n", parts, same_solid, same_sheet);
  EXPECT_EQ(same_solid, parts);
  EXPECT_EQ(same_sheet, parts);
}

// What a reading says, to four decimals and without names of places.
std::string Said(const recognize::PartReading& reading) {
  std::multiset<std::string> lines;
  for (const auto& item : recognize::MakeNormalForm(reading.part)) lines.insert(recognize::Format(item));
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

TEST(ReadBackRandom, TheSameFromWhereverItStands) {
  Pose X_FP = Pose::Identity();
  X_FP.linear() = (Eigen::AngleAxisd(0.7, Vec3(1, 2, 3).normalized())).toRotationMatrix();
  X_FP.translation() = Vec3(120, -37.5, 12.25);
  for (int seed = 1; seed <= 3; ++seed) {
    const testing::RandomPart made = testing::MakeRandomPart(static_cast<std::uint64_t>(seed));
    const auto part = LoadSheet(made.name, made.sheet);
    ASSERT_TRUE(part);
    const auto here = ReadBack(*part);
    const auto there = ReadBack(*part, X_FP);
    ASSERT_TRUE(here && there) << seed;
    EXPECT_EQ(Said(here->reading), Said(there->reading)) << seed;
    EXPECT_EQ(here->explained, there->explained) << seed;
  }
}

}  // namespace
}  // namespace fitwright::recognize_test
