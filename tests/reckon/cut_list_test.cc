#include "fitwright/reckon/cut_list.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "tests/reckon/reckon_run.h"
#include "tests/support/dice.h"

namespace fitwright::reckon {
namespace {

// By brute force: every sharing out of the pieces to bars.
int FewestByBruteForce(const CutListGiven& given) {
  const double room = given.bar_mm - given.grip_mm + given.kerf_mm;
  std::vector<double> rooms;
  int best = static_cast<int>(given.pieces_mm.size());
  const auto place = [&](const auto& self, std::size_t at) -> void {
    if (static_cast<int>(rooms.size()) >= best && at < given.pieces_mm.size()) return;
    if (at == given.pieces_mm.size()) {
      best = std::min(best, static_cast<int>(rooms.size()));
      return;
    }
    const double piece = given.pieces_mm[at] + given.kerf_mm;
    for (std::size_t bar = 0; bar < rooms.size(); ++bar) {
      if (rooms[bar] + 1e-9 < piece) continue;
      rooms[bar] -= piece;
      self(self, at + 1);
      rooms[bar] += piece;
    }
    rooms.push_back(room - piece);
    self(self, at + 1);
    rooms.pop_back();
  };
  place(place, 0);
  return best;
}

void ExpectWhole(const CutListGiven& given, const CutList& list) {
  std::vector<double> wanted = given.pieces_mm;
  std::vector<double> cut;
  for (std::size_t i = 0; i < list.bars_mm.size(); ++i) {
    const auto& bar = list.bars_mm[i];
    ASSERT_FALSE(bar.empty());
    const double used = std::accumulate(bar.begin(), bar.end(), 0.0) +
                        given.kerf_mm * static_cast<double>(bar.size() - 1);
    EXPECT_LE(used, given.bar_mm - given.grip_mm + 1e-6);
    EXPECT_NEAR(list.rests_mm[i],
                std::max(0.0, given.bar_mm - given.grip_mm - used - given.kerf_mm), 1e-6);
    cut.insert(cut.end(), bar.begin(), bar.end());
  }
  std::sort(wanted.begin(), wanted.end());
  std::sort(cut.begin(), cut.end());
  ASSERT_EQ(wanted.size(), cut.size());
  for (std::size_t i = 0; i < cut.size(); ++i) EXPECT_NEAR(wanted[i], cut[i], 1e-6);
}

TEST(CutList, FewestByBruteForceOnSmallLists) {
  testing::Dice dice(20);
  for (int k = 0; k < 150; ++k) {
    CutListGiven given;
    given.bar_mm = 1000;
    given.kerf_mm = dice.Of({0.0, 2.0, 3.5});
    given.grip_mm = dice.Of({0.0, 15.0});
    const int count = dice.Whole(1, 9);
    for (int i = 0; i < count; ++i) given.pieces_mm.push_back(dice.In(60, 700, 5));
    const auto list = PlanCuts(given);
    ASSERT_TRUE(list.has_value());
    EXPECT_TRUE(list->proved());
    EXPECT_EQ(static_cast<int>(list->bars_mm.size()), FewestByBruteForce(given)) << k;
    ExpectWhole(given, *list);
  }
}

// First-fit decreasing takes five bars of 100 here, the sums of the pieces four.
TEST(CutList, BetterThanFirstFit) {
  const CutListGiven given{{44, 40, 36, 28, 28, 28, 24, 24, 24, 24, 24, 24, 24, 28}, 100, 0, 0};
  const auto list = PlanCuts(given);
  ASSERT_TRUE(list.has_value());
  EXPECT_EQ(list->bars_mm.size(), 4U);
  ExpectWhole(given, *list);
}

TEST(CutList, LastPieceNeedsNoCut) {
  EXPECT_EQ(PlanCuts({{330, 330, 336}, 1000, 2, 0}).value().bars_mm.size(), 1U);
  EXPECT_EQ(PlanCuts({{330, 330, 336.01}, 1000, 2, 0}).value().bars_mm.size(), 2U);
}

TEST(CutList, StoppedSearchStatesItsGap) {
  testing::Dice dice(7);
  CutListGiven given;
  given.bar_mm = 1000;
  for (int i = 0; i < 60; ++i) given.pieces_mm.push_back(dice.In(200, 480, 1));
  const auto stopped = PlanCuts(given, 1);
  ASSERT_TRUE(stopped.has_value());
  ExpectWhole(given, *stopped);
  const auto searched = PlanCuts(given);
  ASSERT_TRUE(searched.has_value());
  ExpectWhole(given, *searched);
  EXPECT_LE(searched->bars_mm.size(), stopped->bars_mm.size());
  EXPECT_GE(searched->fewest, stopped->fewest);
  EXPECT_LE(stopped->fewest, static_cast<int>(searched->bars_mm.size()));
}

TEST(CutList, TooLongAPieceIsRefused) {
  const auto refused = Calc("cut-list", {"pieces=990", "bar=1000", "grip=15"});
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(refused.error().where.key, "pieces");
}

}  // namespace
}  // namespace fitwright::reckon
