// Round work held a second time: what shows how it is turned stays in reach, and a drill's thrust falls between
// the parallels. A cup with a pin bore across it and a pocket in its open end.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers

constexpr double kLong_mm = 16;
constexpr double kBoreAt_mm = 7.2;  // from the open end
constexpr double kBore_mm = 5;

Part Cup() {
  Part part = MakeTurned("cup", 25, -30, 18);
  Pocket pocket;
  pocket.into_P = Vec3::UnitZ();
  pocket.along_P = Vec3::UnitY();
  pocket.length_mm = 18;
  pocket.width_mm = 8;
  pocket.corner_radius_mm = 2;
  pocket.depth_mm = 12;
  part.features = {Outer("outside", 0, kLong_mm, Plain(24, 0.05)), Ends("open_end", 0, false), Ends("crown", kLong_mm, true),
                   Make("pocket", pocket), CrossHole("pin_bore", Vec3::UnitX(), 24, kBoreAt_mm, kBore_mm)};
  return part;
}

planner::PieceState Turned(const Part& part, const std::vector<std::string>& more = {}) {
  planner::PieceState piece = planner::RawPiece(part);
  std::vector<std::string> names = {"open_end", "outside", "crown"};
  names.insert(names.end(), more.begin(), more.end());
  for (const std::string& name : names) {
    const Feature& feature = *part.Find(FeatureId(name));
    planner::ApplyCut(piece, feature, planner::ToolSides(part, feature).front(), 0);
  }
  return piece;
}

planner::SetupSketch Lying(const Part& part) {
  planner::SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = Vec3::UnitX();
  sketch.jaw_P = Vec3::UnitZ();
  sketch.cuts = {FeatureId("pin_bore")};
  sketch.machine = MachineToolId("mill");
  sketch.device = HoldingDeviceId("mill_vise");
  sketch.holding = HoldingKind::kViseJawFirst;
  return sketch;
}

TEST(Clock, APinBoreIsDrilledBetweenTwoParallels) {
  const Part part = Cup();
  const auto held = planner::MakeHolding(Lying(part), {{part.name, Turned(part)}}, MachineOf(part), files::DefaultShop());
  ASSERT_TRUE(held) << held.error().message;
  std::vector<Box3> strips;
  for (const FixtureSolid& f : held->setup.fixtures) {
    if (f.role == FixtureRole::kParallel) strips.push_back(std::get<FixtureBox>(f.shape).box_F);
  }
  ASSERT_EQ(strips.size(), 2U) << held->setup.hold_words;
  std::sort(strips.begin(), strips.end(), [](const Box3& a, const Box3& b) { return a.min_mm.y() < b.min_mm.y(); });
  const double bore_y = -(kLong_mm - kBoreAt_mm);  // the crown stands against the fixed jaw, y = 0
  EXPECT_GE(strips[0].min_mm.y(), -kLong_mm);
  EXPECT_LT(strips[0].max_mm.y(), bore_y - kBore_mm / 2);
  EXPECT_GT(strips[1].min_mm.y(), bore_y + kBore_mm / 2);
  EXPECT_LE(strips[1].max_mm.y(), 0);
}

// Two round-ended slots that the pocket breaks into: of their walls only round ends are left, of the pocket's the
// bosses between them.
Part Bossed(double boss_mm) {
  Part part = Cup();
  for (const double side : {-1.0, 1.0}) {
    Slot slot;
    slot.into_P = Vec3::UnitZ();
    slot.centre_P_mm = Vec3(0, side * (boss_mm / 2 + 2), 0);
    slot.along_P = Vec3::UnitX();
    slot.length_mm = 11.4;
    slot.width = Plain(4);
    slot.depth_mm = 12;
    part.features.push_back(Make(side < 0 ? "slot_left" : "slot_right", slot));
  }
  return part;
}

const Contact* Turns(const fitwright::Setup& setup) {
  for (const Contact& c : setup.contacts) {
    if (c.kind == ContactKind::kSetBySquare) return &c;
  }
  return nullptr;
}

// Its upper wall stands 4 mm over the middle: a stylus gets under it where the jaw ends 2 mm lower.
TEST(Clock, APocketBehindTheJawShowsTheTurnOverTheJaw) {
  const Part part = Cup();
  const auto held = planner::MakeHolding(Lying(part), {{part.name, Turned(part, {"pocket"})}}, MachineOf(part), files::DefaultShop());
  ASSERT_TRUE(held) << held.error().message;
  EXPECT_NE(held->setup.hold_words.find("stylus under the upper wall of pocket"), std::string::npos) << held->setup.hold_words;
  EXPECT_LE(held->setup.grip_depth_mm, 14);
}

TEST(Clock, WallsThatAnotherCutTookShowNothing) {
  const Part part = Bossed(9);
  const auto piece = Turned(part, {"slot_left", "slot_right", "pocket"});
  const auto held = planner::MakeHolding(Lying(part), {{part.name, piece}}, MachineOf(part), files::DefaultShop());
  ASSERT_TRUE(held) << held.error().message;
  const Contact* turn = Turns(held->setup);
  ASSERT_NE(turn, nullptr);
  EXPECT_EQ(turn->surface.feature, FeatureId("pocket"));
  EXPECT_NEAR(turn->point_P_mm.y(), 0, 0.3);  // the middle of the boss; places are tried a quarter millimetre apart
  EXPECT_NE(held->setup.hold_words.find("over its 9 mm"), std::string::npos) << held->setup.hold_words;
  // Bosses too narrow for a stylus to run along: nothing is left that shows the turn.
  Part narrow = Bossed(3);
  for (Feature& f : narrow.features) {
    if (auto* pocket = std::get_if<Pocket>(&f.shape)) pocket->corner_radius_mm = 3;
  }
  const auto none = planner::MakeHolding(Lying(narrow), {{narrow.name, Turned(narrow, {"slot_left", "slot_right", "pocket"})}}, MachineOf(narrow),
                                         files::DefaultShop());
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().message.find("no straight wall"), std::string::npos) << none.error().message;
}

TEST(Clock, ARoundEndShowsNoTurnInTheReplay) {
  const Part part = Bossed(9);
  const Made made = MakeAndReplay(part, files::DefaultShop(), 1, HoldingKind::kViseJawFirst);
  ASSERT_TRUE(made.ok) << made.text;
  Plan plan = made.plan;
  bool spoiled = false;
  for (fitwright::Setup& setup : plan.setups) {
    if (setup.holding != HoldingKind::kViseJawFirst) continue;
    for (Contact& c : setup.contacts) {
      if (c.kind != ContactKind::kSetBySquare || c.surface.feature != FeatureId("pocket")) continue;
      c.point_P_mm = Vec3(5.7, 6.5, 3.7);
      c.normal_P = Vec3::UnitX();
      spoiled = true;
    }
  }
  ASSERT_TRUE(spoiled) << made.text;
  const auto report = replay::Replay(MachineOf(part), files::DefaultShop(), plan);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_NE(lathe_parts::TextOf(*report).find("datum_covered"), std::string::npos) << lathe_parts::TextOf(*report);
}

TEST(Clock, APinInTheBoreStandsOutBetweenTheJaws) {
  const Part part = Cup();
  planner::SetupSketch sketch = Lying(part);
  sketch.up_P = -Vec3::UnitZ();
  sketch.cuts = {FeatureId("pocket")};
  sketch.device = HoldingDeviceId("mill_chuck");
  sketch.holding = HoldingKind::kThreeJawShort;
  sketch.zero = planner::ZeroFrom::kOutside;
  const auto held = planner::MakeHolding(sketch, {{part.name, Turned(part, {"pin_bore"})}}, MachineOf(part), files::DefaultShop());
  ASSERT_TRUE(held) << held.error().message;
  const fitwright::Setup& setup = held->setup;
  const bool by_pin = std::any_of(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) {
    return c.kind == ContactKind::kSetBySquare && c.surface.feature == FeatureId("pin_bore");
  });
  EXPECT_TRUE(by_pin) << setup.hold_words;
  // The pin's two ends, 2 mm thick about its axis, out to 10 mm beyond the outside: one of them meets no jaw.
  const auto meets = [&](double side) {
    for (const FixtureSolid& f : setup.fixtures) {
      const auto* jaw = std::get_if<FixtureBox>(&f.shape);
      for (double r = 12; jaw != nullptr && r < 22; r += 0.25) {
        for (const double aside : {-kBore_mm / 2, 0.0, kBore_mm / 2}) {
          const Vec3 p_P(side * r, aside, kBoreAt_mm);
          const Vec3 p = jaw->X_SF.inverse() * (setup.parts.front().X_PS.inverse() * p_P);
          if (((p - jaw->box_F.min_mm).array() > 0).all() && ((jaw->box_F.max_mm - p).array() > 0).all()) return true;
        }
      }
    }
    return false;
  };
  EXPECT_FALSE(meets(1) && meets(-1));
}

}  // namespace
}  // namespace fitwright
