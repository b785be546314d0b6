// Made-up designs written as STEP and read back: the same solid, the same sheet, from whatever
// file.
#include <gtest/gtest.h>

#include <cstdlib>
#include <iostream>

#include "tests/support/design_trip.h"
#include "tests/support/random_design.h"
#include "tests/support/step_text.h"

namespace fitwright {
namespace {

using testing::TripFolder;

bool IsDeep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

struct Made {
  Part part;
  solid::Solid solid;
};

// None for a design that leaves no sound solid in one piece.
std::optional<Made> Make(const TripFolder& folder, std::uint64_t seed,
                         const testing::RandomDesignWish& wish) {
  const testing::RandomDesign design = testing::MakeRandomDesign(seed, wish);
  std::string why;
  const auto part = testing::LoadDesign(folder, design.sheet, why);
  if (!part) {
    EXPECT_TRUE(wish.crowded) << design.name << " is refused: " << why << design.sheet;
    return std::nullopt;
  }
  const auto solid = testing::BuildDesign(*part);
  if (!solid) {
    EXPECT_TRUE(wish.crowded) << design.name << " is no sound solid\n" << design.sheet;
    return std::nullopt;
  }
  return Made{*part, *solid};
}

struct Shares {
  int parts = 0;
  int same_solid = 0;
  int same_sheet = 0;
};

Shares ReadBack(std::uint64_t first, int count, const testing::RandomDesignWish& wish) {
  const TripFolder folder;
  Shares shares;
  for (std::uint64_t seed = first; shares.parts < count; ++seed) {
    const auto made = Make(folder, seed, wish);
    if (!made) continue;
    ++shares.parts;
    std::string why;
    auto reading = testing::ReadBytes(folder, testing::StepBytes(folder, made->solid), why);
    if (!reading) {
      ADD_FAILURE() << "seed " << seed << " was not read: " << why;
      continue;
    }
    const testing::Trip trip =
        testing::Compare(folder, made->part, made->solid, *std::move(reading));
    if (trip.SameSolid()) ++shares.same_solid;
    if (trip.SameSheet()) ++shares.same_sheet;
    if (!trip.SameSolid() || !trip.SameSheet())
      std::cout << "seed " << seed << (wish.crowded ? " crowded\n" : " apart\n")
                << testing::Words(trip);
  }
  std::cout << fmt::format("{} parts, {} solids and {} sheets the same\n", shares.parts,
                           shares.same_solid, shares.same_sheet);
  return shares;
}

// The shares that are asked for; a small sample may miss by one.
void ExpectShares(const Shares& shares, double sheets) {
  EXPECT_EQ(shares.same_solid, shares.parts);
  EXPECT_GE(shares.same_sheet, std::floor(sheets * shares.parts) - (shares.parts < 200 ? 1 : 0));
}

TEST(RoundTrip, OfFeaturesThatDoNotMeet) {
  ExpectShares(ReadBack(1, IsDeep() ? 1000 : 70, {false, IsDeep() ? 25 : 2}), 0.995);
}

TEST(RoundTrip, OfFeaturesOverEachOther) {
  ExpectShares(ReadBack(1, IsDeep() ? 1000 : 40, {true, IsDeep() ? 25 : 2}), 0.95);
}

std::string SheetOf(const TripFolder& folder, const std::string& bytes) {
  std::string why;
  const auto reading = testing::ReadBytes(folder, bytes, why);
  if (!reading) return "not read: " + why;
  const auto text = files::WritePart(reading->part.part);
  return text ? *text : Format(text.error());
}

Pose RandomPose(testing::Dice& dice) {
  Pose pose = Pose::Identity();
  const Vec3 axis(dice.Share() - 0.5, dice.Share() - 0.5, dice.Share() - 0.5);
  pose.linear() = Eigen::AngleAxisd(6 * dice.Share(), axis.normalized()).toRotationMatrix();
  pose.translation() = 500 * Vec3(dice.Share() - 0.5, dice.Share() - 0.5, dice.Share() - 0.5);
  return pose;
}

// Turned, shifted, in inches, its entities under other numbers in another order: one sheet, to the
// letter.
TEST(RoundTrip, OneSheetFromWhateverFile) {
  const TripFolder folder;
  const int count = IsDeep() ? 200 : 2;
  int read = 0;
  for (std::uint64_t seed = 5000; read < count; ++seed) {
    const auto made = Make(folder, seed, {seed % 2 == 0, IsDeep() ? 20 : 4});
    if (!made) continue;
    ++read;
    testing::Dice dice(seed);
    const std::string bytes = testing::StepBytes(folder, made->solid);
    const std::string sheet = SheetOf(folder, bytes);
    EXPECT_EQ(SheetOf(folder, testing::Shuffled(bytes, dice)), sheet) << "shuffled, seed " << seed;
    EXPECT_EQ(SheetOf(folder, testing::StepBytes(folder, made->solid, LengthUnit::kInch)), sheet)
        << "in inches, seed " << seed;
    const solid::Solid moved = solid::Moved(made->solid, RandomPose(dice));
    EXPECT_EQ(SheetOf(folder, testing::Shuffled(testing::StepBytes(folder, moved), dice)), sheet)
        << "moved, seed " << seed;
  }
}

}  // namespace
}  // namespace fitwright
