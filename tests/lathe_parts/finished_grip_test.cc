// A chuck on a finished size: light cuts where it holds short, and the close sizes under the jaws gauged again.
#include "fitwright/planner/finished_grip.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

constexpr double kThin_mm = 6;  // of a flange: too little for jaws and the room above them

// A flange with a nose to a fit on one side and a spigot on the other, bored right through to a fit.
Part Housing(double nose_mm, double flange_mm = kThin_mm) {
  constexpr double kSpigot_mm = 10;
  const double end = flange_mm + nose_mm;
  Part part = MakeTurned("housing", 60, -kSpigot_mm - 3, end + 30);
  part.features = {Outer("spigot", -kSpigot_mm, 0, Plain(40)),
                   Outer("flange", 0, flange_mm, Plain(54)),
                   Outer("nose", flange_mm, end, Fit(36, "g6", -0.025, -0.009)),
                   Ends("spigot_end", -kSpigot_mm, false),
                   Ends("nose_end", end, true),
                   OnAxis("seat", HoleUse::kBore, end, end + kSpigot_mm, Fit(26, "H7", 0, 0.021))};
  return part;
}

const fitwright::Setup* HeldBy(const Plan& plan, const std::string& feature) {
  for (const fitwright::Setup& setup : plan.setups) {
    for (const Contact& c : setup.contacts) {
      if (c.kind == ContactKind::kChuckGrip && c.surface.feature.text() == feature) return &setup;
    }
  }
  return nullptr;
}

double DeepestCut(const fitwright::Setup& setup) {
  double most = 0;
  for (const Step& step : setup.steps) {
    double last = 0;
    for (const double level : step.levels_mm) {
      most = std::max(most, level - last);
      last = level;
    }
  }
  return most;
}

int GaugedAgain(const fitwright::Setup& setup, const std::string& feature) {
  return static_cast<int>(std::count_if(setup.steps.begin(), setup.steps.end(), [&](const Step& s) {
    return s.operation == Operation::kMeasure && s.measure && s.measure->feature.feature.text() == feature &&
           s.measure->words.find("again") != std::string::npos;
  }));
}

TEST(FinishedGrip, ShortOnANoseIsCutLightlyAndGaugedAgain) {
  const Made made = MakeAndReplay(Housing(14), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = HeldBy(made.plan, "nose");
  ASSERT_NE(setup, nullptr) << made.text;
  EXPECT_LT(setup->grip_depth_mm, 18);
  EXPECT_LE(DeepestCut(*setup), planner::kLightCut_mm + 1e-9);
  EXPECT_THAT(setup->hold_words, testing::HasSubstr("cuts of 0.5 mm at most"));
  EXPECT_EQ(GaugedAgain(*setup, "nose"), 1);
  EXPECT_EQ(GaugedAgain(*setup, "seat"), 1);
}

// 22 of 36 in the jaws is more than half: cut as the lathe bears it, gauged all the same.
TEST(FinishedGrip, LongOnANoseIsCutAsUsual) {
  const Made made = MakeAndReplay(Housing(22), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = HeldBy(made.plan, "nose");
  ASSERT_NE(setup, nullptr) << made.text;
  ASSERT_GE(setup->grip_depth_mm, 18);
  EXPECT_GT(DeepestCut(*setup), planner::kLightCut_mm);
  EXPECT_EQ(setup->hold_words.find("at most"), std::string::npos);
  EXPECT_EQ(GaugedAgain(*setup, "seat"), 1);
}

// Nothing is gripped on a finished fit while another land is there (common practice).
TEST(FinishedGrip, AWideFlangeIsHeldInThePlaceOfAFit) {
  Part part = Housing(14, 10);
  part.features.push_back(Ends("flange_back", 10, true));
  const Made made = MakeAndReplay(part, files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_EQ(HeldBy(made.plan, "nose"), nullptr) << made.text;
  EXPECT_NE(HeldBy(made.plan, "flange"), nullptr) << made.text;
}

TEST(FinishedGrip, ACentreOrASteadyCarriesTheEnd) {
  fitwright::Setup setup;
  Contact grip;
  grip.kind = ContactKind::kChuckGrip;
  grip.surface = {PartId("shaft"), FeatureId("journal")};
  setup.contacts = {grip};
  setup.opening_mm = 20;
  setup.grip_depth_mm = 8;
  EXPECT_TRUE(planner::IsHeldShortOnFinished(setup));
  FixtureSolid centre;
  centre.role = FixtureRole::kTailstock;
  setup.fixtures = {centre};
  EXPECT_FALSE(planner::IsHeldShortOnFinished(setup));
  setup.fixtures.clear();
  setup.contacts.front().surface.feature = {};
  EXPECT_FALSE(planner::IsHeldShortOnFinished(setup));  // on the raw bar: hard jaws, as tight as they go
}

// A ring of 24 over 19 bored between the jaws; the same with a wall six times as thick is stiffer by the cube.
TEST(FinishedGrip, AThinRingBoredInTheJawsIsWarnedOf) {
  const Shop shop = files::DefaultShop();
  const auto words = [&](double outer_mm) {
    Part part = MakeTurned("ring", outer_mm, -30, 10);
    part.features = {Outer("outside", 0, 10, Plain(outer_mm)), OnAxis("bore", HoleUse::kBore, 10, 10, Fit(19, "H7", 0, 0.021))};
    fitwright::Setup setup;
    setup.device = HoldingDeviceId("three_jaw");
    setup.parts.push_back({part.name, Pose::Identity(), true});
    setup.opening_mm = outer_mm;
    setup.grip_depth_mm = 8;
    Contact grip;
    grip.kind = ContactKind::kChuckGrip;
    grip.surface = {part.name, FeatureId("outside")};
    grip.point_P_mm = Vec3(-outer_mm / 2, 0, 5);
    grip.normal_P = Vec3::UnitX();
    setup.contacts = {grip};
    Step bore;
    bore.operation = Operation::kBore;
    bore.finishes = true;
    bore.features = {{part.name, FeatureId("bore")}};
    setup.steps = {bore};
    return planner::ThinRingWords(shop, {{part.name, planner::RawPiece(part)}}, setup);
  };
  EXPECT_THAT(words(24), testing::HasSubstr("three lobes"));
  EXPECT_EQ(words(49), "");
}

}  // namespace
}  // namespace fitwright
