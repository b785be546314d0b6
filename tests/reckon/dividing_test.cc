#include "fitwright/reckon/dividing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "fitwright/trade/dividing_plates.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"
#include "tests/reference/recalled.h"

namespace fitwright::reckon {
namespace {

const Plates kThree = {
    {15, 16, 17, 18, 19, 20}, {21, 23, 27, 29, 31, 33}, {37, 39, 41, 43, 47, 49}};

// A division is plain when a circle is a multiple of what is left of divisions / ratio in its
// lowest terms: found here by whole numbers alone.
bool PlainByLowestTerms(int ratio, int divisions) {
  const int rest = divisions / std::gcd(ratio, divisions);
  for (const auto& plate : kThree) {
    for (const int circle : plate) {
      if (circle % rest == 0) return true;
    }
  }
  return false;
}

TEST(Dividing, PlainIsExactAndFoundWheneverThereIsOne) {
  for (const int ratio : {40, 60, 90}) {
    for (int n = 2; n <= 400; ++n) {
      const auto moves = PlainDividing(ratio, n, kThree);
      EXPECT_EQ(!moves.empty(), PlainByLowestTerms(ratio, n)) << ratio << "/" << n;
      for (const PlainMove& move : moves) {
        EXPECT_EQ(n * (move.turns * move.circle + move.holes), ratio * move.circle) << n;
        EXPECT_LT(move.holes, move.circle);
      }
    }
  }
}

TEST(Dividing, CompoundIsExact) {
  int found = 0;
  for (int n = 2; n <= 250; ++n) {
    const auto move = CompoundDividing(40, n, kThree);
    if (!move) continue;
    ++found;
    const long a = move->first.circle;
    const long b = move->second_circle;
    EXPECT_NE(a, b);
    EXPECT_EQ(n * ((move->first.turns * a + move->first.holes) * b + move->second_holes * a),
              40 * a * b)
        << n;
  }
  EXPECT_GT(found, 20);
}

// Compound divisions that handbooks list for these plates (from memory): 69 and 77.
TEST(Dividing, CompoundSixtyNineAndSeventySeven) {
  for (const int n : {69, 77}) {
    EXPECT_TRUE(PlainDividing(40, n, kThree).empty()) << n;
    EXPECT_TRUE(CompoundDividing(40, n, kThree).has_value()) << n;
  }
}

// By brute force: no plain move of any circle comes nearer.
TEST(Dividing, NearestPlainIsNearest) {
  for (int n = 51; n < 130; n += 2) {
    const double turns = 40.0 / n;
    const auto best = NearestPlain(turns, kThree);
    ASSERT_TRUE(best.has_value());
    const double off = std::abs(CompoundMove{*best, 0, 0}.Turns() - turns);
    for (const auto& plate : kThree) {
      for (const int circle : plate) {
        for (int holes = 1; holes <= 2 * circle; ++holes) {
          EXPECT_GE(std::abs(static_cast<double>(holes) / circle - turns), off - 1e-12);
        }
      }
    }
    const auto compound = NearestCompound(turns, kThree);
    ASSERT_TRUE(compound.has_value());
    EXPECT_LE(std::abs(compound->Turns() - turns), off + 1e-12) << n;
  }
}

// Rows of the index tables of a head of 40 to 1 (from memory).
TEST(Dividing, RowsOfTheIndexTables) {
  for (const auto& row : reference::kRecalledMoves) {
    bool found = false;
    for (const PlainMove& move : PlainDividing(40, row.divisions, kThree)) {
      found |= move.turns == row.turns && move.holes == row.holes && move.circle == row.circle;
    }
    EXPECT_TRUE(found) << row.divisions;
  }
}

// Each move names the plate that has its circle, and a compound one stays on that plate.
TEST(Dividing, MovesStayOnTheirPlate) {
  const auto on = [](const Plates& plates, int plate, int circle) {
    const auto& circles = plates[static_cast<std::size_t>(plate) - 1];
    return std::find(circles.begin(), circles.end(), circle) != circles.end();
  };
  for (const trade::DividingSet& set : trade::DividingSets()) {
    Plates plates;
    for (const auto plate : set.plates) plates.emplace_back(plate.begin(), plate.end());
    for (int n = 2; n <= 130; ++n) {
      for (const PlainMove& move : PlainDividing(set.worm_ratio, n, plates)) {
        EXPECT_TRUE(on(plates, move.plate, move.circle)) << set.name << n;
      }
      const auto move = CompoundDividing(set.worm_ratio, n, plates);
      if (!move) continue;
      EXPECT_TRUE(on(plates, move->first.plate, move->first.circle)) << set.name << n;
      EXPECT_TRUE(on(plates, move->first.plate, move->second_circle)) << set.name << n;
    }
  }
}

// Heads by name; of one's own what is given; the usual one when nothing is, and that is said.
TEST(Dividing, HeadsByName) {
  EXPECT_NEAR(LineOf(Done("dividing", {"divisions=9", "head=table_90"}), "turns of the crank"), 10,
              1e-12);
  const Reckoned usual = Done("dividing", {"divisions=9"});
  EXPECT_NE(usual.notes.back().find("head_40"), std::string::npos);
  EXPECT_EQ(usual.tables[0].columns.back().head, "plate");
  const Reckoned own = Done("dividing", {"divisions=9", "ratio=60", "plates=15,18/27"});
  EXPECT_EQ(own.notes.size(), 1U);
  EXPECT_NEAR(LineOf(own, "turns of the crank"), 60.0 / 9, 1e-12);
  EXPECT_EQ(std::get<double>(own.tables[0].rows.back()[3]), 2);
  const Reckoned mixed = Done("dividing", {"divisions=9", "ratio=60"});
  EXPECT_NE(mixed.notes.back().find("plates of head_40"), std::string::npos) << mixed.notes.back();
  const Reckoning* dividing = FindReckoning("dividing").value();
  std::string names;
  for (const trade::DividingSet& set : trade::DividingSets()) {
    names += (names.empty() ? "" : " ") + std::string(set.name);
  }
  for (const Input& input : dividing->inputs) {
    if (input.name == "head") {
      EXPECT_EQ(input.choices, names);
      EXPECT_NE(input.about.find("usual: head_40"), std::string_view::npos);
    }
  }
}

TEST(Dividing, TheErrorIsStatedWhereNothingIsExact) {
  const Reckoned r = Done("dividing", {"divisions=127"});
  EXPECT_FALSE(r.cautions.empty());
  const double off = LineOf(r, "nearest plain: off at each");
  EXPECT_NEAR(LineOf(r, "nearest plain: left over after all"), 127 * off, 1e-12);
  EXPECT_LE(std::abs(LineOf(r, "nearest compound: off at each")), std::abs(off));
}

TEST(Dividing, ByAngleAndRefusals) {
  const Reckoned r = Done("dividing", {"angle=9", "ratio=40"});
  EXPECT_NEAR(LineOf(r, "turns of the crank"), 1, 1e-12);
  EXPECT_EQ(WordOfLine(r, "exact").rfind("1 turn", 0), 0U);
  EXPECT_FALSE(Calc("dividing", {"ratio=40"}).has_value());
  EXPECT_EQ(Calc("dividing", {"divisions=7", "plates=15,,16"}).error().code, ErrorCode::kWrongType);
  EXPECT_FALSE(Calc("dividing", {"divisions=7", "plates=1"}).has_value());
}

}  // namespace
}  // namespace fitwright::reckon
