#include "fitwright/trade/drills.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "tests/reference/drills.h"
#include "tests/trade/thread_row.h"

namespace fitwright::trade {
namespace {

constexpr DrillSets kEverySet[] = {kMetricDrills,
                                   kInchDrills,
                                   kAllDrills,
                                   {false, true},
                                   {false, false, true},
                                   {true, false, true},
                                   {false, false, false, true},
                                   {false, false, true, true}};

TEST(Reference, InchDrills) {
  EXPECT_EQ(reference::kInchDrills.size(), Drills(kInchDrills).size());
  for (const auto& r : reference::kInchDrills) {
    const auto drill = FindDrill(r.name);
    ASSERT_TRUE(drill.has_value()) << r.name;
    EXPECT_NEAR(drill->diameter_mm, r.inch * kMmPerIn, 1e-9) << r.name;
  }
}

TEST(FindDrill, KnowsTheUsualWaysOfWriting) {
  EXPECT_EQ(FindDrill("6.8")->diameter_mm, 6.8);
  EXPECT_EQ(FindDrill("6.80 mm")->name, "6.8");
  EXPECT_EQ(FindDrill("1")->set, DrillSet::kMetric);
  EXPECT_EQ(FindDrill("1\"")->set, DrillSet::kFraction);
  EXPECT_EQ(FindDrill("f")->name, "F");
  EXPECT_EQ(FindDrill("no. 7")->name, "#7");
  EXPECT_EQ(FindDrill("27/64")->set, DrillSet::kFraction);
  EXPECT_EQ(FindDrill("2/4")->name, "1/2");
  for (const char* text : {"", "6.85", "#81", "#0", "AA", "65/64", "1/3", "0/64", "-1/64", "1e9",
                           "inf", "mm", "no.", "nan"}) {
    EXPECT_EQ(FindDrill(text), std::nullopt) << text;
  }
}

TEST(Drills, AscendAndCarryTheirNames) {
  for (const DrillSets sets : kEverySet) {
    const auto drills = Drills(sets);
    ASSERT_FALSE(drills.empty());
    for (std::size_t i = 0; i < drills.size(); ++i) {
      if (i > 0) {
        EXPECT_LE(drills[i - 1].diameter_mm, drills[i].diameter_mm);
      }
      EXPECT_TRUE(sets.Has(drills[i].set));
      const bool inch = drills[i].name == "1" && drills[i].set == DrillSet::kFraction;
      const auto found = FindDrill(inch ? "1\"" : drills[i].name);
      ASSERT_TRUE(found.has_value()) << drills[i].name;
      EXPECT_EQ(found->diameter_mm, drills[i].diameter_mm);
      EXPECT_EQ(found->set, drills[i].set) << drills[i].name;
    }
  }
}

TEST(Drills, Nearest) {
  EXPECT_EQ(NearestDrill(2.5, kMetricDrills)->name, "2.5");
  EXPECT_EQ(NearestDrill(2.52, kMetricDrills)->name, "2.5");
  EXPECT_EQ(NearestDrill(3.24, kMetricDrills)->name, "3.25");
  EXPECT_EQ(NearestDrill(16.25, kMetricDrills)->name, "16");  // halfway: the smaller
  EXPECT_EQ(DrillAtOrBelow(9.79, kMetricDrills)->name, "9.75");
  EXPECT_EQ(DrillAtOrAbove(14.1, kMetricDrills)->name, "14.25");
  EXPECT_EQ(NearestDrill(0.201 * kMmPerIn, kAllDrills)->name, "#7");
  EXPECT_EQ(NearestDrill(5.102, kAllDrills)->name, "5.1");
  EXPECT_EQ(NearestDrill(0.201 * kMmPerIn, kInchDrills)->name, "#7");
  EXPECT_EQ(DrillAtOrAbove(6.35, kInchDrills)->name, "1/4");  // and E, alike
  EXPECT_EQ(DrillAtOrBelow(6.36, kInchDrills)->name, "1/4");
  EXPECT_EQ(NearestDrill(6.36, {false, false, false, true})->name, "E");
}

// Against looking through the list; the offset keeps clear of sizes that are equal but for summing.
TEST(Drills, AgreeWithTheList) {
  for (const DrillSets sets : kEverySet) {
    const auto drills = Drills(sets);
    for (double d = drills.front().diameter_mm + 0.00031; d <= drills.back().diameter_mm;
         d += 0.01370017) {
      const Drill* below = nullptr;
      const Drill* above = nullptr;
      for (const Drill& drill : drills) {
        if (drill.diameter_mm <= d) below = &drill;
        if (drill.diameter_mm >= d && above == nullptr) above = &drill;
      }
      ASSERT_TRUE(below != nullptr && above != nullptr);
      EXPECT_EQ(DrillAtOrBelow(d, sets)->diameter_mm, below->diameter_mm) << d;
      EXPECT_EQ(DrillAtOrAbove(d, sets)->diameter_mm, above->diameter_mm) << d;
      const double nearest = std::min(d - below->diameter_mm, above->diameter_mm - d);
      EXPECT_NEAR(std::abs(NearestDrill(d, sets)->diameter_mm - d), nearest, 1e-8) << d;
    }
  }
}

TEST(Drills, RefusesWithTheRange) {
  for (const double d : {0.3, 0.49, 32.01, 40.0}) {
    for (const auto& result : {NearestDrill(d, kMetricDrills), DrillAtOrBelow(d, kMetricDrills),
                               DrillAtOrAbove(d, kMetricDrills)}) {
      ASSERT_FALSE(result.has_value()) << d;
      EXPECT_EQ(result.error().code, ErrorCode::kOutOfRange);
      EXPECT_NE(result.error().message.find("32 (32.000 mm, 1.2598 in)"), std::string::npos)
          << result.error().message;
    }
  }
  EXPECT_EQ(NearestDrill(std::nan(""), kAllDrills).error().code, ErrorCode::kNotFinite);
  EXPECT_EQ(NearestDrill(5, {}).error().code, ErrorCode::kMissingKey);
}

TEST(Reamers, Ascend) {
  for (const auto list : {ReamerDiameters_mm(), InchReamerDiameters_mm()}) {
    for (std::size_t i = 1; i < list.size(); ++i) EXPECT_LT(list[i - 1], list[i]);
  }
  EXPECT_NEAR(InchReamerDiameters_mm().front(), 25.4 / 16, 1e-9);
  EXPECT_NEAR(InchReamerDiameters_mm().back(), 25.4, 1e-9);
}

}  // namespace
}  // namespace fitwright::trade
