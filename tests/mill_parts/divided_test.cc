// Circles of holes divided on the rotary table: where the slides do not reach all of the circle, and where hand
// dials would place its holes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"
#include "tests/support/corrupt.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers
using testing::HasSubstr;

constexpr double kCircle_mm = 46;
constexpr int kHoles = 5;
constexpr double kArcSecond_rad = kPi / 180 / 3600;

// A flange with five holes on a circle, gripped by its hub.
Part Flange() {
  Part part = MakeTurned("flange", 64, -30, 26);
  HoleWish wish;
  wish.depth = 8;
  wish.through = true;
  wish.diameter = Plain(4.5);
  wish.entries.clear();
  for (int i = 0; i < kHoles; ++i) {
    const double a = 2 * kPi * i / kHoles;
    wish.entries.push_back(Vec3(kCircle_mm / 2 * std::cos(a), kCircle_mm / 2 * std::sin(a), 24));
  }
  part.features = {Outer("rim", 16, 24, Plain(60)), Outer("hub", 0, 16, Plain(30)), Bored("holes", wish), Ends("foot", 0, false),
                   Ends("face", 24, true)};
  return part;
}

Shop ByDials() {
  Shop shop = files::DefaultShop();
  for (MachineTool& m : shop.machines) m.readout = false;
  return shop;
}

Shop ShortTravel(Shop shop = files::DefaultShop()) {
  for (MachineTool& m : shop.machines) {
    if (m.kind == MachineToolKind::kMill) m.travel_mm.y() = 40;
  }
  return shop;
}

Shop ShortByDials() { return ShortTravel(ByDials()); }

// Whether the setup that drills the circle may be held on the rotary table.
bool IsOffered(const Part& part, const Shop& shop) {
  for (const planner::Route& route : planner::FindRoutes(part, shop, {}, nullptr)) {
    planner::PieceState piece = planner::RawPiece(part);
    for (const planner::SetupSketch& sketch : route.setups) {
      for (const planner::SetupSketch& other : planner::Variants(sketch, piece, shop)) {
        if (other.holding == HoldingKind::kRotaryTable) return true;
      }
      for (const FeatureId& id : sketch.cuts) {
        const auto leave = sketch.leave_mm.find(id);
        planner::ApplyCut(piece, *part.Find(id), sketch.up_P, leave == sketch.leave_mm.end() ? 0 : leave->second);
      }
      if (sketch.part_off) planner::ApplyPartOff(piece, *part.Find(*sketch.part_off), sketch.part_off_leave_mm);
    }
  }
  return false;
}

TEST(DividedCircle, IsWeighedWhereHandDialsWouldPlaceTheHoles) {
  EXPECT_TRUE(IsOffered(Flange(), ByDials()));
  EXPECT_FALSE(IsOffered(Flange(), files::DefaultShop()));
}

TEST(DividedCircle, WhereTheSlidesDoNotReachItStandsOnTheRotaryTable) {
  const Made made = MakeAndReplay(Flange(), ShortTravel());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_NE(FindSetup(made.plan, HoldingKind::kRotaryTable), nullptr) << made.text;
  const Made reached = MakeAndReplay(Flange(), files::DefaultShop());
  ASSERT_TRUE(reached.ok) << reached.text;
  EXPECT_EQ(FindSetup(reached.plan, HoldingKind::kRotaryTable), nullptr) << reached.text;
}

TEST(DividedCircle, EveryHoleIsReadAtTheRadiusAndItsOwnAngle) {
  const Made made = MakeAndReplay(Flange(), ShortByDials());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = FindSetup(made.plan, HoldingKind::kRotaryTable);
  ASSERT_NE(setup, nullptr);
  EXPECT_THAT(setup->zero.routine, HasSubstr("Go out to the circle's radius along x alone"));
  std::vector<double> angles;
  for (const Coordinate& c : setup->steps.front().coordinates) {
    EXPECT_NEAR(std::abs(c.x_mm), kCircle_mm / 2, 1e-6);  // the table's angle is rounded to a millionth of a degree
    EXPECT_NEAR(c.y_mm, 0, 1e-6);
    ASSERT_TRUE(c.table_deg);
    angles.push_back(*c.table_deg);
  }
  ASSERT_EQ(angles.size(), static_cast<std::size_t>(kHoles));
  std::sort(angles.begin(), angles.end());
  for (std::size_t i = 1; i < angles.size(); ++i) EXPECT_NEAR(angles[i] - angles[i - 1], 360.0 / kHoles, 1e-5);
}

double Sigma(const variation::Analysis& analysis, const variation::Form& form) {
  double variance = 0;
  for (const variation::Term& t : form.terms) variance += t.factor * t.factor * variation::MomentsOf(analysis.sources, t.source, analysis.figures).variance;
  return std::sqrt(variance);
}

// With nothing but the table's angles: each hole strays round the circle by the angle times the radius, on its
// own, and no hole strays outward. With nothing but the dials: all holes stray alike, outward and round.
TEST(DividedCircle, AnglesAreEachHolesOwnAndTheRadiusIsAllTheirs) {
  const Shop shop = ShortByDials();
  const Part part = Flange();
  const Machine machine = MachineOf(part);
  const Made made = MakeAndReplay(Flange(), shop);
  ASSERT_TRUE(made.ok) << made.text;
  const Pose X_PS = FindSetup(made.plan, HoldingKind::kRotaryTable)->parts.front().X_PS;
  const auto& entries = std::get<Hole>(part.Find(FeatureId("holes"))->shape).entries_P_mm;
  const auto moves = [&](const std::string& only, const auto& look) {
    Shop one = shop;
    for (auto& [id, spread] : one.spreads) {
      if (id != only) spread.careful = spread.usual = spread.worn = {};
    }
    const auto analysis = variation::Analyse(machine, one, made.plan);
    ASSERT_TRUE(analysis) << Format(analysis.error());
    const auto& holes = analysis->features.at({part.name, FeatureId("holes")}).holes;
    const auto move = [&](std::size_t i, bool outward) {
      const Vec3 out = (entries[i] - entries[i].z() * Vec3::UnitZ()).normalized();
      return MoveAlong(holes[i].pose.own, entries[i], outward ? out : Vec3(Vec3::UnitZ().cross(out)));
    };
    look(*analysis, move);
  };
  ASSERT_GT(X_PS.linear().col(2).z(), 0.99);
  constexpr double kSums = 1e-9;  // sums of a few doubles
  moves("rotary_table", [&](const variation::Analysis& a, const auto& move) {
    const double sigma = FigureOf(shop, shop.spreads.at("rotary_table")).spread * kArcSecond_rad * kCircle_mm / 2;
    EXPECT_NEAR(Sigma(a, move(1, false)), sigma, kSums);
    EXPECT_NEAR(Sigma(a, move(1, true)), 0, kSums);
    EXPECT_NEAR(Sigma(a, variation::Plus(move(1, false), move(3, false), -1)), std::sqrt(2.0) * sigma, kSums);
  });
  moves("dial_position", [&](const variation::Analysis& a, const auto& move) {
    const double sigma = FigureOf(shop, shop.spreads.at("dial_position")).spread;
    EXPECT_NEAR(Sigma(a, move(2, true)), sigma, kSums);
    EXPECT_NEAR(Sigma(a, variation::Plus(move(2, true), move(4, true), -1)), 0, kSums);
    EXPECT_NEAR(Sigma(a, variation::Plus(move(2, false), move(4, false), -1)), 0, kSums);
  });
}

TEST(DividedCircle, SpoiledPlansAreCaught) {
  const Shop shop = ShortByDials();
  const Made made = MakeAndReplay(Flange(), shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto results = corrupt::RunCorruptions(MachineOf(Flange()), shop, made.plan, {});
  ASSERT_TRUE(results) << Format(results.error());
  int turned = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    turned += r.fault == "table_misread" || r.fault == "table_not_turned" ? 1 : 0;
  }
  const auto& steps = FindSetup(made.plan, HoldingKind::kRotaryTable)->steps;
  const auto divided = std::count_if(steps.begin(), steps.end(), [](const Step& step) { return !step.coordinates.empty(); });
  if (corrupt::AllFaultsRun()) {
    EXPECT_EQ(turned, 2 * divided);
  }
}

}  // namespace
}  // namespace fitwright
