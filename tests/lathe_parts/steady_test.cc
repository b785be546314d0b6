// Long work whose end runs in the fixed steady: proposed where nothing else carries it, judged by the replay,
// counted in what comes of it.
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/planner/holding_internal.h"
#include "fitwright/variation/odds.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

Shop WithoutSteady() {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.holding, [](const HoldingDevice& d) { return d.kind == HoldingDeviceKind::kSteady; });
  return shop;
}

const FixtureSolid* SteadyOf(const fitwright::Setup& setup) {
  for (const FixtureSolid& f : setup.fixtures) {
    if (f.role == FixtureRole::kSteady) return &f;
  }
  return nullptr;
}

fitwright::Setup* InSteady(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    if (SteadyOf(setup) != nullptr) return &setup;
  }
  return nullptr;
}

bool Breaks(const Part& part, const Plan& plan, const std::string& rule) {
  const auto report = replay::Replay(MachineOf(part), files::DefaultShop(), plan);
  if (!report) return false;
  for (const ReplayPart& p : report->parts) {
    for (const ReplayViolation& v : p.violations) {
      if (v.rule == rule) return true;
    }
  }
  return false;
}

// Deflection under a load at the end of a bar held fast at 0 and resting at `between`: the bending line
// integrated twice in small steps, the rest's force found from its standing still. Of unit load and stiffness.
double BendsBy(double between, double beyond) {
  const double length = between + beyond;
  constexpr int kSteps = 40000;
  const auto line = [&](double rest, bool load) {
    double slope = 0;
    double y = 0;
    double at_rest = 0;
    const double dx = length / kSteps;
    for (int i = 0; i < kSteps; ++i) {
      const double x = (i + 0.5) * dx;
      const double moment = (load ? length - x : 0) - (x < between ? rest * (between - x) : 0);
      y += slope * dx + 0.5 * moment * dx * dx;
      slope += moment * dx;
      if (x < between) at_rest = y;
    }
    return std::pair(at_rest, y);
  };
  const double from_load = line(0, true).first;
  const double from_rest = -line(1, false).first;
  return line(from_load / from_rest, true).second;
}

TEST(Steady, SpringsAsTheBendingLineSays) {
  for (const auto& [between, beyond] : {std::pair(100.0, 30.0), std::pair(150.0, 15.0), std::pair(20.0, 60.0)}) {
    const double as_free = planner::AsFreeInSteady_mm(between, beyond);
    const double sum = BendsBy(between, beyond);
    EXPECT_NEAR(std::cbrt(3 * sum), as_free, 2e-3 * as_free);  // steps of the sum
  }
}

TEST(Steady, CarriesARollerTooThickForTheSpindle) {
  Made made = MakeAndReplay(Roller(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = InSteady(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  EXPECT_NE(setup->hold_words.find("fingers"), std::string::npos);
}

TEST(Steady, WithoutOneTheReasonIsSaid) {
  const Made made = MakeAndReplay(Roller(), WithoutSteady());
  EXPECT_FALSE(made.ok);
  EXPECT_NE(made.text.find("out of the jaws"), std::string::npos) << made.text;
}

TEST(Steady, CarriesAShankWhoseHeadGoesThroughNoChuck) {
  Made made = MakeAndReplay(HeadedSpindle(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_NE(InSteady(made.plan), nullptr) << made.text;
}

TEST(Steady, SpoiledPlansAreCaught) {
  const Part part = Roller();
  const Made made = MakeAndReplay(part, files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const auto spoiled = [&](const auto& spoil) {
    Plan plan = made.plan;
    spoil(*InSteady(plan));
    return plan;
  };
  const auto ring = [](fitwright::Setup& setup) -> FixtureCylinder& {
    for (FixtureSolid& f : setup.fixtures) {
      if (f.role == FixtureRole::kSteady) return std::get<FixtureCylinder>(f.shape);
    }
    return std::get<FixtureCylinder>(setup.fixtures.front().shape);
  };
  const auto away = [](fitwright::Setup& setup) {
    std::erase_if(setup.fixtures, [](const FixtureSolid& f) { return f.role == FixtureRole::kSteady; });
  };
  EXPECT_TRUE(Breaks(part, spoiled(away), "work_too_slender"));
  EXPECT_TRUE(Breaks(part, spoiled([&](fitwright::Setup& s) { ring(s).inner_mm += 1; }), "not_supported"));
  EXPECT_TRUE(Breaks(part, spoiled([&](fitwright::Setup& s) { ring(s).inner_mm -= 1; }), "fixture_overlaps_part"));
  EXPECT_TRUE(Breaks(part, spoiled([&](fitwright::Setup& s) { ring(s).to_mm += 5; }), "fixture_differs"));
  EXPECT_TRUE(Breaks(part, spoiled([&](fitwright::Setup& s) {
    const double down = 0.6 * s.parts.front().X_PS.translation().norm();
    ring(s).from_mm -= down;
    ring(s).to_mm -= down;
  }), "work_too_slender"));
  EXPECT_TRUE(Breaks(part, spoiled([](fitwright::Setup& s) {
    for (Contact& c : s.contacts) {
      if (c.kind == ContactKind::kSteady) c.surface.feature = FeatureId{};
    }
  }), "not_supported"));
}

// Held at the jaws and in the steady, the bore is off by what the band turns untrue, carried on to its depth.
TEST(Steady, TheBoreRunsTrueToTheBandItRanOn) {
  Made made = MakeAndReplay(Roller(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup& setup = *InSteady(made.plan);
  double jaws = -1e9;
  double steady = 0;
  for (const Contact& c : setup.contacts) {
    const double z = (setup.parts.front().X_PS.inverse() * c.point_P_mm).z();
    if (c.kind == ContactKind::kChuckGrip) jaws = z;
    if (c.kind == ContactKind::kSteady) steady = z;
  }
  Shop shop = files::DefaultShop();
  for (auto& [id, spread] : shop.spreads) {
    if (id != "steady_running") spread.usual = {};
  }
  constexpr double kWithin_mm = 0.015;
  Machine machine = MachineOf(Roller());
  Requirement runs_true;
  runs_true.name = RequirementId("seat_true");
  runs_true.kind = RequirementKind::kRunOut;
  runs_true.a = {PartId("roller"), FeatureId("seat")};
  runs_true.b = {PartId("roller"), FeatureId("outside")};
  runs_true.upper = kWithin_mm;
  machine.requirements = {runs_true};
  variation::QuickOptions options;
  options.builds = 8192;
  const auto odds = variation::CalcQuickOdds(machine, shop, made.plan, options);
  ASSERT_TRUE(odds) << Format(odds.error());
  const double carried_on = (0 - jaws) / (steady - jaws);  // at the mouth, z = 0
  const double sigma = carried_on * 0.005 / 1.1774;        // a vector's median of 0.005
  const double within = 1 - std::exp(-0.125 * kWithin_mm * kWithin_mm / (sigma * sigma));
  EXPECT_NEAR(odds->per_requirement.front(), within, 0.01);  // two sigma of the builds
}

}  // namespace
}  // namespace fitwright
