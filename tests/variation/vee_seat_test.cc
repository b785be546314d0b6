// Round work in V-blocks, against the geometry of a circle between two planes: the axis rises by
// dD / (2 sin(half the V)) with the diameter and does not move sideways.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "fitwright/variation/seating.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr double kHalf_rad = std::numbers::pi / 4;
constexpr double kRadius_mm = 8;
constexpr double kExact = 1e-9;  // closed forms in doubles

struct Lying {
  Shop shop = ShopWithOnly({{"edge_finder", 0.008}});
  Machine machine;
  Setup setup;
  SourceTable sources;
  SourceIndex size = 0;

  explicit Lying(bool touched_off) {
    Part part;
    part.name = PartId("shaft");
    part.features = {
        MakeOutside("outside", {Vec3::Zero(), Vec3::UnitX()}, 0, 100, MakeSize(15.98, 16.02))};
    machine.parts = {part};
    setup.id = SetupId("s1");
    setup.machine = MachineToolId("mill");
    setup.device = HoldingDeviceId("v_block");
    setup.holding = HoldingKind::kVBlock;
    setup.parts = {{PartId("shaft"), Pose::Identity(), true}};
    for (const double x : {10.0, 90.0}) {
      for (const double side : {-1.0, 1.0}) {
        const Vec3 n(0, -side * std::cos(kHalf_rad), std::sin(kHalf_rad));
        Add(ContactKind::kBed, Vec3(x, 0, 0) - kRadius_mm * n, n);
      }
    }
    Add(ContactKind::kOuterCentred, Vec3(10, 0, 0), Vec3::UnitY());
    if (touched_off) Add(ContactKind::kTouchedOff, Vec3(10, 0, kRadius_mm), -Vec3::UnitZ());
    Source source;
    source.key = 1;
    source.unit = 1;
    size = sources.Add(source);
  }

  void Add(ContactKind kind, const Vec3& point, const Vec3& normal) {
    setup.contacts.push_back({kind, {PartId("shaft"), FeatureId("outside")}, point, normal, false});
  }

  Form6 Seat() {
    SeatInput input;
    input.machine = &machine;
    input.shop = &shop;
    input.setup = &setup;
    input.setup_key = 7;
    input.sources = &sources;
    // Outside a contact pushes on, the surface stands off the axis by half the size.
    input.move = [this](FormSum& sum, const Contact& c, double factor) {
      if (c.kind == ContactKind::kBed || c.kind == ContactKind::kTouchedOff)
        sum.Add(size, -0.5 * factor);
    };
    const auto seat = CalcSeat(input);
    EXPECT_TRUE(seat) << Format(seat.error());
    return seat->t_S;
  }
};

TEST(VeeSeat, TheAxisRisesByTheDiameterOverTwiceTheSineOfHalfTheVee) {
  Lying lying(false);
  const Form6 t = lying.Seat();
  for (const double x : {0.0, 50.0, 100.0}) {
    const Vec3 p(x, 0, 0);
    EXPECT_NEAR(FactorOf(MoveAlong(t, p, Vec3::UnitZ()), lying.size), 1 / (2 * std::sin(kHalf_rad)),
                kExact);
    EXPECT_NEAR(FactorOf(MoveAlong(t, p, Vec3::UnitY()), lying.size), 0, kExact);
  }
}

TEST(VeeSeat, TouchedOffOnTopTheAxisIsHalfTheDiameterBelowTheZero) {
  Lying lying(true);
  const Form6 t = lying.Seat();
  EXPECT_NEAR(FactorOf(MoveAlong(t, {50, 0, 0}, Vec3::UnitZ()), lying.size), -0.5, kExact);
}

// Half way between two sides, each found with the same spread.
TEST(VeeSeat, BothSidesFoundGiveTheMiddleToTheFinderOverRootTwo) {
  Lying lying(false);
  const Form side = MoveAlong(lying.Seat(), {10, 0, 0}, Vec3::UnitY());
  double variance = 0;
  int finders = 0;
  for (const Term& term : side.terms) {
    if (lying.sources[term.source].spread != SpreadId::kEdgeFinder) continue;
    variance += term.factor * term.factor * 0.008 * 0.008;
    ++finders;
  }
  EXPECT_EQ(finders, 2);
  EXPECT_NEAR(std::sqrt(variance), 0.008 / std::numbers::sqrt2, kExact);
}

}  // namespace
}  // namespace fitwright::variation
