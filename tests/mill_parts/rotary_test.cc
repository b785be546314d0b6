// The rotary table: flats that neither slide cuts by itself are turned to it, all at one reading of
// x.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/support/corrupt.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers

TEST(RotaryTable, AHexagonIsCutAtOneReadingAndSixAngles) {
  const Made made = MakeAndReplay(HexHead(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = FindSetup(made.plan, HoldingKind::kRotaryTable);
  ASSERT_NE(setup, nullptr) << made.text;
  std::vector<double> angles;
  std::optional<double> x;
  for (const Step& step : setup->steps) {
    for (const Coordinate& c : step.coordinates) {
      ASSERT_TRUE(c.table_deg.has_value());
      if (angles.empty() || angles.back() != *c.table_deg) angles.push_back(*c.table_deg);
      if (!x) x = c.x_mm;
      EXPECT_NEAR(c.x_mm, *x, 1e-9);  // readings are exact arithmetic
    }
  }
  ASSERT_EQ(angles.size(), 6U);
  std::sort(angles.begin(), angles.end());
  for (std::size_t i = 0; i < 6; ++i) EXPECT_NEAR(angles[i], 60.0 * static_cast<double>(i), 1e-6);
}

// Half across and half a cutter from the axis.
TEST(RotaryTable, TheReadingIsHalfAcrossAndHalfTheCutter) {
  const Shop shop = files::DefaultShop();
  const Made made = MakeAndReplay(HexHead(), shop);
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = FindSetup(made.plan, HoldingKind::kRotaryTable);
  ASSERT_NE(setup, nullptr);
  const Step& step = setup->steps.front();
  const Tool* tool = shop.Find(step.tool);
  ASSERT_NE(tool, nullptr);
  EXPECT_NEAR(step.coordinates.front().x_mm, 17.0 / 2 + tool->diameter_mm / 2, 1e-9);
}

// Two flats along a slide are cut in the chuck as it stands, as a square is.
TEST(RotaryTable, FlatsAlongTheSlidesNeedNone) {
  Part part = HexHead();
  std::get<Flats>(part.features.back().shape).count = 4;
  const Made made = MakeAndReplay(part, files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_EQ(FindSetup(made.plan, HoldingKind::kRotaryTable), nullptr) << made.text;
}

TEST(RotaryTable, SpoiledPlansAreCaught) {
  const Shop shop = files::DefaultShop();
  const Part part = HexHead();
  const Made made = MakeAndReplay(part, shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto results = corrupt::RunCorruptions(MachineOf(part), shop, made.plan, {});
  ASSERT_TRUE(results) << Format(results.error());
  int turned = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    turned +=
        r.fault == "angle_count_lost" || r.fault == "table_misread" || r.fault == "table_not_turned"
            ? 1
            : 0;
  }
  if (corrupt::AllFaultsRun()) {
    EXPECT_EQ(turned, 3);
  }
}

}  // namespace
}  // namespace fitwright
