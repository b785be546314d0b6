// What a sheet keeps from one reading to the next.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/files/machine_writer.h"
#include "fitwright/files/proposals_reader.h"
#include "fitwright/files/project.h"
#include "fitwright/planner/hand_shaping.h"
#include "fitwright/recognize/carry_over.h"
#include "fitwright/recognize/moved_part.h"

namespace fitwright {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TEST(Proposals, ComeBackFromWhereTheyStand) {
  const std::string sheet =
      "material = \"steel\"  # proposed: the file names none\n\n[stock]\nform = \"flat\"  # proposed: sold\n\n"
      "[[feature]]\ndiameter = 3.3\nthread = \"M4\"  # proposed: a tap drill\nname = \"hole_1\"\n";
  std::vector<std::string> found;
  for (const files::Remark& one : files::ReadProposals(sheet)) found.push_back(one.where + "|" + one.words);
  EXPECT_THAT(found, ElementsAre("material|the file names none", "stock.form|sold", "features.hole_1.thread|a tap drill"));
}

TEST(Proposals, OfAMachineAreWrittenAsTheyWereRead) {
  Machine machine;
  machine.name = "two";
  Joint joint;
  joint.name = JointId("cover_face");
  joint.fixed = {PartId("body"), FeatureId("top")};
  joint.moving = {PartId("cover"), FeatureId("bottom")};
  machine.joints.push_back(joint);
  const std::string once = files::WriteMachine(machine, {{"joints.cover_face", "they touch"}});
  EXPECT_THAT(once, HasSubstr("# proposed: they touch"));
  EXPECT_EQ(files::WriteMachine(machine, files::ReadProposals(once)), once);
}

TEST(GoneNames, AreReadAsWritten) {
  EXPECT_EQ(files::WriteGoneNames({}), "");
  const std::string text = "[stock]\nform = \"flat\"\n" + files::WriteGoneNames({"hole_3", "lead"});
  EXPECT_THAT(files::ReadGoneNames(text), ElementsAre("hole_3", "lead"));
}

Feature HoleAt(const std::string& name, const Vec3& at, double diameter_mm) {
  Hole hole;
  hole.entries_P_mm = {at};
  hole.diameter = {diameter_mm, diameter_mm - 0.1, diameter_mm + 0.1, LimitsOrigin::kGeneralTolerance, ""};
  hole.depth_mm = 8;
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = hole;
  return feature;
}

Part Block(std::vector<Feature> features) {
  Part part;
  part.name = PartId("block");
  part.material = "brass";
  part.block_P = {{0, 0, 0}, {60, 40, 20}};
  part.features = std::move(features);
  return part;
}

const recognize::FeatureChange* ChangeOf(const recognize::CarriedPart& carried, const std::string& name) {
  for (const auto& change : carried.changes) {
    if (change.name == FeatureId(name)) return &change;
  }
  return nullptr;
}

// Two holes that changed places with a third between them are told apart by the whole sum.
TEST(CarryPart, GivesEachFeatureItsNearestAndSaysTheRest) {
  Feature tapped = HoleAt("first", {10, 10, 20}, 3.3);
  std::get<Hole>(tapped.shape).thread = InternalThread{"M4", 4, 0.7, 6};
  tapped.note = "mind the burr";
  const Part confirmed = Block({tapped, HoleAt("second", {20, 10, 20}, 3.3), HoleAt("third", {50, 30, 20}, 6)});
  recognize::PartReading read;
  read.part = Block({HoleAt("hole_1", {19, 10, 20}, 3.3), HoleAt("hole_2", {12, 10, 20}, 3.3), HoleAt("third", {5, 35, 20}, 9)});
  const auto carried = recognize::CarryPart(confirmed, read, {Pose::Identity()}, {"old"});
  ASSERT_TRUE(carried);
  EXPECT_EQ(carried->part.material, "brass");
  const Feature* first = carried->part.Find(FeatureId("first"));
  ASSERT_NE(first, nullptr);
  EXPECT_EQ(std::get<Hole>(first->shape).entries_P_mm[0].x(), 12);
  EXPECT_TRUE(std::get<Hole>(first->shape).thread.has_value());
  EXPECT_EQ(first->note, "mind the burr");
  ASSERT_NE(ChangeOf(*carried, "second"), nullptr);
  EXPECT_EQ(ChangeOf(*carried, "second")->words, "it stands elsewhere, by 1 mm");
  ASSERT_NE(ChangeOf(*carried, "third"), nullptr);
  EXPECT_EQ(ChangeOf(*carried, "third")->kind, recognize::ChangeKind::kGone);
  // The new hole does not take the gone one's name.
  EXPECT_NE(carried->part.Find(FeatureId("third_2")), nullptr);
}

TEST(CarryPart, FindsThePartTurnedInItsFrame) {
  const Part confirmed = Block({HoleAt("first", {10, 10, 20}, 3.3), HoleAt("second", {25, 10, 20}, 5)});
  Pose X_BA = Pose::Identity();
  X_BA.linear() << 0, 0, 1, 1, 0, 0, 0, 1, 0;
  X_BA.translation() = Vec3(3, 4, 5);
  recognize::PartReading read;
  read.part = recognize::MovedPart(confirmed, X_BA);
  const auto carried = recognize::CarryPart(confirmed, read, {}, {});
  ASSERT_TRUE(carried);
  EXPECT_TRUE(carried->changes.empty());
  EXPECT_LT((carried->X_AB.matrix() - X_BA.inverse().matrix()).norm(), 1e-9);
}

TEST(HandShaping, IsASetupOfItsPartWithItsTimeSaid) {
  Machine machine;
  Part part = Block({});
  part.unread.push_back({{11, 12}, 200, 1000, "a free form"});
  machine.parts.push_back(part);
  machine.uses.push_back({part.name});
  const auto setups = planner::HandShaping(machine, files::DefaultShop());
  ASSERT_EQ(setups.size(), 1U);
  EXPECT_EQ(setups[0].steps[0].operation, Operation::kByHand);
  EXPECT_THAT(setups[0].steps[0].words, HasSubstr("faces 12, 13"));
  EXPECT_NEAR(setups[0].steps[0].time_min, 15 + 10 + 6, 1e-9);
  EXPECT_THAT(planner::HandShapingAssumed(machine), ElementsAre(HasSubstr("opinion")));
  machine.parts[0].unread.clear();
  EXPECT_TRUE(planner::HandShaping(machine, files::DefaultShop()).empty());
}

}  // namespace
}  // namespace fitwright
