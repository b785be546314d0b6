// Every kind of feature: the solid that the kernel makes and the closed form agree point by point
// on what is left of the part.
#include <gtest/gtest.h>

#include <random>

#include "fitwright/model/material.h"
#include "fitwright/planner/outline_path.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "tests/solid/sample_parts.h"

namespace fitwright {
namespace {

using solid::testing::Add;
using solid::testing::AddOuter;
using solid::testing::MakeBlockPart;
using solid::testing::MakeTurnedPart;
using solid::testing::Plain;

constexpr int kPoints = 700;
// Nearer to a border than this the two may differ: the closed form of an outline walks round its
// inside corners in steps.
constexpr double kBorder_mm = 0.02;

struct Case {
  const char* name;
  Part part;
  double taken_mm3;  // from the envelope, by a formula; 0 = not worked out
};

Part Shaft(FeatureShape shape, double diameter = 20) {
  Part part = MakeTurnedPart("shaft", 44, -5, 65);
  AddOuter(part, "shaft", 0, 40, Plain(diameter));
  AddOuter(part, "tail", 40, 60, Plain(12));
  Add(part, "tested", std::move(shape));
  return part;
}
Part Hub(FeatureShape shape) {
  Part part = MakeTurnedPart("hub", 44, -5, 25);
  AddOuter(part, "hub", 0, 20, Plain(40));
  Add(part, "bore", solid::testing::MakeHole(Vec3::UnitZ(), {{0, 0, 0}}, Plain(20), 20, true));
  Add(part, "tested", std::move(shape));
  return part;
}
Part Block(FeatureShape shape) {
  Part part = MakeBlockPart("block", {Vec3(-30, -20, 0), Vec3(30, 20, 12)});
  Add(part, "bore", solid::testing::MakeHole(-Vec3::UnitZ(), {{5, 3, 12}}, Plain(8), 12, true));
  Add(part, "tested", std::move(shape));
  return part;
}

Groove Profiled(bool internal, GrooveProfile profile, double from, double to, double diameter) {
  Groove groove{internal, false, {}, from, to, Plain(diameter)};
  groove.profile = profile;
  groove.vee_deg = profile == GrooveProfile::kVee ? 40 : 0;
  return groove;
}

Outline Rod() {
  Outline rod;
  rod.origin_P_mm = Vec3(0, 0, 12);
  rod.discs = {{Vec2(-20, 0), 20}, {Vec2(18, 2), 16}};
  rod.bars = {{Vec2(-20, 0), Vec2(18, 2), 7}};
  rod.inside_radius_mm = 3;
  return rod;
}
// Two bars square to each other, a third that leaves a gap, a disc on an end.
Outline Bracket() {
  Outline bracket;
  bracket.into_P = Vec3::UnitZ();
  bracket.v_P = -Vec3::UnitY();
  bracket.bars = {{Vec2(-25, -12), Vec2(25, -12), 10},
                  {Vec2(-20, -15), Vec2(-20, 18), 8},
                  {Vec2(5, -12), Vec2(16, 15), 6}};
  bracket.discs = {{Vec2(16, 12), 12}};
  bracket.inside_radius_mm = 4;
  return bracket;
}
// A gap between two discs that the cutter cannot enter down to the bar.
Outline Dumbbell() {
  Outline dumbbell;
  dumbbell.origin_P_mm = Vec3(0, 0, 12);
  dumbbell.discs = {{Vec2(-12, 0), 20}, {Vec2(12, 0), 20}};
  dumbbell.bars = {{Vec2(-12, 0), Vec2(12, 0), 6}};
  dumbbell.inside_radius_mm = 5;
  return dumbbell;
}

// A cone frustum's volume.
double Frustum(double d, double e, double length) {
  return kPi / 12 * length * (d * d + d * e + e * e);
}

// A closed line of straight stretches and arcs, one hollow, seen from below.
Outline Lined() {
  Outline lined;
  lined.into_P = Vec3::UnitZ();
  lined.v_P = -Vec3::UnitY();
  lined.line = {{Vec2(-26, -16), 0}, {Vec2(10, -16), kPi}, {Vec2(10, 4), 0}, {Vec2(-4, 8), -1.2}, {Vec2(-20, 14), 0}};
  return lined;
}
// Half a disc to a depth, its straight side beyond the part's.
Outline HalfDisc() {
  Outline cut;
  cut.origin_P_mm = Vec3(0, 0, 12);
  cut.line = {{Vec2(-18, 24), 0}, {Vec2(-18, 20), kPi}, {Vec2(2, 20), 0}, {Vec2(2, 24), 0}};
  cut.within = true;
  cut.depth_mm = 5;
  return cut;
}
Outline Pad() {
  Outline pad;
  pad.origin_P_mm = Vec3(0, 0, 12);
  pad.line = {{Vec2(-22, -14), 0}, {Vec2(18, -8), 0}, {Vec2(20, 15), 0}, {Vec2(-15, 12), 0}};
  pad.depth_mm = 4;
  return pad;
}

std::vector<Case> Cases() {
  const Vec3 x = Vec3::UnitX();
  const FeatureId on_shaft("shaft");
  const FeatureId bore("bore");
  const double quarter = 1 - kPi / 4;  // of a square, left of its corner by a quarter round
  Part pivot = Block(EdgeChamfer{FeatureId("top"), FeatureId("front"), 3, 3, true});
  return {
      {"taper", Shaft(Taper{false, {}, 10, 40, Plain(20), Plain(17), 0.1}),
       kPi / 4 * 400 * 30 - Frustum(20, 17, 30)},
      {"taper_to_the_end", Shaft(Taper{false, {}, 0, 15, Plain(14), Plain(20), 0.1}),
       kPi / 4 * 400 * 15 - Frustum(14, 20, 15)},
      {"taper_bore", Hub(Taper{true, {}, 0, 20, Plain(24), Plain(20), 0.1}), Frustum(24, 20, 20)},
      {"taper_bore_inside", Hub(Taper{true, {}, 12, 20, Plain(20), Plain(26), 0.1}),
       kPi / 4 * 400 * 12 + Frustum(20, 26, 8)},
      {"round_groove", Shaft(Profiled(false, GrooveProfile::kRound, 10, 14, 15)), 0},
      {"shallow_round_groove", Shaft(Profiled(false, GrooveProfile::kRound, 10, 16, 18)), 0},
      {"round_groove_inside", Hub(Profiled(true, GrooveProfile::kRound, 6, 9, 24)), 0},
      {"vee_groove", Shaft(Profiled(false, GrooveProfile::kVee, 10, 16, 14)), 0},
      {"pointed_vee_groove", Shaft(Profiled(false, GrooveProfile::kVee, 10, 12, 4)), 0},
      {"vee_groove_inside", Hub(Profiled(true, GrooveProfile::kVee, 6, 11, 25)), 0},
      {"one_flat", Shaft(Flats{{}, 5, 20, Plain(18), x, 1}), 0},
      {"two_flats", Shaft(Flats{{}, 0, 20, Plain(16), x, 2}), 0},
      {"three_flats", Shaft(Flats{{}, 5, 20, Plain(18.5), x, 3}), 0},
      {"four_flats", Shaft(Flats{{}, 25, 40, Plain(15), x, 4}), 0},
      // The hexagon left is sqrt(3) / 2 times the square across flats.
      {"six_flats", Shaft(Flats{{}, 5, 20, Plain(17), x, 6}),
       15 * (kPi * 100 - std::sqrt(3.0) / 2 * 17 * 17)},
      {"keyway", Shaft(Keyway{false, {}, 10, 28, Plain(6), 6.5, x}), 0},
      {"keyway_open_at_both_ends", Shaft(Keyway{false, {}, 0, 40, Plain(5), 7, x}), 0},
      {"keyway_like_a_disc", Shaft(Keyway{false, {}, 10, 16, Plain(6), 6.5, -x}), 0},
      {"keyway_in_a_hub", Hub(Keyway{true, {}, 0, 20, Plain(6), 12.8, Vec3::UnitY()}), 0},
      {"thread", Shaft(ExternalThread{FeatureId("tail"), false, 15, "M12", 12, 1.75}), 0},
      {"knurl", Shaft(Knurl{on_shaft, 0, 20, 1, KnurlPattern::kDiamond}), 0},
      {"rim_round", Shaft(RoundChamfer{on_shaft, true, 3, 3, true}), 0},
      {"rim_round_at_a_shoulder", Shaft(RoundChamfer{on_shaft, false, 2, 2, true}), 0},
      {"mouth_round", Hub(RoundChamfer{bore, true, 3, 3, true}), 0},
      {"mouth_round_far_end", Block(RoundChamfer{bore, false, 2, 2, true}), 0},
      // A disc of 14 and a cone down to the bore of 8 inside it.
      {"countersink", Block(RoundChamfer{bore, true, 3, 3, false, true}),
       kPi / 4 * 64 * 9 + Frustum(14, 8, 3)},
      {"edge_round", std::move(pivot), kPi / 4 * 64 * 12 + 9 * quarter * 40},
      {"rod", Block(Rod()), 0},
      {"bracket", Block(Bracket()), 0},
      {"dumbbell", Block(Dumbbell()), 0},
      {"line_round_the_part", Block(Lined()), 0},
      {"half_disc_to_a_depth", Block(HalfDisc()), kPi / 4 * 64 * 12 + kPi / 2 * 100 * 5},
      // The four corners' area is half of 428 + 430 + 465 + 474; the bore of 8 lies within them.
      {"pad", Block(Pad()), kPi / 4 * 64 * 12 + 4 * (60 * 40 - 898.5)},
  };
}

Box3 BoxOf(const Part& part) { return solid::CalcBox(*solid::MakeEnvelope(part)); }

// Closed form on the point and all about it; nothing near a border.
std::optional<bool> Holds(const Part& part, const Vec3& p) {
  const bool holds = planner::DesignHolds(part, p);
  for (int corner = 0; corner < 8; ++corner) {
    const Vec3 off((corner & 1) ? 1 : -1, (corner & 2) ? 1 : -1, (corner & 4) ? 1 : -1);
    if (planner::DesignHolds(part, p + kBorder_mm * off) != holds) return std::nullopt;
  }
  return holds;
}

class Shapes : public ::testing::TestWithParam<Case> {};

TEST_P(Shapes, SolidAndClosedFormAgree) {
  const Part& part = GetParam().part;
  const Result<solid::Solid> design = solid::MakeDesign(part);
  ASSERT_TRUE(design.has_value()) << Format(design.error());
  EXPECT_TRUE(solid::IsValid(*design));
  const Box3 box = BoxOf(part);
  std::mt19937 engine(11);
  std::uniform_real_distribution<double> share(0, 1);
  int inside = 0;
  int compared = 0;
  for (int i = 0; i < kPoints; ++i) {
    const Vec3 s(share(engine), share(engine), share(engine));
    const Vec3 p = box.min_mm + s.cwiseProduct(box.size_mm());
    const auto holds = Holds(part, p);
    if (!holds) continue;
    ++compared;
    inside += *holds ? 1 : 0;
    ASSERT_EQ(solid::IsInside(*design, p), *holds) << p.transpose();
  }
  EXPECT_GT(compared, kPoints / 2);
  EXPECT_GT(inside, kPoints / 10);
  const auto volume = solid::MakeFeatureVolume(part, part.features.back());
  ASSERT_TRUE(volume.has_value()) << Format(volume.error());
  const double taken =
      solid::CalcVolume_mm3(*solid::MakeEnvelope(part)) - solid::CalcVolume_mm3(*design);
  EXPECT_GE(solid::CalcVolume_mm3(*volume), 0);
  if (GetParam().taken_mm3 > 0) {
    EXPECT_NEAR(taken, GetParam().taken_mm3, 1e-5);
  }
}

INSTANTIATE_TEST_SUITE_P(Kinds, Shapes, ::testing::ValuesIn(Cases()),
                         [](const auto& tested) { return std::string(tested.param.name); });

// By the closed form alone the share of points says the volume: the kernel's own volume lies within
// four standard errors of it.
TEST(ShapesVolume, OfARodAgreesWithCountingPoints) {
  const Part part = Block(Rod());
  const Result<solid::Solid> design = solid::MakeDesign(part);
  ASSERT_TRUE(design.has_value()) << Format(design.error());
  const Box3 box = BoxOf(part);
  std::mt19937 engine(5);
  std::uniform_real_distribution<double> share(0, 1);
  constexpr int kMany = 40000;
  int inside = 0;
  for (int i = 0; i < kMany; ++i) {
    const Vec3 s(share(engine), share(engine), share(engine));
    inside += planner::DesignHolds(part, box.min_mm + s.cwiseProduct(box.size_mm())) ? 1 : 0;
  }
  const double chance = static_cast<double>(inside) / kMany;
  const double whole = box.size_mm().prod();
  const double error = whole * std::sqrt(chance * (1 - chance) / kMany);
  EXPECT_NEAR(solid::CalcVolume_mm3(*design), whole * chance, 4 * error);
}

// Area within a closed way of lines and arcs: the polygon's, and the caps between chords and arcs.
double AreaOf(const planner::ClosedWay& way) {
  double twice = 0;
  for (std::size_t i = 0; i < way.points_mm.size(); ++i) {
    const Vec2& a = way.points_mm[i];
    const Vec2& b = way.points_mm[(i + 1) % way.points_mm.size()];
    const double turn = way.turns_rad[i];
    twice += a.x() * b.y() - a.y() * b.x();
    if (turn == 0) continue;
    const double radius = 0.5 * (b - a).norm() / std::sin(0.5 * std::abs(turn));
    const double cap = radius * radius * (std::abs(turn) - std::sin(std::abs(turn)));
    twice += turn > 0 ? cap : -cap;
  }
  return 0.5 * twice;
}

// The planner goes round an outline by a way of its own; the prism within it is the solid.
TEST(ShapesVolume, OfOutlinesIsThatWithinTheWayRound) {
  for (const Outline& outline : {Rod(), Bracket(), Dumbbell(), Lined()}) {
    Part part = MakeBlockPart("block", {Vec3(-30, -20, 0), Vec3(30, 20, 12)});
    Add(part, "tested", outline);
    const auto way = planner::OutlineWay(outline);
    ASSERT_TRUE(way.has_value()) << Format(way.error());
    const Result<solid::Solid> design = solid::MakeDesign(part);
    ASSERT_TRUE(design.has_value()) << Format(design.error());
    // Both are exact but for roundings; the kernel's volume is right to 1e-9 of itself.
    EXPECT_NEAR(solid::CalcVolume_mm3(*design), 12 * AreaOf(*way), 1e-4);
  }
}

// Where lines through the part meet material, by stretches, is where the closed form says so; the
// stretches take inside corners as sharp.
TEST(ShapesMaterial, OfOutlinesLiesOnTheSameStretches) {
  for (Outline outline : {Rod(), Bracket(), Dumbbell(), Lined(), HalfDisc(), Pad()}) {
    outline.inside_radius_mm = 0;
    Part part = MakeBlockPart("block", {Vec3(-30, -20, 0), Vec3(30, 20, 12)});
    Add(part, "tested", outline);
    std::mt19937 engine(3);
    std::uniform_real_distribution<double> share(0, 1);
    int inside = 0;
    for (int i = 0; i < 2000; ++i) {
      const Vec3 s(share(engine), share(engine), share(engine));
      const Vec3 p = part.block_P.min_mm + s.cwiseProduct(part.block_P.size_mm());
      const Vec3 along = (i % 2 == 0 ? 1 : -1) * Vec3::Unit(i % 3);
      bool met = false;
      for (const Stretch& stretch : CalcMaterialAlong(part, p, along))
        met |= stretch.from_mm < 0 && stretch.to_mm > 0;
      ASSERT_EQ(met, planner::DesignHolds(part, p)) << p.transpose();
      inside += met ? 1 : 0;
    }
    EXPECT_GT(inside, 200);
  }
}

TEST(StockSolids, HaveTheirFormulasVolumes) {
  Part part = MakeTurnedPart("bar", 20, -3, 47);
  part.stock.form = StockForm::kHex;
  // A hexagon's area is sqrt(3) / 2 times the square of its size across flats.
  EXPECT_NEAR(solid::CalcVolume_mm3(*solid::MakeStock(part)), std::sqrt(3.0) / 2 * 400 * 50, 1e-6);
  EXPECT_NEAR(solid::CalcBox(*solid::MakeStock(part)).max_mm.x(), 10, 1e-6);
  part.stock.flat_normal_P = Vec3::UnitY();
  EXPECT_NEAR(solid::CalcBox(*solid::MakeStock(part)).max_mm.x(), 20 / std::sqrt(3.0), 1e-6);
  part.stock.form = StockForm::kTube;
  part.stock.inner_diameter_mm = 12;
  EXPECT_NEAR(solid::CalcVolume_mm3(*solid::MakeStock(part)), kPi / 4 * (400 - 144) * 50, 1e-6);
  part.stock.form = StockForm::kCasting;
  part.stock.inner_diameter_mm = 0;
  EXPECT_NEAR(solid::CalcVolume_mm3(*solid::MakeStock(part)), kPi / 4 * 400 * 50, 1e-6);
  Part block = MakeBlockPart("plate", {Vec3(0, 0, 0), Vec3(40, 30, 6)});
  block.stock.form = StockForm::kPlate;
  EXPECT_NEAR(solid::CalcVolume_mm3(*solid::MakeStock(block)), 44 * 34 * 10, 1e-6);
}

}  // namespace
}  // namespace fitwright
