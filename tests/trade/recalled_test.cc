// The tables against values recalled from standards and handbooks (tests/reference/recalled.h).
#include "tests/reference/recalled.h"

#include <gtest/gtest.h>

#include <cctype>
#include <cmath>
#include <numbers>
#include <string>

#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/trade/general_tolerance.h"
#include "fitwright/trade/keys.h"
#include "fitwright/trade/o_rings.h"
#include "fitwright/trade/thread_limits.h"
#include "tests/trade/thread_row.h"

namespace fitwright::trade {
namespace {

constexpr double kRounding = 1e-9;  // of sums and conversions alone

TEST(Recalled, Fits) {
  for (const auto& r : reference::kRecalledFits) {
    const auto found = FindFit(r.nominal_mm, r.klass);
    ASSERT_TRUE(found.has_value()) << r.nominal_mm << r.klass;
    EXPECT_NEAR(found->lower_mm * 1000, r.lower_um, kRounding) << r.nominal_mm << r.klass;
    EXPECT_NEAR(found->upper_mm * 1000, r.upper_um, kRounding) << r.nominal_mm << r.klass;
  }
}

template <typename Find>
void ExpectGeneral(const reference::RecalledGeneral& r, const Find& find) {
  const std::pair<const char*, double> columns[] = {{"f", r.f}, {"m", r.m}, {"c", r.c}, {"v", r.v}};
  for (const auto& [klass, value] : columns) {
    const auto found = find(r.size_mm, klass);
    ASSERT_EQ(found.has_value(), value > 0) << r.size_mm << klass;
    if (found) {
      EXPECT_NEAR(*found, value, kRounding) << r.size_mm << klass;
    }
  }
}

TEST(Recalled, GeneralTolerances) {
  for (const auto& r : reference::kRecalledLinear_mm) {
    ExpectGeneral(r, [](double mm, const char* klass) { return GeneralTolerance_mm(mm, klass); });
  }
  for (const auto& r : reference::kRecalledEdges_mm) {
    ExpectGeneral(r,
                  [](double mm, const char* klass) { return GeneralEdgeTolerance_mm(mm, klass); });
  }
  for (const auto& r : reference::kRecalledAngles_min) {
    ExpectGeneral(r, [](double mm, const char* klass) -> Result<double> {
      const auto rad = GeneralAngleTolerance_rad(mm, klass);
      if (!rad) return Unexpected(rad.error());
      return *rad * 180 / std::numbers::pi * 60;
    });
  }
}

void ExpectEnds(const SizeLimits& limits, double least, double most, const std::string& what) {
  if (least > 0) {
    EXPECT_NEAR(limits.lower_mm, least, 1e-6) << what;
  }
  if (most > 0) {
    EXPECT_NEAR(limits.upper_mm, most, 1e-6) << what;
  }
}

TEST(Recalled, LimitsOfMetricThreads) {
  for (const auto& r : reference::kRecalledIsoLimits) {
    const std::string what = std::string(r.size) + " " + std::string(r.klass);
    if (std::islower(static_cast<unsigned char>(r.klass.back()))) {
      const auto limits = FindExternalLimits(Row(r.size), r.klass);
      ASSERT_TRUE(limits.has_value()) << what;
      ExpectEnds(limits->major, r.major_or_minor_least_mm, r.major_or_minor_most_mm, what);
      ExpectEnds(limits->pitch, r.pitch_least_mm, r.pitch_most_mm, what);
    } else {
      const auto limits = FindInternalLimits(Row(r.size), r.klass);
      ASSERT_TRUE(limits.has_value()) << what;
      ExpectEnds(limits->minor, r.major_or_minor_least_mm, r.major_or_minor_most_mm, what);
      ExpectEnds(limits->pitch, r.pitch_least_mm, r.pitch_most_mm, what);
    }
  }
}

TEST(Recalled, ExtraFineSeriesIsWhole) {
  std::size_t rows = 0;
  for (const ThreadRow& row : UnifiedThreads()) {
    if (row.series != ThreadSeries::kUnef) continue;
    ASSERT_LT(rows, reference::kRecalledUnef.size());
    const auto& r = reference::kRecalledUnef[rows++];
    EXPECT_NEAR(row.major_mm / kMmPerIn, r.major_in, kRounding) << row.designation;
    EXPECT_EQ(row.per_inch, r.per_inch) << row.designation;
  }
  EXPECT_EQ(rows, reference::kRecalledUnef.size());
}

TEST(Recalled, NutsAndHeads) {
  for (const auto& r : reference::kRecalledNuts) {
    const HexNut* nut = FindHexNut(Row(r.size));
    ASSERT_NE(nut, nullptr) << r.size;
    EXPECT_EQ(nut->across_flats_mm, r.flats) << r.size;
    EXPECT_EQ(nut->height_mm, r.height) << r.size;
    EXPECT_EQ(nut->across_corners_mm, r.corners) << r.size;
    const ScrewHead* head = FindScrewHead(HeadKind::kHexagon, Row(r.size));
    ASSERT_NE(head, nullptr) << r.size;
    EXPECT_EQ(head->key_mm, r.flats) << r.size;
    EXPECT_EQ(head->height_mm, r.head_height) << r.size;
  }
  for (const auto& r : reference::kRecalledButtons) {
    const ScrewHead* head = FindScrewHead(HeadKind::kButton, Row(r.size));
    ASSERT_NE(head, nullptr) << r.size;
    EXPECT_EQ(head->diameter_mm, r.diameter) << r.size;
    EXPECT_EQ(head->height_mm, r.height) << r.size;
    EXPECT_EQ(head->key_mm, r.key) << r.size;
  }
}

TEST(Recalled, InchHeadsAndNuts) {
  for (const auto& r : reference::kRecalledInchCaps) {
    const ScrewHead* head = FindScrewHead(HeadKind::kSocketCap, Row(r.size));
    ASSERT_NE(head, nullptr) << r.size;
    EXPECT_NEAR(head->diameter_mm / kMmPerIn, r.diameter, kRounding) << r.size;
    EXPECT_NEAR(head->height_mm / kMmPerIn, r.height, 0.00051) << r.size;  // 5/16: 0.312, 0.3125
    EXPECT_NEAR(head->key_mm / kMmPerIn, r.key, kRounding) << r.size;
  }
  for (const auto& r : reference::kRecalledInchNuts) {
    const HexNut* nut = FindHexNut(Row(r.size));
    ASSERT_NE(nut, nullptr) << r.size;
    EXPECT_NEAR(nut->across_flats_mm / kMmPerIn, r.flats_in, kRounding) << r.size;
  }
}

TEST(Recalled, ORingsAndKeys) {
  for (const auto& r : reference::kRecalledRings) {
    const auto ring = FindORing(r.dash);
    ASSERT_TRUE(ring.has_value()) << r.dash;
    EXPECT_NEAR(ring->inside_mm / kMmPerIn, r.inside_in, kRounding) << r.dash;
    EXPECT_NEAR(ring->section_mm / kMmPerIn, r.section_in, kRounding) << r.dash;
  }
  for (const auto& r : reference::kRecalledKeys) {
    const auto key = FindInchKey(r.shaft_in * kMmPerIn);
    ASSERT_TRUE(key.has_value()) << r.shaft_in;
    EXPECT_NEAR(key->side_mm / kMmPerIn, r.side_in, kRounding) << r.shaft_in;
    EXPECT_NEAR(key->shaft_gauge_mm / kMmPerIn, r.s_in, 0.0006) << r.shaft_in;
    EXPECT_NEAR(key->hub_gauge_mm / kMmPerIn, r.t_in, 0.0006) << r.shaft_in;
    EXPECT_NEAR(key->shaft_gauge_mm + key->shaft_depth_mm, r.shaft_in * kMmPerIn, kRounding);
  }
}

TEST(Recalled, SineBars) {
  for (const auto& r : reference::kRecalledSines) {
    EXPECT_NEAR(SineStack_mm(5 * kMmPerIn, r.deg * std::numbers::pi / 180) / kMmPerIn, r.stack_in,
                0.0000051)
        << r.deg;
  }
}

}  // namespace
}  // namespace fitwright::trade
