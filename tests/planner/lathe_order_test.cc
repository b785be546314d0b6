// The order of cuts in one chucking: drill and rough bore before an outside is brought to size, as common practice has it.
#include "fitwright/planner/lathe_order.h"

#include <gtest/gtest.h>

#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::bench;

Step Cut(const Part& part, Operation operation, const std::string& feature, bool finishes) {
  Step step;
  step.operation = operation;
  step.features = {{part.name, FeatureId(feature)}};
  step.finishes = finishes;
  return step;
}

// As the cuts come one after the other: face, outside, then the bore with what it takes.
struct Chucking {
  Part part = MakeTurned("bush", 40, -5, 60);
  Setup setup;
  Chucking(double outside_mm, double bore_mm) {
    part.features = {Face("end", Vec3::UnitZ(), 20), Outer("outside", 0, 20, Plain(outside_mm)),
                     Bored("bore", {HoleUse::kBore, -Vec3::UnitZ(), {Vec3(0, 0, 20)}, Plain(bore_mm), 20, true})};
    setup.steps = {Cut(part, Operation::kFace, "end", true), Cut(part, Operation::kTurn, "outside", true), Cut(part, Operation::kSpot, "bore", false),
                   Cut(part, Operation::kDrill, "bore", false), Cut(part, Operation::kBore, "bore", false), Cut(part, Operation::kBore, "bore", true)};
  }
  std::vector<Operation> Order() {
    OrderInLathe(part, setup);
    std::vector<Operation> order;
    for (const Step& step : setup.steps) order.push_back(step.operation);
    return order;
  }
};

using enum Operation;

TEST(LatheOrder, TheOutsideIsFinishedAfterDrillAndRoughingBar) {
  Chucking bush(30, 16);
  EXPECT_EQ(bush.Order(), (std::vector{kFace, kSpot, kDrill, kBore, kTurn, kBore}));
  EXPECT_TRUE(bush.setup.steps.back().finishes);
}

TEST(LatheOrder, AThinRingIsTurnedBeforeItIsBored) {
  EXPECT_EQ(Chucking(30, 26).Order(), (std::vector{kFace, kSpot, kDrill, kTurn, kBore, kBore}));
}

TEST(LatheOrder, NothingMovesOnACentre) {
  Chucking bush(30, 16);
  FixtureSolid centre;
  centre.role = FixtureRole::kTailstock;
  bush.setup.fixtures = {centre};
  EXPECT_EQ(bush.Order(), (std::vector{kFace, kTurn, kSpot, kDrill, kBore, kBore}));
}

// Roughed before the outside, bored to what the hone leaves when the outside no longer warms it.
TEST(LatheOrder, AHoneComesLast) {
  Chucking bush(30, 16);
  bush.setup.steps.back() = Cut(bush.part, kBore, "bore", false);
  bush.setup.steps.push_back(Cut(bush.part, kHone, "bore", true));
  bush.setup.steps.push_back(Cut(bush.part, kChamfer, "bore", false));
  EXPECT_EQ(bush.Order(), (std::vector{kFace, kSpot, kDrill, kBore, kTurn, kBore, kChamfer, kHone}));
}

}  // namespace
}  // namespace fitwright::planner
