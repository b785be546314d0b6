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

// Its upper wall stands 16 mm over the vise's seat: a parallel gets at it where the jaw ends 4 mm lower.
TEST(Clock, APocketBehindTheJawShowsTheTurnOverTheJaw) {
  const Part part = Cup();
  const auto held = planner::MakeHolding(Lying(part), {{part.name, Turned(part, {"pocket"})}}, MachineOf(part), files::DefaultShop());
  ASSERT_TRUE(held) << held.error().message;
  EXPECT_NE(held->setup.hold_words.find("pocket stands square"), std::string::npos) << held->setup.hold_words;
  EXPECT_LE(held->setup.grip_depth_mm, 12);
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
