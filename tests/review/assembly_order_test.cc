#include "fitwright/review/assembly_order.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "spoiled_example.h"
#include "tests/review/named.h"

namespace fitwright::review {
namespace {

std::string Told(const AssemblyOrder& order) {
  std::string text;
  for (const AssemblyStep& step : order.steps) {
    text += "\n ";
    for (const PartId& part : step.parts) text += " " + part.text();
    text += " along";
    for (int k = 0; k < 3; ++k) text += " " + std::to_string(static_cast<int>(step.direction_W[k]));
    text += " onto";
    for (const PartId& part : step.onto) text += " " + part.text();
  }
  text += "\n  locked:";
  for (const PartId& part : order.locked) text += " " + part.text();
  return text;
}

// Where in the order a group of exactly these parts, in whatever order, goes in; -1 when none does.
int StepOf(const AssemblyOrder& order, std::vector<std::string> parts) {
  std::sort(parts.begin(), parts.end());
  for (std::size_t i = 0; i < order.steps.size(); ++i) {
    std::vector<std::string> names;
    for (const PartId& part : order.steps[i].parts) names.push_back(part.text());
    std::sort(names.begin(), names.end());
    if (names == parts) return static_cast<int>(i);
  }
  return -1;
}

bool Goes(const AssemblyOrder& order, const std::vector<std::string>& parts, const Vec3& way) {
  const int step = StepOf(order, parts);
  return step >= 0 && (order.steps[static_cast<std::size_t>(step)].direction_W - way).norm() < 1e-9;
}

// As a fitter would: the piston gets rod, pin and rings, enters the liner by its lead, and the liner goes down with
// them; the crank is made up in its bearings and comes with their housing; the pulley, which stands over the
// housing's screws, after them, and before the rest shuts the crank in; the washer from the rear before the cover;
// the inlet reed lies on its gasket before the plate is on; what stands on nothing here comes last.
TEST(AssemblyOrder, OfTheCompressor) {
  const AssemblyOrder order = FindAssemblyOrder(LoadSpoiled(kWhole, {}));
  SCOPED_TRACE(Told(order));
  EXPECT_TRUE(order.locked.empty());
  ASSERT_EQ(order.first, std::vector<PartId>{PartId("body")});
  const std::vector<std::string> liner = {"liner", "piston", "ring", "ring#2", "gudgeon_pin", "connecting_rod"};
  const std::vector<std::string> crank = {"crankshaft", "crank_disc", "crankpin", "spacer"};
  const std::vector<std::string> housing = {"front_housing", "crankshaft", "crank_disc", "crankpin", "spacer",
                                            "bearing_spacer", "bearing_rear", "bearing_front", "circlip"};
  EXPECT_TRUE(Goes(order, liner, -Vec3::UnitZ()));
  EXPECT_TRUE(Goes(order, housing, -Vec3::UnitX()));
  EXPECT_TRUE(Goes(order, {"liner"}, -Vec3::UnitZ()));
  EXPECT_TRUE(Goes(order, {"pin_washer"}, Vec3::UnitX()));
  EXPECT_TRUE(Goes(order, {"rear_cover"}, Vec3::UnitX()));
  EXPECT_TRUE(Goes(order, {"reed"}, -Vec3::UnitZ()));
  EXPECT_TRUE(Goes(order, {"head"}, -Vec3::UnitZ()));
  const std::vector<std::vector<std::string>> rows[] = {
      {{"ring#2"}, {"ring"}, {"liner"}, liner, housing, {"driven_pulley"}, {"rear_cover"}},
      {{"bearing_front"}, {"bearing_rear"}, {"circlip"}, crank, housing},
      {{"crankpin"}, crank, {"pin_washer"}, {"rear_cover"}},
      {{"gasket_plate"}, {"reed"}, {"valve_plate"}, {"gasket_head"}, {"head"}},
      {{"base_plate"}, {"motor_pulley"}}};
  for (const auto& row : rows) {
    for (std::size_t i = 1; i < row.size(); ++i) {
      EXPECT_GE(StepOf(order, row[i - 1]), 0) << row[i - 1].front();
      EXPECT_LT(StepOf(order, row[i - 1]), StepOf(order, row[i])) << row[i - 1].front() << " before " << row[i].front();
    }
  }
}

// Every piece comes in once by itself or as one of a group, and nothing before what it stands on.
TEST(AssemblyOrder, EveryPieceOnceAndOntoWhatIsThere) {
  const Machine machine = LoadSpoiled(kWhole, {});
  const AssemblyOrder order = FindAssemblyOrder(machine);
  std::set<PartId> alone;
  for (const AssemblyStep& step : order.steps) {
    EXPECT_NEAR(step.direction_W.norm(), 1, 1e-12);
    for (const PartId& part : step.onto) {
      EXPECT_EQ(std::count(step.parts.begin(), step.parts.end(), part), 0) << part.text();
    }
    if (step.parts.size() > 1) continue;
    EXPECT_TRUE(alone.insert(step.parts.front()).second) << step.parts.front().text();
  }
  // A group's first part stands where it is; all the others are put onto it.
  std::size_t groups = 0;
  for (const AssemblyStep& step : order.steps) groups += step.parts.size() > 1;
  EXPECT_EQ(alone.size() + groups + 1, 30U);  // 25 sheets, two copies, two bearings and a circlip
}

Part Block(const char* name, const Vec3& low, const Vec3& high) {
  Part part;
  part.name = PartId(name);
  part.block_P = {low, high};
  part.features.push_back(
      Named("top", PlanarFace{Vec3::UnitZ(), {high.z(), high.z(), high.z(), {}, ""}}));
  return part;
}

Machine MachineOf(const std::vector<Part>& parts) {
  Machine machine;
  machine.parts = parts;
  for (const Part& part : parts) machine.uses.push_back({part.name, 1, Pose::Identity(), {}});
  return machine;
}

TEST(AssemblyOrder, WhatLiesUnderALidGoesInFirst) {
  Part box = Block("box", Vec3(-20, -20, -20), Vec3(20, 20, 20));
  Hole well;
  well.entries_P_mm = {Vec3(0, 0, 20)};
  well.diameter = {12, 12, 12, LimitsOrigin::kLimits, ""};
  well.depth_mm = 30;
  well.bottom = HoleBottom::kFlat;
  box.features.push_back(Named("well", well));
  const AssemblyOrder order =
      FindAssemblyOrder(MachineOf({box, Block("lid", Vec3(-20, -20, 20), Vec3(20, 20, 25)),
                                   Block("weight", Vec3(-3, -3, -3), Vec3(3, 3, 3))}));
  ASSERT_EQ(order.steps.size(), 2U);
  EXPECT_EQ(order.steps[0].parts.front().text(), "weight");
  EXPECT_NEAR((order.steps[0].direction_W + Vec3::UnitZ()).norm(), 0, 1e-12);
  EXPECT_EQ(order.steps[1].parts.front().text(), "lid");
}

TEST(AssemblyOrder, WhatIsShutInAllRoundIsNamed) {
  Part box = Block("box", Vec3(-20, -20, -20), Vec3(20, 20, 20));
  Groove hollow;
  hollow.internal = true;
  hollow.from_mm = -4;
  hollow.to_mm = 4;
  hollow.diameter = {20, 20, 20, LimitsOrigin::kLimits, ""};
  box.features.push_back(Named("hollow", hollow));
  const Machine machine = MachineOf({box, Block("weight", Vec3(-3, -3, -3), Vec3(3, 3, 3))});
  const AssemblyOrder order = FindAssemblyOrder(machine);
  EXPECT_TRUE(order.steps.empty());
  EXPECT_EQ(order.locked, (std::vector<PartId>{PartId("box"), PartId("weight")}));
  EXPECT_TRUE(Names(Review(machine), {Rule::kNoWayTogether, "box", "weight"}));
}

}  // namespace
}  // namespace fitwright::review
