// The compressor's sheets with one fault planted at a time, and with all of them at once.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "spoiled_example.h"

namespace fitwright::review {
namespace {

struct CompressorFault {
  const char* fault;
  std::vector<Change> changes;
  std::vector<Expected> named;
};

const std::string kMachine = "machine.toml";
const std::string kBody = "parts/body.toml";
const std::string kHousing = "parts/front_housing.toml";

std::vector<CompressorFault> CompressorFaults() {
  const std::string corner = "points = [[18, 18], [-18, 18], [-18, -18], [18, -18]]";
  const std::string near = "points = [[20, 20], [-20, 20], [-20, -20], [20, -20]]";
  return {
      // The hole points at the cylinder bore, 30 H7 at its middle: 25 - 9 - 0.751 - 15.005.
      {"front pattern first at 0 deg",
       {{kBody, "count = 6, first = 30", "count = 6, first = 0"},
        {kHousing, "count = 6, first = 30", "count = 6, first = 0"}},
       {{Rule::kWallThin, "body.front_holes", "0.24 mm"}}},
      // Half of 10.025 and of 6.030 are 0.028 mm more than the centres.
      {"disc holes at 8.000 centres",
       {{"parts/crank_disc.toml", "at = [10, 0, 8]", "at = [8, 0, 8]"}},
       {{Rule::kWallThin, "crank_disc.pin_hole", "breaks into shaft_hole"},
        {Rule::kAxesApart, "joint pin_in_disc", "2.000 mm"}}},
      {"head screws 4.0 from the edge",
       {{"parts/head.toml", corner, near},
        {"parts/valve_plate.toml", corner, near},
        {"parts/gasket_head.toml", corner, near},
        {"parts/gasket_plate.toml", corner, near},
        {kBody, corner, near}},
       {{Rule::kEdgeNear, "head.screw_holes", "4.00 mm"},
        {Rule::kEdgeNear, "valve_plate.screw_holes", "4.00 mm"},
        {Rule::kEdgeNear, "body.top_holes", "5.00 mm"}}},
      {"crankpin washer as small as the pin",
       {{"parts/pin_washer.toml", "diameter = 10", "diameter = 6"}},
       {{Rule::kWasherTooSmall, "pin_washer", "6.00 mm across"}}},
      // The slot in the middle of the foot makes both feet the same.
      {"symmetric feet called a mirror pair",
       {{"parts/foot_left.toml", "at = [4, 41.5, 8]", "at = [0, 41.5, 8]"}},
       {{Rule::kNotAMirror, "foot_right", "turned round"}}},
      {"bearings with nothing behind them",
       {{kHousing, "diameter = 22.5", "diameter = 26.5"}},
       {{Rule::kBearingNotHeld, "bearing_front", "towards +x"},
        {Rule::kBearingNotHeld, "bearing_rear", "towards +x"}}},
      {"bearings without the circlip's groove",
       {{kHousing, "from = -9\nto = -7.7", "from = -4\nto = -2.7"}},
       {{Rule::kBearingNotHeld, "bearing_front", "towards -x"},
        {Rule::kBearingNotHeld, "bearing_rear", "towards -x"}}},
      {"reed thicker than the head gap's minimum leaves",
       {{"parts/reed.toml", "z = [0, 0.15]", "z = [0, 0.4]"},
        {"parts/reed.toml", "size = [40, 12, 0.15]", "size = [40, 12, 0.4]"}},
       {{Rule::kGapTooSmall, "reed", "up to 0.41 mm thick"}}},
      // Radius 40 on an axis 28 above the plate.
      {"pulley 80 that would pass through the base",
       {{"parts/driven_pulley.toml", "diameter = 48", "diameter = 80"},
        {"parts/driven_pulley.toml", "diameter = 50", "diameter = 85"}},
       {{Rule::kWheelFouls, "driven_pulley.rim", "runs into base_plate"}}},
      {"inlet missing",
       {{"parts/head.toml",
         "[[feature]]\nname = \"inlet\"\nkind = \"hole\"\nfrom = \"+z\"\nat = [-9.5, 0]\n"
         "thread = \"G1/8\"\nthrough = true\n",
         ""}},
       {{Rule::kChamberClosed, "head.inlet_chamber", "nothing leads into inlet_chamber"}}},
  };
}

// These two cannot stand in one machine together.
CompressorFault ShortScrews() {
  return {"front screws M3 x 12",
          {{kMachine, "thread = \"M3\", length = 16", "thread = \"M3\", length = 12"}},
          {{Rule::kScrewTooShort, "joint front_screws", "leaves 2 mm"}}};
}
CompressorFault LongScrews() {
  return {"front screws M3 x 20",
          {{kMachine, "thread = \"M3\", length = 16", "thread = \"M3\", length = 20"}},
          {{Rule::kScrewTooLong, "joint front_screws", "10 mm into 7 mm"}}};
}

TEST(FaultyCompressor, EachFaultIsNamedAndNothingElse) {
  auto faults = CompressorFaults();
  faults.push_back(ShortScrews());
  faults.push_back(LongScrews());
  for (const CompressorFault& fault : faults) {
    SCOPED_TRACE(fault.fault);
    const auto findings = ReviewSpoiled(kWhole, fault.changes);
    for (const Expected& expected : fault.named) {
      EXPECT_TRUE(Names(findings, expected)) << expected.where << Listed(findings);
    }
    std::set<Rule> kinds;
    for (const Finding& f : findings) kinds.insert(f.rule);
    std::set<Rule> planted;
    for (const Expected& expected : fault.named) planted.insert(expected.rule);
    EXPECT_EQ(kinds, planted) << Listed(findings);
  }
}

// At the top of the stroke the washer stands free, in the cylinder bore's mouth; 10 + 12 is more
// than the crank bore's 20.
TEST(FaultyCompressor, WhatTurnsIntoTheBodyIsNamed) {
  const auto findings =
      ReviewSpoiled(kWhole, {{"parts/pin_washer.toml", "diameter = 10", "diameter = 24"},
                             {"parts/pin_washer.toml", "diameter = 12", "diameter = 26"}});
  EXPECT_TRUE(Names(findings, {Rule::kWheelFouls, "pin_washer", "it runs into body"}))
      << Listed(findings);
}

// The demo's own angle; what is nearest then are no longer the cylinder bore's walls.
TEST(FaultyCompressor, APatternIsToldHowFarToTurn) {
  auto changes = CompressorFaults().front().changes;
  const auto findings = ReviewSpoiled(kWhole, changes);
  const auto thin = std::find_if(findings.begin(), findings.end(), [](const Finding& f) { return f.where == "body.front_holes"; });
  ASSERT_NE(thin, findings.end());
  EXPECT_EQ(thin->remedy.find("turn the pattern 30 degrees, with its mate's: "), 0U) << thin->remedy;
}

TEST(FaultyCompressor, AllAtOnce) {
  for (const CompressorFault& screws : {ShortScrews(), LongScrews()}) {
    std::vector<Change> changes = screws.changes;
    std::vector<Expected> named = screws.named;
    for (const CompressorFault& fault : CompressorFaults()) {
      changes.insert(changes.end(), fault.changes.begin(), fault.changes.end());
      named.insert(named.end(), fault.named.begin(), fault.named.end());
    }
    const auto findings = ReviewSpoiled(kWhole, changes);
    for (const Expected& expected : named) {
      EXPECT_TRUE(Names(findings, expected)) << expected.where << Listed(findings);
    }
  }
}

}  // namespace
}  // namespace fitwright::review
