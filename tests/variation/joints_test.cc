// Every joint kind against the same machine built the slow way.
#include <gtest/gtest.h>

#include "tests/support/slow_builds.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

// Turns here are under 2 mrad over 40 mm: the forms leave out less than |w|^2 L = 0.2 um.
constexpr double kJointsSecondOrder_mm = 2e-4;
constexpr double kJointsSecondOrder_rad = 2e-6;

// A shaft of 60 with a hub of 20 on it from 15 to 35; both ends of the hub find their own place in
// the play.
Machine HubOnShaft(JointKind kind, const Size& shaft, const Size& bore) {
  Machine machine;
  machine.parts = {SuppliedRound("shaft", shaft, {}, 60),
                   SuppliedRound("hub", MakeSize(30, 30), bore, 20)};
  machine.uses = {StandsAt("shaft", {0, 0, 0}), StandsAt("hub", {0, 0, 15})};
  machine.joints = {JoinedBy("fit", kind, "shaft.outside", "hub.bore")};
  machine.requirements = {
      Required("runs_true", RequirementKind::kRunOut, "hub.outside", "shaft.outside", {}, 0.03),
      Required("in_line", RequirementKind::kInLine, "hub.bore", "shaft.outside", {}, 0.018),
      Required("in_line_all", RequirementKind::kInLine, "hub.bore", "shaft.outside", {}, 0.03),
      Required("parallel", RequirementKind::kParallel, "hub.outside", "shaft.outside", {}, 1e-3),
      Required("square", RequirementKind::kSquare, "hub.high_end", "shaft.outside", {}, 1e-3),
      Required("clear", RequirementKind::kClearance, "shaft.outside", "hub.bore", 0.02, 0.05),
      Required("meet", RequirementKind::kAxesMeet, "hub.cross", "shaft.outside", {}, 0.008),
      Required("flush", RequirementKind::kFlush, "hub.high_end", "shaft.collar", {}, 0.015)};
  machine.parts[1].features.push_back(
      AsSupplied(MakeHoles("cross", -Vec3::UnitX(), {{15, 0, 12}}, MakeSize(3, 3), 30, true)));
  machine.parts[0].features.push_back(
      SuppliedFace("collar", Vec3::UnitZ(), MakeSize(34.99, 34.99)));
  machine.requirements[2].extended = true;
  return machine;
}

struct BuiltHub {
  double clearance = 0;
  Pose hub = Pose::Identity();  // from where it is drawn, W
};
using Rests = std::function<Vec2(SlowRandom&, double)>;

BuiltHub BuildHub(SlowRandom& random, const Size& shaft, const Size& bore, const Rests& rests,
                  double extra_room = 0) {
  BuiltHub built;
  built.clearance = random.In(bore) - random.In(shaft);
  const double room = 0.5 * (built.clearance + extra_room);
  const Vec2 a = rests(random, room);
  const Vec2 b = rests(random, room);
  built.hub = AlongAxis({0, 0, 15}, {0, 0, 35}, {a.x(), a.y(), 15}, {b.x(), b.y(), 35});
  return built;
}

void ExpectHub(const Machine& machine, const std::function<BuiltHub(SlowRandom&)>& build) {
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ASSERT_EQ(odds.requirements.size(), machine.requirements.size());
  const auto off = [](const BuiltHub& h, double z) {
    return FromLine(h.hub * Vec3(0, 0, z), Vec3::Zero(), Vec3::UnitZ());
  };
  // On the hub's axis where it passes the given height of the shaft.
  const auto off_at = [](const BuiltHub& h, double z) {
    const Vec3 p = h.hub * Vec3(0, 0, 15);
    const Vec3 d = h.hub.linear().col(2);
    const Vec3 q = p + (z - p.z()) / d.z() * d;
    return q.head<2>().norm();
  };
  const auto tilt = [](const BuiltHub& h) {
    return std::atan2(h.hub.linear().col(2).head<2>().norm(), h.hub.linear()(2, 2));
  };
  using Read = std::function<double(const BuiltHub&)>;
  const std::vector<std::pair<Read, double>> reads = {
      {[&](const BuiltHub& h) { return 2 * std::max(off(h, 15), off(h, 35)); },
       kJointsSecondOrder_mm},
      {[&](const BuiltHub& h) { return std::max(off(h, 15), off(h, 35)); }, kJointsSecondOrder_mm},
      {[&](const BuiltHub& h) { return std::max(off_at(h, 0), off_at(h, 60)); },
       kJointsSecondOrder_mm},
      {tilt, kJointsSecondOrder_rad},
      {tilt, kJointsSecondOrder_rad},
      {[](const BuiltHub& h) { return h.clearance; }, kJointsSecondOrder_mm},
      {[](const BuiltHub& h) {
         const Vec3 n = Vec3::UnitZ().cross(h.hub.linear().col(0)).normalized();
         return n.dot(h.hub * Vec3(0, 0, 27));
       },
       kJointsSecondOrder_mm},
      // Corners of the square about what the faces share (10 across); the hub is drawn 0.01 proud.
      {[](const BuiltHub& h) {
         double worst = 0;
         for (const double x : {-5.0, 5.0}) {
           for (const double y : {-5.0, 5.0}) {
             const double step = (h.hub * Vec3(x, y, 35)).z() - 34.99;
             if (std::abs(step) > std::abs(worst)) worst = step;
           }
         }
         return worst;
       },
       kJointsSecondOrder_mm}};
  for (std::size_t i = 0; i < reads.size(); ++i) {
    const Requirement& r = machine.requirements[i];
    ExpectSame(odds.requirements[i],
               Build(100 + i,
                     [&](SlowRandom& random) {
                       const bool both_ways = r.kind == RequirementKind::kAxesMeet ||
                                              r.kind == RequirementKind::kFlush;
                       const double low = both_ways ? -*r.upper : r.lower.value_or(-1e9);
                       return Judged(reads[i].first(build(random)), low, r.upper.value_or(1e9));
                     }),
               reads[i].second);
  }
}

const Size kShaft = MakeSize(9.985, 10.0);
const Size kBore = MakeSize(10.015, 10.04);

class LooseRound : public ::testing::TestWithParam<JointKind> {};

TEST_P(LooseRound, RestsAnywhereInItsPlay) {
  ExpectHub(HubOnShaft(GetParam(), kShaft, kBore), [](SlowRandom& random) {
    return BuildHub(random, kShaft, kBore, [](SlowRandom& r, double room) { return r.Disc(room); });
  });
}

INSTANTIATE_TEST_SUITE_P(Kinds, LooseRound,
                         ::testing::Values(JointKind::kSpigotInBore, JointKind::kBearingOnShaft,
                                           JointKind::kRunningFit, JointKind::kSliderInBore,
                                           JointKind::kBonded, JointKind::kBearingSeat),
                         [](const auto& tested) { return std::string(WordOf(tested.param)); });

TEST(Joints, PushedRoundTakesAllOfItsPlay) {
  Machine machine = HubOnShaft(JointKind::kBonded, kShaft, kBore);
  machine.joints[0].float_kind = FloatKind::kPushed;
  machine.joints[0].float_assumed = false;
  machine.joints[0].push_W = -Vec3::UnitY();
  const auto pushed = [](SlowRandom&, double room) { return Vec2(0, -room); };
  ExpectHub(machine, [&](SlowRandom& r) { return BuildHub(r, kShaft, kBore, pushed); });
}

// The angle of the hub's end to a slope on the shaft, against what it is drawn at.
TEST(Joints, AngleToASlopeFollowsTheHub) {
  Machine machine = HubOnShaft(JointKind::kRunningFit, kShaft, kBore);
  const double drawn = 60 * kRadPerDeg;
  const Vec3 slope(std::sin(drawn), 0, std::cos(drawn));
  machine.parts[0].features.push_back(SuppliedFace("slope", slope, MakeSize(30, 30)));
  machine.requirements = {
      Required("angle", RequirementKind::kAngle, "hub.high_end", "shaft.slope", {}, 6e-4)};
  machine.requirements[0].nominal_rad = drawn;
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(11,
                   [&](SlowRandom& random) {
                     const auto rests = [](SlowRandom& r, double room) { return r.Disc(room); };
                     const Vec3 up = BuildHub(random, kShaft, kBore, rests).hub.linear().col(2);
                     return Judged(std::acos(up.dot(slope)) - drawn, -6e-4, 6e-4);
                   }),
             kJointsSecondOrder_rad);
}

TEST(Joints, HubIsPushedByItsScrew) {
  const auto pushed = [](SlowRandom&, double room) { return Vec2(room, 0); };
  ExpectHub(HubOnShaft(JointKind::kHubOnShaft, kShaft, kBore),
            [&](SlowRandom& r) { return BuildHub(r, kShaft, kBore, pushed); });
}

TEST(Joints, PressedTogetherStandsTrue) {
  const Size tight = MakeSize(9.96, 9.98);
  Machine machine = HubOnShaft(JointKind::kPressFit, kShaft, tight);
  machine.requirements[5] =
      Required("tight", RequirementKind::kInterference, "shaft.outside", "hub.bore", 0.01, 0.03);
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  for (const std::size_t i : {0, 1, 2, 3, 4, 6, 7}) {
    EXPECT_EQ(odds.requirements[i].chance.odds, 1);
    EXPECT_NEAR(odds.requirements[i].mean, i == 7 ? 0.01 : 0, 1e-9);
  }
  ExpectSame(
      odds.requirements[5],
      Build(3, [&](SlowRandom& r) { return Judged(r.In(kShaft) - r.In(tight), 0.01, 0.03); }), 0);
}

// A ball bearing's play adds to what its shaft has in its bore.
TEST(Joints, BearingsGiveTheirPlayToTheShaft) {
  Machine machine = HubOnShaft(JointKind::kBearingOnShaft, kShaft, kBore);
  BoughtPart bearing;
  bearing.part = machine.parts[1];
  bearing.kind = BoughtKind::kBearing;
  bearing.radial_play_mm = 0.02;
  bearing.placed = true;
  machine.parts.pop_back();
  machine.bought = {bearing};
  machine.bought_uses = {machine.uses[1]};
  machine.uses.pop_back();
  ExpectHub(machine, [](SlowRandom& random) {
    return BuildHub(
        random, kShaft, kBore, [](SlowRandom& r, double room) { return r.Disc(room); },
        random.Between(0, 0.02));
  });
}

// A shaft in two bushes: each end finds its place in its own play, and a shoulder sets it along.
TEST(Joints, TwoOnOneLineHoldAnEndEach) {
  Machine machine;
  const Size wide = MakeSize(10.02, 10.06);
  Part housing = SuppliedRound("housing", MakeSize(40, 40), {}, 110);
  housing.features.push_back(
      AsSupplied(MakeHoles("front", Vec3::UnitZ(), {{0, 0, 0}}, kBore, 10, false)));
  housing.features.push_back(
      AsSupplied(MakeHoles("rear", -Vec3::UnitZ(), {{0, 0, 110}}, wide, 10, false)));
  housing.features.push_back(SuppliedFace("stop", Vec3::UnitZ(), MakeSize(-10, -10)));
  machine.parts = {housing, SuppliedRound("shaft", kShaft, {}, 120)};
  machine.uses = {StandsAt("housing", {0, 0, 0}), StandsAt("shaft", {0, 0, -10})};
  machine.joints = {JoinedBy("stop", JointKind::kFaceContact, "housing.stop", "shaft.low_end"),
                    JoinedBy("front_fit", JointKind::kRunningFit, "housing.front", "shaft.outside"),
                    JoinedBy("rear_fit", JointKind::kRunningFit, "housing.rear", "shaft.outside")};
  machine.requirements = {
      Required("parallel", RequirementKind::kParallel, "shaft.outside", "housing.front", {}, 3e-4),
      Required("in_line", RequirementKind::kInLine, "shaft.outside", "housing.front", {}, 0.02)};
  const auto build = [&](SlowRandom& r) {
    const double shaft = r.In(kShaft);
    const Vec2 a = r.Disc(0.5 * (r.In(kBore) - shaft));
    const Vec2 b = r.Disc(0.5 * (r.In(wide) - shaft));
    return AlongAxis({0, 0, 5}, {0, 0, 105}, {a.x(), a.y(), 5}, {b.x(), b.y(), 105});
  };
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(1,
                   [&](SlowRandom& r) {
                     const Vec3 d = build(r).linear().col(2);
                     return Judged(std::atan2(d.head<2>().norm(), d.z()), 0, 3e-4);
                   }),
             kJointsSecondOrder_rad);
  ExpectSame(odds.requirements[1],
             Build(2,
                   [&](SlowRandom& r) {
                     const Pose now = build(r);
                     const double low = (now * Vec3(0, 0, -10)).head<2>().norm();
                     const double high = (now * Vec3(0, 0, 110)).head<2>().norm();
                     return Judged(std::max(low, high), 0, 0.02);
                   }),
             kJointsSecondOrder_mm);
}

// A cap on a face, its spigot loose; a pin 20 from the middle through both holds the turn.
TEST(Joints, PinHoldsTheTurn) {
  Machine machine;
  machine.parts = {SuppliedBlock("base", {-30, -30, -20}, {30, 30, 0}),
                   SuppliedBlock("cap", {-30, -30, 0}, {30, 30, 10})};
  const Size loose = MakeSize(10.1, 10.2);
  const Size boss = MakeSize(9.9, 10.0);
  machine.parts[0].features.push_back(
      AsSupplied(MakeHoles("bore", -Vec3::UnitZ(), {{0, 0, 0}}, loose, 15, false)));
  machine.parts[1].features.push_back(AsSupplied(MakeOutside("boss", {}, -8, 0, boss)));
  for (Part& part : machine.parts) {
    const double top = part.block_P.max_mm.z();
    part.features.push_back(
        AsSupplied(MakeHoles("pin", -Vec3::UnitZ(), {{20, 0, top}}, MakeSize(4, 4), 10, false)));
  }
  machine.uses = {StandsAt("base", {0, 0, 0}), StandsAt("cap", {0, 0, 0})};
  machine.joints = {JoinedBy("seat", JointKind::kFaceContact, "base.top", "cap.bottom"),
                    JoinedBy("spigot", JointKind::kSpigotInBore, "base.bore", "cap.boss"),
                    JoinedBy("pin", JointKind::kPinned, "base.pin", "cap.pin")};
  machine.requirements = {
      Required("turn", RequirementKind::kParallel, "cap.left", "base.left", {}, 3e-3)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(5,
                   [&](SlowRandom& r) {
                     const Vec2 t = r.Disc(0.5 * (r.In(loose) - r.In(boss)));
                     // The cap's middle at t, its pin still on the line of the base's at (20, 0)
                     // square to x.
                     const double turn = std::asin(-t.y() / 20);
                     return Judged(std::abs(turn), 0, 3e-3);
                   }),
             1e-5);
}

TEST(Joints, RingLiesAnywhereAlongItsGroove) {
  Machine machine;
  Part piston = SuppliedRound("piston", MakeSize(24, 24), {}, 20);
  Groove groove;
  groove.from_mm = 10;
  groove.to_mm = 11.2;
  groove.diameter = MakeSize(21.8, 21.8);
  piston.features.push_back({FeatureId("groove"), groove, Finish::kAsSupplied, false, {}});
  machine.parts = {piston, SuppliedRound("ring", MakeSize(24, 24), MakeSize(22, 22), 1)};
  machine.uses = {StandsAt("piston", {0, 0, 0}), StandsAt("ring", {0, 0, 10.1})};
  machine.joints = {JoinedBy("ring", JointKind::kRingInGroove, "piston.groove", "ring.outside")};
  machine.requirements = {Required("place", RequirementKind::kDistance, "ring.high_end",
                                   "piston.high_end", -8.95, -8.85)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(
      odds.requirements[0],
      Build(6,
            [](SlowRandom& r) { return Judged(11.1 + r.Between(-0.1, 0.1) - 20, -8.95, -8.85); }),
      1e-9);
}

// Plate on gasket on body: the gasket's own thickness counts, and burrs on each face tip the plate.
TEST(Joints, GasketKeepsTwoFacesApart) {
  Machine machine;
  machine.parts = {SuppliedBlock("body", {-24, -24, -30}, {24, 24, 0}),
                   SuppliedBlock("gasket", {-24, -24, 0}, {24, 24, 0.3}),
                   SuppliedBlock("plate", {-24, -24, 0}, {24, 24, 4})};
  std::get<PlanarFace>(machine.parts[1].features[0].shape).at = MakeSize(0.25, 0.35);
  machine.uses = {StandsAt("body", {0, 0, 0}), StandsAt("gasket", {0, 0, 0}),
                  StandsAt("plate", {0, 0, 0.3})};
  machine.joints = {JoinedBy("below", JointKind::kGasketedFace, "body.top", "gasket.bottom"),
                    JoinedBy("above", JointKind::kGasketedFace, "gasket.top", "plate.bottom")};
  machine.requirements = {
      Required("gap", RequirementKind::kDistance, "plate.bottom", "body.top", 0.27, 0.36),
      Required("proud", RequirementKind::kProud, "plate.top", "body.top", 4.24, 4.38),
      Required("level", RequirementKind::kParallel, "plate.top", "body.bottom", {}, 6e-4)};
  const auto build = [](SlowRandom& r) {
    // Touch points: two corners and the middle of the far side.
    const std::vector<Vec3> touch = {{-24, -24, 0}, {24, -24, 0}, {0, 24, 0}};
    const auto tipped = [&](double thick) {
      std::vector<Vec3> now = touch;
      for (Vec3& p : now) p.z() = thick + r.HalfNormal(0.01);
      return OnThreePoints(touch, now);
    };
    const Pose below = tipped(0);
    return Pose(below * tipped(r.Between(0.25, 0.35)));
  };
  const Odds odds = FastOdds(machine, ShopWithOnly({{"burr_at_joint", 0.01}}));
  ExpectSame(
      odds.requirements[0],
      Build(1, [&](SlowRandom& r) { return Judged((build(r) * Vec3(0, 0, 0)).z(), 0.27, 0.36); }),
      kJointsSecondOrder_mm);
  ExpectSame(odds.requirements[1],
             Build(2,
                   [&](SlowRandom& r) {
                     const Pose now = build(r);
                     double worst = 4.31;
                     for (const double x : {-24.0, 24.0}) {
                       for (const double y : {-24.0, 24.0}) {
                         const double z = (now * Vec3(x, y, 4)).z();
                         if (std::abs(z - 4.31) > std::abs(worst - 4.31)) worst = z;
                       }
                     }
                     return Judged(worst, 4.24, 4.38);
                   }),
             kJointsSecondOrder_mm);
  ExpectSame(odds.requirements[2],
             Build(3,
                   [&](SlowRandom& r) {
                     const Vec3 n = build(r).linear().col(2);
                     return Judged(std::atan2(n.head<2>().norm(), n.z()), 0, 6e-4);
                   }),
             kJointsSecondOrder_rad);
}

// Screws through a cover and a gasket, each drawn a little off the threads' circle: what is left of
// the clearance decides, for each of them by itself.
TEST(Joints, ScrewsPassAllThatLiesBetween) {
  Machine machine;
  const auto at = [](double radius, double z) {
    return std::vector<Vec3>{{radius, 0, z}, {-radius, 0, z}};
  };
  machine.parts = {SuppliedBlock("body", {-30, -30, -30}, {30, 30, 0}),
                   SuppliedBlock("gasket", {-30, -30, 0}, {30, 30, 0.5}),
                   SuppliedBlock("cover", {-30, -30, 0}, {30, 30, 6})};
  Feature tapped =
      AsSupplied(MakeHoles("tapped", -Vec3::UnitZ(), at(20, 0), MakeSize(2.5, 2.5), 9, false));
  std::get<Hole>(tapped.shape).thread = InternalThread{"M3", 3, 0.5, 8};
  machine.parts[0].features.push_back(tapped);
  const Size gasket_hole = MakeSize(3.15, 3.35);
  const Size cover_hole = MakeSize(3.2, 3.4);
  machine.parts[1].features.push_back(
      AsSupplied(MakeHoles("holes", -Vec3::UnitZ(), at(20.12, 0.5), gasket_hole, 0.5, true)));
  machine.parts[2].features.push_back(
      AsSupplied(MakeHoles("holes", -Vec3::UnitZ(), at(20.17, 6), cover_hole, 6, true)));
  machine.uses = {StandsAt("body", {0, 0, 0}), StandsAt("gasket", {0, 0, 0}),
                  StandsAt("cover", {0, 0, 0.5})};
  machine.joints = {JoinedBy("below", JointKind::kGasketedFace, "body.top", "gasket.bottom"),
                    JoinedBy("above", JointKind::kGasketedFace, "gasket.top", "cover.bottom"),
                    JoinedBy("screws", JointKind::kScrewedPattern, "body.tapped", "cover.holes")};
  machine.joints[2].screw = Screw{"M3", 14, 3, 0.5};
  machine.joints[2].between = {RefTo("gasket.holes")};
  Requirement enter = Required("enter", RequirementKind::kScrewsEnter, "", "", {}, {});
  enter.joint = JointId("screws");
  machine.requirements = {enter};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  const SlowTally slow = Build(9, [&](SlowRandom& r) {
    // ISO 965: M3 6g major 2.874 to 2.980. Two holes, each off by the same outwards: they pass when
    // their two clearances together take up both.
    const double both = r.Between(2.874, 2.980) + r.Between(2.874, 2.980);
    const bool gasket = 2 * 0.12 <= r.In(gasket_hole) - 0.5 * both;
    const bool cover = 2 * 0.17 <= r.In(cover_hole) - 0.5 * both;
    return SlowValue{0, gasket && cover};
  });
  const double p = slow.odds();
  EXPECT_GT(p, 0.2);
  EXPECT_LT(p, 0.9);
  EXPECT_NEAR(odds.requirements[0].chance.odds, p, 4.5 * std::sqrt(2 * p * (1 - p) / slow.builds));
}

}  // namespace
}  // namespace fitwright::variation
