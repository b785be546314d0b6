#include "fitwright/trade/threads.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "outside_values.h"

namespace fitwright::trade {
namespace {

// Standards print diameters of threads to a micrometre; both ends of a limit may be rounded.
constexpr double kPrinted_mm = 0.0011;

const ThreadRow& Row(const std::string& name) {
  const ThreadRow* row = FindThread(name);
  EXPECT_NE(row, nullptr) << name;
  return *row;
}

void ExpectLimits(const SizeLimits& limits, double lower, double upper, const std::string& what) {
  EXPECT_NEAR(limits.lower_mm, lower, kPrinted_mm) << what;
  EXPECT_NEAR(limits.upper_mm, upper, kPrinted_mm) << what;
}

TEST(FindThread, KnowsTheUsualWaysOfWriting) {
  for (const char* text : {"M3", "m3", "M3x0.5", "M3 x 0.5", "M3X0.50", " M3"}) {
    ASSERT_NE(FindThread(text), nullptr) << text;
    EXPECT_EQ(FindThread(text)->designation, "M3") << text;
  }
  for (const char* text : {"", "M", "M7", "3", "M3x", "M3x0.35", "M3x0.5x", "M3x0..5", "M3 fine"}) {
    EXPECT_EQ(FindThread(text), nullptr) << text;
  }
  EXPECT_EQ(NearestThreads("M33").size(), 3u);
  EXPECT_EQ(NearestThreads("N4").front(), "M4");
}

// ISO 724:1993 and ISO 965-2, as public tables print them (read).
TEST(Iso724, BasicDiameters) {
  EXPECT_NEAR(PitchDiameter_mm(Row("M3")), 2.675, 0.0005);
  EXPECT_NEAR(MinorDiameter_mm(Row("M3")), 2.459, 0.0005);
  EXPECT_NEAR(PitchDiameter_mm(Row("M10")), 9.026, 0.0005);
  EXPECT_NEAR(MinorDiameter_mm(Row("M10")), 8.376, 0.0005);
}

// ISO 228-1 as public tables print it (read): G1/8 9.728, 9.147, 8.566; G1/4 13.157, 12.301, 11.445.
TEST(Iso228, PipeThreads) {
  for (const char* text : {"G1/8", "g1/8", "G 1/8"}) ASSERT_NE(FindThread(text), nullptr) << text;
  EXPECT_EQ(FindThread("G1/2"), nullptr);
  EXPECT_NEAR(PitchDiameter_mm(Row("G1/8")), 9.147, 0.001);
  EXPECT_NEAR(MinorDiameter_mm(Row("G1/8")), 8.566, 0.001);
  EXPECT_NEAR(PitchDiameter_mm(Row("G1/4")), 12.301, 0.001);
  EXPECT_NEAR(MinorDiameter_mm(Row("G1/4")), 11.445, 0.001);
  for (const ThreadRow& row : PipeThreads()) {
    const double per_inch = 25.4 / row.pitch_mm;
    EXPECT_NEAR(per_inch, std::round(per_inch), 0.01) << row.designation;
    const double share = ThreadDepthShare(row, row.tap_drill_mm);
    EXPECT_GT(share, 0.7) << row.designation;
    EXPECT_LT(share, 0.9) << row.designation;
    EXPECT_GT(row.tap_drill_mm, InternalMinor_6H(row).lower_mm) << row.designation;
    EXPECT_LT(row.tap_drill_mm, InternalMinor_6H(row).upper_mm) << row.designation;
  }
  EXPECT_EQ(NearestThreads("G1/3").front().substr(0, 3), "G1/");
}

TEST(Iso965, Limits) {
  ExpectLimits(ExternalMajor_6g(Row("M3")), 2.874, 2.980, "M3 major");
  ExpectLimits(ExternalPitch_6g(Row("M3")), 2.580, 2.655, "M3 pitch");
  ExpectLimits(ExternalMajor_6g(Row("M6")), 5.794, 5.974, "M6 major");
  ExpectLimits(ExternalMajor_6g(Row("M10")), 9.732, 9.968, "M10 major");
  ExpectLimits(InternalMinor_6H(Row("M6")), 4.917, 5.153, "M6 minor");
  ExpectLimits(InternalPitch_6H(Row("M10")), 9.026, 9.206, "M10 pitch");
  ExpectLimits(InternalMinor_6H(Row("M20")), 17.294, 17.744, "M20 minor");
}

// ISO 965-1 gives its tolerances by formula, rounded to the R40 series (steps of 6 %), not always
// to the nearest: a recalled digit that is wrong departs more than a step.
TEST(Iso965, TolerancesFollowTheFormulas) {
  constexpr double kStep = 0.062;
  for (const ThreadRow& row : Threads()) {
    const double p = row.pitch_mm;
    const double ranges[] = {0.99, 1.4, 2.8, 5.6, 11.2, 22.4};
    double d = 0;
    for (std::size_t i = 1; i < std::size(ranges); ++i) {
      if (row.major_mm > ranges[i - 1] && row.major_mm <= ranges[i]) {
        d = std::sqrt(ranges[i - 1] * ranges[i]);
      }
    }
    const double td = 180 * std::cbrt(p * p) - 3.15 / std::sqrt(p);
    const double td2 = 90 * std::pow(p, 0.4) * std::pow(d, 0.1);
    const double td1 = p >= 1 ? 230 * std::pow(p, 0.7) : 433 * p - 190 * std::pow(p, 1.22);
    EXPECT_NEAR(row.grade6_major_mm * 1000 / td, 1, kStep) << row.designation;
    EXPECT_NEAR(row.grade6_pitch_external_mm * 1000 / td2, 1, kStep) << row.designation;
    // TD2(6) = 1.32 Td2(6).
    EXPECT_NEAR(row.grade6_pitch_internal_mm * 1000 / (1.32 * td2), 1, kStep) << row.designation;
    EXPECT_NEAR(row.grade6_minor_internal_mm * 1000 / td1, 1, kStep) << row.designation;
    EXPECT_NEAR(row.g_deviation_mm * 1000, 15 + 11 * p, 1.01) << row.designation;
  }
}

TEST(Threads, RowsAreConsistent) {
  double last = 0;
  for (const ThreadRow& row : Threads()) {
    EXPECT_GT(row.major_mm, last);
    last = row.major_mm;
    // A tap drill lies within the 6H minor limits, or a little above for the finest (ISO 2306).
    EXPECT_GT(row.tap_drill_mm, MinorDiameter_mm(row)) << row.designation;
    EXPECT_LT(row.tap_drill_mm, InternalMinor_6H(row).upper_mm) << row.designation;
    EXPECT_LT(ThreadDepthShare(row, row.tap_drill_mm), 1) << row.designation;
    EXPECT_LT(row.major_mm, row.clearance_fine_mm);
    EXPECT_LT(row.clearance_fine_mm, row.clearance_medium_mm);
    EXPECT_LT(row.clearance_medium_mm, row.clearance_coarse_mm);
    EXPECT_LT(row.clearance_coarse_mm, row.head_diameter_mm);
    EXPECT_LT(row.head_diameter_mm, row.knurled_head_mm);
    EXPECT_LT(row.knurled_head_mm, row.washer_diameter_mm);
    EXPECT_NEAR(row.head_height_mm, row.major_mm, 1e-12);
  }
}

TEST(ThreadDepthShare, M3InTwoAndAHalf) {
  EXPECT_NEAR(ThreadDepthShare(Row("M3"), 2.5), 0.924, 0.0005);  // (3 - 2.5) / 0.5413
}

TEST(ScrewLengths, AtOrBelow) {
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(17.9), 16);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(16), 16);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(1.9), std::nullopt);
  EXPECT_EQ(ScrewLengthAtOrBelow_mm(500), 100);
}

TEST(OutsideValues, Threads) {
  const auto table = OutsideTable("threads.json");
  if (!table) GTEST_SKIP() << "outside values are not beside the source folder";
  int compared = 0;
  for (const auto& row : table->at("iso_coarse").at("rows")) {
    const ThreadRow* ours = FindThread(row.at("size").get<std::string>());
    if (ours == nullptr) continue;
    EXPECT_EQ(ours->pitch_mm, row.at("P").get<double>());
    EXPECT_NEAR(PitchDiameter_mm(*ours), row.at("d2").get<double>(), 0.00051);
    EXPECT_NEAR(MinorDiameter_mm(*ours), row.at("D1").get<double>(), 0.00051);
    ++compared;
  }
  EXPECT_EQ(compared, static_cast<int>(Threads().size()));
  const auto limits = [](const nlohmann::json& pair, const SizeLimits& ours,
                         const std::string& what) {
    ExpectLimits(ours, pair.at(0).get<double>(), pair.at(1).get<double>(), what);
  };
  for (const auto& row : table->at("iso965").at("external_6g")) {
    const std::string size = row.at("size");
    const ThreadRow* ours = FindThread(size);
    if (ours == nullptr) continue;
    limits(row.at("major"), ExternalMajor_6g(*ours), size + " major");
    limits(row.at("pitch"), ExternalPitch_6g(*ours), size + " pitch");
  }
  for (const auto& row : table->at("iso965").at("internal_6H")) {
    const std::string size = row.at("size");
    limits(row.at("minor"), InternalMinor_6H(Row(size)), size + " minor");
    limits(row.at("pitch"), InternalPitch_6H(Row(size)), size + " pitch");
  }
}

TEST(OutsideValues, ScrewsAndClearanceHoles) {
  const auto table = OutsideTable("fasteners.json");
  if (!table) GTEST_SKIP() << "outside values are not beside the source folder";
  for (const auto& [size, row] : table->at("iso273").at("rows").items()) {
    const ThreadRow* ours = FindThread(size);
    if (ours == nullptr) continue;
    EXPECT_EQ(ours->clearance_fine_mm, row.at(0).get<double>()) << size;
    EXPECT_EQ(ours->clearance_medium_mm, row.at(1).get<double>()) << size;
    EXPECT_EQ(ours->clearance_coarse_mm, row.at(2).get<double>()) << size;
  }
  for (const auto& [size, row] : table->at("iso4762").at("rows").items()) {
    const ThreadRow* ours = FindThread(size);
    if (ours == nullptr) continue;
    EXPECT_EQ(ours->head_diameter_mm, row.at(0).get<double>()) << size;
    EXPECT_EQ(ours->head_height_mm, row.at(1).get<double>()) << size;
    EXPECT_EQ(ours->key_mm, row.at(2).get<double>()) << size;
  }
  for (const auto& [size, row] : table->at("iso7089").at("rows").items()) {
    EXPECT_EQ(Row(size).washer_diameter_mm, row.at(1).get<double>()) << size;
    EXPECT_EQ(Row(size).washer_thickness_mm, row.at(2).get<double>()) << size;
  }
}

}  // namespace
}  // namespace fitwright::trade
