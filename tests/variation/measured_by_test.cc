// Sizes brought in by every instrument that measures one, against cuts and readings made one by
// one: the reading that sets a cut, the one that ends it, and what the instrument was set wrong by.
#include <gtest/gtest.h>

#include "tests/support/slow_seats.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr double kOneShot_mm = 0.05;
constexpr double kSetting_mm = 0.003;
constexpr double kSumsSecondOrder_mm = 1e-6;  // nothing but sums

struct Gauge {
  InstrumentKind kind;
  const char* reading;  // its spread
  double sigma_mm;
  bool is_set;  // to a standard; a caliper is not
};

Shop ShopThatMeasuresBy(const Gauge& gauge, const char* cut) {
  Shop shop = ShopWithOnly(
      {{gauge.reading, gauge.sigma_mm}, {"micrometer_setting", kSetting_mm}, {cut, kOneShot_mm}});
  shop.instruments.push_back(MakeInstrument("gauge", gauge.kind, 0, 60));
  return shop;
}
Aim BroughtTo(double lower, double upper, double target) {
  Aim aim;
  aim.kind = AimKind::kBringToSize;
  aim.lower_mm = lower;
  aim.upper_mm = upper;
  aim.target_mm = target;
  return aim;
}
void MeasureWithGauge(Step& step, const Aim& aim) {
  step.aim = aim;
  MeasureLine line;
  line.feature = step.features.front();
  line.instrument = InstrumentId("gauge");
  step.measure = line;
}
double SetWrong(SlowRandom& r, const Gauge& gauge) {
  return gauge.is_set ? r.Normal(kSetting_mm) : 0;
}

const Size kPin = MakeSize(24.94, 24.98);
const Size kRingBore = MakeSize(25.02, 25.06);

// One of the two is as it came; the other is worked.
Machine PinInRing(bool pin_is_made) {
  Part pin = SuppliedRound("pin", pin_is_made ? MakeSize(24.98, 25.0) : kPin, {}, 20);
  Part ring =
      SuppliedRound("ring", MakeSize(40, 40), pin_is_made ? kRingBore : MakeSize(25.0, 25.03), 20);
  (pin_is_made ? pin.features[0] : ring.features[1]).finish = Finish::kAsMachined;
  Machine machine = AloneIn(pin, {Required("fit", RequirementKind::kClearance, "pin.outside",
                                           "ring.bore", 0.025, 0.085)});
  machine.parts.push_back(ring);
  machine.uses.push_back(StandsAt("ring", Vec3::Zero()));
  return machine;
}

void ExpectShaft(const Gauge& gauge) {
  const Aim aim = BroughtTo(24.98, 25.0, 24.994);
  PlanBuilder b;
  FirstSeat(b, "pin", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(20));
  MeasureWithGauge(b.Cut(Operation::kTurn, "outside"), aim);
  ExpectHeldAlike(PinInRing(true), ShopThatMeasuresBy(gauge, "turned_diameter"), b.plan, 21,
                  [&](SlowRandom& r) {
                    const double off =
                        Worked(r, kOneShot_mm, gauge.sigma_mm, aim.upper_mm - aim.target_mm) -
                        SetWrong(r, gauge);
                    return SlowValues{Judged(r.In(kRingBore) - aim.target_mm - off, 0.025, 0.085)};
                  },
                  {kSumsSecondOrder_mm});
}

// A bore's too much is a hole's too little.
void ExpectBore(const Gauge& gauge) {
  const Aim aim = BroughtTo(25.0, 25.03, 25.01);
  PlanBuilder b;
  FirstSeat(b, "ring", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(20));
  MeasureWithGauge(b.Cut(Operation::kBore, "bore"), aim);
  ExpectHeldAlike(PinInRing(false), ShopThatMeasuresBy(gauge, "bored_diameter_lathe"), b.plan, 22,
                  [&](SlowRandom& r) {
                    const double off =
                        -Worked(r, kOneShot_mm, gauge.sigma_mm, aim.target_mm - aim.lower_mm) -
                        SetWrong(r, gauge);
                    return SlowValues{Judged(aim.target_mm + off - r.In(kPin), 0.025, 0.085)};
                  },
                  {kSumsSecondOrder_mm});
}

TEST(MeasuredBy, CaliperOnAShaft) {
  ExpectShaft({InstrumentKind::kCaliper, "caliper", 0.02, false});
}
TEST(MeasuredBy, MicrometerOnAShaft) {
  ExpectShaft({InstrumentKind::kMicrometer, "micrometer", 0.006, true});
}
TEST(MeasuredBy, BoreGaugeInABore) {
  ExpectBore({InstrumentKind::kBoreGauge, "bore_gauge", 0.006, true});
}
TEST(MeasuredBy, TelescopicGaugeInABore) {
  ExpectBore({InstrumentKind::kTelescopicGauge, "telescopic_gauge", 0.012, true});
}

TEST(MeasuredBy, DepthMicrometerOnAFace) {
  const Gauge gauge{InstrumentKind::kDepthMicrometer, "micrometer", 0.006, true};
  const Aim aim = BroughtTo(29.98, 30.02, 30.008);
  const Machine machine = AloneIn(MakeBlock("block", {-30, -20, 0}, {30, 20, 30}),
                                  {Required("height", RequirementKind::kDistance, "block.top",
                                            "block.bottom", -30.02, -29.98)});
  PlanBuilder b;
  FirstSeat(b, "block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(30));
  b.Cut(Operation::kFace, "bottom");
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", Upright(30));
  SeatBedFirst(b, machine.parts[0], Upright(30), "bottom", "", "");
  MeasureWithGauge(b.Cut(Operation::kFace, "top"), aim);
  // What the first face was off by is in its place, not in the height that is measured from it.
  ExpectHeldAlike(machine, ShopThatMeasuresBy(gauge, "milled_thickness"), b.plan, 23,
                  [&](SlowRandom& r) {
                    const double height =
                        aim.target_mm +
                        Worked(r, kOneShot_mm, gauge.sigma_mm, aim.upper_mm - aim.target_mm) -
                        SetWrong(r, gauge);
                    return SlowValues{Judged(-height, -30.02, -29.98)};
                  },
                  {kSumsSecondOrder_mm});
}

}  // namespace
}  // namespace fitwright::variation
