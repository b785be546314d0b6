// A piece that stands aslant: its turn about the jaw's normal has the spread of what it is set by,
// a scribed line's that of its two ends over its length.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "fitwright/variation/draws.h"
#include "fitwright/variation/seating.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr double kExact = 1e-12;  // closed forms in doubles

// Standard deviation of the turn about y, rad, of a block in the vise, jaw first, turned about the
// jaw's normal.
double TurnSpread(ContactKind kind, const AngleSetting& angle) {
  Machine machine;
  machine.parts = {MakeBlock("block", {-30, -20, 0}, {30, 20, 40})};
  const Shop shop =
      ShopWithOnly({{"angle_sine_bar", 0.5}, {"angle_protractor", 30}, {"scribed_line", 0.08}});
  Setup setup;
  setup.id = SetupId("s1");
  setup.machine = MachineToolId("mill");
  setup.device = HoldingDeviceId("vise");
  setup.holding = HoldingKind::kViseJawFirst;
  setup.angle = angle;
  setup.parts = {{PartId("block"), Pose::Identity(), true}};
  const auto add = [&](ContactKind k, const char* face, const Vec3& p, const Vec3& n) {
    setup.contacts.push_back({k, {PartId("block"), FeatureId(face)}, p, n, false});
  };
  for (const Vec3& p : {Vec3(-30, 20, 0), Vec3(30, 20, 0), Vec3(0, 20, 40)})
    add(ContactKind::kFixedJaw, "left", p, -Vec3::UnitY());
  setup.contacts.push_back({ContactKind::kSetBySquare,
                            {PartId("block"), FeatureId()},
                            Vec3(0, 0, 0),
                            Vec3::UnitZ(),
                            false});
  add(kind, "bottom", {30, 0, 0}, Vec3::UnitZ());
  add(ContactKind::kStop, "rear", {-30, 0, 20}, Vec3::UnitX());
  SourceTable sources;
  SeatInput input;
  input.machine = &machine;
  input.shop = &shop;
  input.setup = &setup;
  input.setup_key = 3;
  input.sources = &sources;
  input.move = [](FormSum&, const Contact&, double) {};
  const auto seat = CalcSeat(input);
  EXPECT_TRUE(seat) << Format(seat.error());
  const Figures figures = FiguresOf(shop);
  double variance = 0;
  for (const Term& term : seat->t_S.w[1].terms)
    variance += term.factor * term.factor * MomentsOf(sources, term.source, figures).variance;
  return std::sqrt(variance);
}

AngleSetting SetBy(AngleBy by, double line_mm = 0) {
  AngleSetting angle;
  angle.by = by;
  angle.angle_deg = 26.565;
  angle.line_mm = line_mm;
  return angle;
}

TEST(AngleSeat, SineBarAndProtractorGiveTheirOwnSpread) {
  constexpr double kMinute = std::numbers::pi / 180 / 60;
  const double sine = TurnSpread(ContactKind::kAngleSet, SetBy(AngleBy::kSineBar));
  const double protractor = TurnSpread(ContactKind::kAngleSet, SetBy(AngleBy::kProtractor));
  EXPECT_NEAR(protractor / sine, 60, 1e-9);
  EXPECT_NEAR(sine, 0.5 * kMinute, kExact);
}

TEST(AngleSeat, AScribedLineIsOffByItsTwoEndsOverItsLength) {
  const double sine = TurnSpread(ContactKind::kAngleSet, SetBy(AngleBy::kSineBar));
  const double line = TurnSpread(ContactKind::kLineSet, SetBy(AngleBy::kScribedLine, 48));
  const double ratio = (std::numbers::sqrt2 * 0.08 / 48) / (0.5 * std::numbers::pi / 180 / 60);
  EXPECT_NEAR(line / sine, ratio, 1e-9 * ratio);
  const double longer = TurnSpread(ContactKind::kLineSet, SetBy(AngleBy::kScribedLine, 96));
  EXPECT_NEAR(line / longer, 2, kExact * 1e3);
}

}  // namespace
}  // namespace fitwright::variation
