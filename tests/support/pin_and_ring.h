// A ring that is bored, and a pin turned for it, each to its own limits: a plan of two setups.
#pragma once

#include "tests/support/slow_seats.h"

namespace fitwright::testing {

struct PinAndRing {
  static constexpr double kSetting_mm = 0.002;
  static constexpr double kReading_mm = 0.003;
  static constexpr double kCut_mm = 0.012;

  Machine machine;
  Shop shop;
  Plan plan;

  PinAndRing() {
    Part pin = RoundPart("pin", {MakeOutside("outside", Axis3{}, 0, 20, MakeSize(24.970, 24.990))});
    Part ring = RoundPart("ring", {MakeOutside("rim", Axis3{}, 0, 20, MakeSize(60, 60)),
                                   MakeHoles("bore", Vec3::UnitZ(), {Vec3::Zero()},
                                             MakeSize(25.000, 25.021), 20, true)});
    machine = AloneIn(pin, {Required("fit", RequirementKind::kClearance, "pin.outside", "ring.bore",
                                     0.015, 0.045)});
    machine.parts.push_back(ring);
    machine.uses.push_back(StandsAt("ring", Vec3::Zero()));
    shop = ShopWithOnly({{"bored_diameter_lathe", kCut_mm},
                         {"turned_diameter", kCut_mm},
                         {"micrometer", kReading_mm},
                         {"bore_gauge", kReading_mm},
                         {"micrometer_setting", kSetting_mm}});
    PlanBuilder b;
    Work(b, "ring", Operation::kBore, "bore", "bore_gauge", {25.000, 25.021}, 25.0105);
    Work(b, "pin", Operation::kTurn, "outside", "mike_0_25", {24.970, 24.990}, 24.980);
    plan = b.plan;
  }

  static void Work(PlanBuilder& b, const char* part, Operation operation, const char* feature,
                   const char* instrument, std::pair<double, double> limits, double aim_mm) {
    FirstSeat(b, part, "lathe", HoldingKind::kThreeJaw, "chuck", Upright(20));
    b.plan.setups.back().time_min = 90;
    Step& step = b.Cut(operation, feature);
    Aim aim;
    aim.kind = AimKind::kBringToSize;
    aim.lower_mm = limits.first;
    aim.upper_mm = limits.second;
    aim.target_mm = aim_mm;
    step.aim = aim;
    MeasureLine line;
    line.feature = step.features.front();
    line.instrument = InstrumentId(instrument);
    line.lower_mm = limits.first;
    line.upper_mm = limits.second;
    step.measure = line;
  }
};

}  // namespace fitwright::testing
