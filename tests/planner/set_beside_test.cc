#include "fitwright/planner/set_beside.h"

#include <gtest/gtest.h>

#include "fitwright/planner/raw_length.h"
#include "tests/support/slow_builds.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::testing;

// A block 50 by 56 by 87 and a foot on its left side, 40 long, that much in from one end and past the other.
Machine BodyAndFoot(double shift_mm, double foot_low, double foot_high) {
  Machine machine;
  machine.parts = {SuppliedBlock("body", {-25, -28, 0}, {25, 28, 87}), SuppliedBlock("foot", {foot_low, 28, 0}, {foot_high, 50, 24})};
  machine.uses = {StandsAt("body", Vec3::Zero()), StandsAt("foot", Vec3(shift_mm, 0, 0))};
  std::string left, mount, bottom, foot_bottom;
  for (const Part& part : machine.parts) {
    for (const Feature& f : part.features) {
      const auto* face = std::get_if<PlanarFace>(&f.shape);
      if (face == nullptr) continue;
      const std::string ref = part.name.text() + "." + f.name.text();
      if (part.name.text() == "body" && face->normal_P.y() > 0.9) left = ref;
      if (part.name.text() == "foot" && face->normal_P.y() < -0.9) mount = ref;
      if (face->normal_P.z() < -0.9) (part.name.text() == "body" ? bottom : foot_bottom) = ref;
    }
  }
  machine.joints = {JoinedBy("seat", JointKind::kFaceContact, left, mount)};
  machine.requirements = {Required("flush", RequirementKind::kFlush, foot_bottom, bottom, {}, 0.05)};
  return machine;
}
std::string Sideways(const Machine& machine) {
  return SidewaysWords(machine, {RequirementId("flush"), machine.requirements[0].a, machine.requirements[0].b, {JointId("seat")}});
}

TEST(SetBeside, AMateHeldFlushIsPlacedByItsEnds) {
  EXPECT_NE(Sideways(BodyAndFoot(0, -25, 25)).find("flush with"), std::string::npos) << Sideways(BodyAndFoot(0, -25, 25));
  const std::string in = Sideways(BodyAndFoot(0, -20, 20));
  EXPECT_NE(in.find("5 mm in from"), std::string::npos) << in;
  const std::string past = Sideways(BodyAndFoot(8, -20, 20));
  EXPECT_TRUE(past.find("3 mm past") != std::string::npos || past.find("13 mm in from") != std::string::npos) << past;
  Machine bare = BodyAndFoot(0, -25, 25);
  bare.joints.clear();
  EXPECT_EQ(Sideways(bare), "its sides where the drawing has them");
}

// A pin 12 long in a plate 8 thick, its low end so high over the plate's low face.
std::string PinHome(double up_mm) {
  Machine machine;
  machine.parts = {SuppliedRound("disc", MakeSize(30, 30), MakeSize(6, 6), 8), SuppliedRound("pin", MakeSize(6, 6), {}, 12)};
  machine.uses = {StandsAt("disc", Vec3::Zero()), StandsAt("pin", Vec3(0, 0, up_mm))};
  return HomeWords(machine, RefTo("pin.outside"), RefTo("disc.bore"), -Vec3::UnitZ());
}

TEST(SetBeside, APushedPieceStopsWhereTheNearestFacesSay) {
  EXPECT_EQ(PinHome(0), "until its low end is flush with low end, by a plate that low end lies on, waxed there so that what comes out does not bond it");
  EXPECT_EQ(PinHome(-3.5), "until its high end stands 0.5 mm out of high end, by the depth rod");
  EXPECT_EQ(PinHome(1), "until its low end stands 1 mm in from low end, by the depth rod");
  EXPECT_EQ(PinHome(8), "until its low end is against high end");  // looks at it and touches
}

// Holes from a sawn end that is faced before its opposite, where the rest counts from that.
TEST(RawLength, IsMeasuredWhereTheZeroStandsOnTheOtherSawnEnd) {
  Machine machine;
  machine.parts = {MakeBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 87))};
  Part& part = machine.parts[0];
  part.stock.form = StockForm::kFlat;
  part.stock.box_P = {Vec3(-27, -30, -2), Vec3(27, 30, 90)};
  Shop shop;
  MachineTool mill;
  mill.name = MachineToolId("mill");
  mill.kind = MachineToolKind::kMill;
  shop.machines = {mill};
  const auto plan_with = [&](const char* first, const char* last) {
    Plan plan;
    for (const char* face : {"right", first, last}) {
      fitwright::Setup setup;
      setup.number = static_cast<int>(plan.setups.size()) + 1;
      setup.machine = mill.name;
      setup.holding = HoldingKind::kViseBedFirst;
      setup.parts = {{part.name, SetupPose(Vec3::UnitX(), -Vec3::UnitY(), Vec3(27, -28, 90)), true}};
      setup.zero.x_from = {part.name, FeatureId("front")};
      setup.zero.y_from = {part.name, {}};
      Step step;
      step.operation = Operation::kFace;
      step.finishes = true;
      step.features = {{part.name, FeatureId(face)}};
      setup.steps = {step};
      plan.setups.push_back(setup);
    }
    return plan;
  };
  Plan apart = plan_with("top", "bottom");
  SayRawLengths(machine, shop, apart);
  const std::string& words = apart.setups[0].zero.routine;
  EXPECT_NE(words.find("what it is over 92.000 mm goes"), std::string::npos) << words;
  EXPECT_TRUE(apart.setups[2].zero.routine.empty());
  Plan alike = plan_with("bottom", "top");  // the zero's own side is the one that the rest counts from
  SayRawLengths(machine, shop, alike);
  EXPECT_TRUE(alike.setups[0].zero.routine.empty()) << alike.setups[0].zero.routine;
}

}  // namespace
}  // namespace fitwright::planner
