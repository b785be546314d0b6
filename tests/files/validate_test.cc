// Validation of plain data, without any file.
#include "fitwright/model/validate.h"

#include <gtest/gtest.h>

#include <limits>

#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

class Validate : public ::testing::Test {
 protected:
  void SetUp() override {
    const ProjectFolder folder(SampleProject());
    Diagnostics faults;
    auto project = files::LoadProject(folder.path(), {}, faults);
    ASSERT_TRUE(project.has_value());
    project_ = *std::move(project);
  }
  Machine& machine() { return project_.machine; }
  Part& PartOf(const std::string& name) {
    for (Part& part : machine().parts) {
      if (part.name.text() == name) return part;
    }
    ADD_FAILURE() << name;
    return machine().parts.front();
  }
  template <typename Shape>
  Shape& Get(const std::string& part, const std::string& name) {
    for (Feature& feature : PartOf(part).features) {
      if (feature.name.text() == name) return std::get<Shape>(feature.shape);
    }
    throw std::logic_error(name);
  }
  void ExpectOne(ErrorCode code, const std::string& path) {
    const auto faults = ValidateMachine(machine(), ValidateDepth::kGeometry);
    ASSERT_EQ(faults.size(), 1u) << (faults.empty() ? ""
                                                    : faults.back().path + faults.back().message);
    EXPECT_EQ(NameOf(faults[0].code), NameOf(code));
    EXPECT_EQ(faults[0].path, path);
    EXPECT_FALSE(faults[0].message.empty());
    EXPECT_FALSE(faults[0].remedy.empty());
  }

  files::Project project_;
};

TEST_F(Validate, SoundMachineHasNoFaults) {
  EXPECT_TRUE(ValidateMachine(machine(), ValidateDepth::kGeometry).empty());
  EXPECT_TRUE(ValidateMachine(machine(), ValidateDepth::kNames).empty());
  EXPECT_TRUE(ValidateShop(project_.shop).empty());
  EXPECT_TRUE(ValidateChoices(project_.choices, machine(), project_.shop).empty());
}

TEST_F(Validate, NumbersMustBeNumbers) {
  Get<Hole>("bush", "hole").diameter.upper_mm = std::numeric_limits<double>::quiet_NaN();
  ExpectOne(ErrorCode::kNotFinite, "parts.bush.features.hole.diameter");
}

TEST_F(Validate, DepthMustBeAboveZero) {
  Get<Hole>("bush", "hole").depth_mm = 0;
  ExpectOne(ErrorCode::kNotPositive, "parts.bush.features.hole.depth");
}

TEST_F(Validate, FeatureNamesAreGivenOnce) {
  PartOf("foot").features.push_back(PartOf("foot").features.back());
  ExpectOne(ErrorCode::kDuplicateName, "parts.foot.features.edge.name");
}

TEST_F(Validate, StepMustBeOpen) {
  Get<StepCut>("block", "corner").removed_P.max_mm.z() = 39;
  ExpectOne(ErrorCode::kOutsidePart, "parts.block.features.corner.removed");
}

TEST_F(Validate, ChamferNeedsTwoFacesThatMeet) {
  Get<EdgeChamfer>("foot", "edge").face_b = FeatureId("bottom");
  ExpectOne(ErrorCode::kDoNotMeet, "parts.foot.features.edge.between");
}

TEST_F(Validate, GrooveMustCutSomething) {
  Get<Groove>("bush", "root").diameter = Size{21, 20.9, 21.1, LimitsOrigin::kPlusMinus, ""};
  ExpectOne(ErrorCode::kOutsidePart, "parts.bush.features.root.diameter");
}

TEST_F(Validate, PatternsMustLieOverEachOther) {
  for (PartUse& use : machine().uses) {
    if (use.part.text() == "foot") use.X_WP.translation().x() += 3;
  }
  const auto faults = ValidateMachine(machine(), ValidateDepth::kGeometry);
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(NameOf(faults[0].code), NameOf(ErrorCode::kPatternMismatch));
  EXPECT_NE(faults[0].message.find("3 mm"), std::string::npos) << faults[0].message;
}

TEST_F(Validate, SpigotMustReachIntoItsBore) {
  for (PartUse& use : machine().uses) {
    // Off the face too, so that the face contact says it as well.
    if (use.part.text() == "bush") use.X_WP.translation().x() += 20;
  }
  const auto faults = ValidateMachine(machine(), ValidateDepth::kGeometry);
  ASSERT_EQ(faults.size(), 2u);
  EXPECT_EQ(faults[0].path, "joints.bush_face.moving");
  EXPECT_EQ(faults[1].path, "joints.bush_spigot.moving");
}

TEST_F(Validate, RequirementNeedsALimit) {
  for (Requirement& r : machine().requirements) {
    if (r.name.text() == "R4") r.lower = r.upper = std::nullopt;
  }
  ExpectOne(ErrorCode::kMissingKey, "requirements.R4.limits");
}

TEST_F(Validate, ParallelAxesNeverMeet) {
  for (Requirement& r : machine().requirements) {
    if (r.name.text() == "R3") r.b = FeatureRef{PartId("block"), FeatureId("front_holes")};
  }
  ExpectOne(ErrorCode::kDoNotMeet, "requirements.R3.b");
}

TEST_F(Validate, QuantityIsAtLeastOne) {
  machine().uses[0].quantity = 0;
  ExpectOne(ErrorCode::kNotPositive, "uses.block.quantity");
}

// Bored where they stand, which no vise and no chuck on the mill can do.
TEST_F(Validate, SoftJawsAreAThreeJawsOnALathe) {
  for (const char* name : {"three_jaw", "four_jaw", "mill_chuck"}) {
    Shop shop = project_.shop;
    const auto device = std::find_if(shop.holding.begin(), shop.holding.end(), [&](const HoldingDevice& h) { return h.name.text() == name; });
    ASSERT_NE(device, shop.holding.end()) << name;
    device->soft_jaws = true;
    const auto faults = ValidateShop(shop);
    ASSERT_EQ(faults.size(), name == std::string("three_jaw") ? 0u : 1u) << name;
    if (!faults.empty()) EXPECT_EQ(NameOf(faults[0].code), NameOf(ErrorCode::kOutOfRange));
  }
}

TEST_F(Validate, ShopFigures) {
  Shop shop = project_.shop;
  shop.machines[0].speeds_rpm = {100, 90};
  shop.remedies[0].mends = 1.5;
  shop.spreads.at("chip_under_work").usual.spread = 120;
  shop.tools.push_back(shop.tools.front());
  const auto faults = ValidateShop(shop);
  ASSERT_EQ(faults.size(), 4u);
  EXPECT_EQ(NameOf(faults[0].code), NameOf(ErrorCode::kLimitsSwapped));
  EXPECT_EQ(NameOf(faults[1].code), NameOf(ErrorCode::kDuplicateName));
  EXPECT_EQ(NameOf(faults[2].code), NameOf(ErrorCode::kOutOfRange));
  EXPECT_EQ(faults[2].path, "shop.spread.chip_under_work.spread");
  EXPECT_EQ(NameOf(faults[3].code), NameOf(ErrorCode::kOutOfRange));
}

TEST_F(Validate, EveryKindOfPinIsHeldAgainstTheMachine) {
  const auto faulty = [&](PinKind kind, const std::string& subject, const std::string& value) {
    Choices choices;
    choices.pins.push_back(Pin{kind, subject, value, 0});
    return ValidateChoices(choices, machine(), project_.shop).size();
  };
  EXPECT_EQ(faulty(PinKind::kTechnique, "R5", "machine_together"), 0u);
  EXPECT_EQ(faulty(PinKind::kTechnique, "R55", "by_guess"), 2u);
  EXPECT_EQ(faulty(PinKind::kAim, "block.bore", "20.01"), 0u);
  EXPECT_EQ(faulty(PinKind::kAim, "block.bore", "big"), 1u);
  EXPECT_EQ(faulty(PinKind::kAim, "block", "20.01"), 1u);
  EXPECT_EQ(faulty(PinKind::kZero, "block.up", "edges"), 1u);
  EXPECT_EQ(faulty(PinKind::kZero, "block.-x", "corner"), 1u);
  EXPECT_EQ(faulty(PinKind::kFirstFace, "block.-x", "ceiling"), 1u);
  EXPECT_EQ(faulty(PinKind::kOrder, "bush", "bush"), 1u);
  EXPECT_EQ(faulty(PinKind::kOrder, "bush", "base"), 1u);
  EXPECT_EQ(faulty(PinKind::kMachine, "block", "not lathe"), 0u);
  EXPECT_EQ(faulty(PinKind::kMachine, "block.+z", "mill"), 0u);
  EXPECT_EQ(faulty(PinKind::kMachine, "block.bore", "planer"), 1u);
  EXPECT_EQ(faulty(PinKind::kMachine, "block.nothing", "mill"), 1u);
  EXPECT_EQ(faulty(PinKind::kHolding, "block", "four_jaw"), 0u);
  EXPECT_EQ(faulty(PinKind::kHolding, "block.-x", "not vise_jaw_first"), 0u);
  EXPECT_EQ(faulty(PinKind::kHolding, "block", "teeth"), 1u);
  EXPECT_EQ(faulty(PinKind::kTool, "block", "not drill_5"), 0u);
  EXPECT_EQ(faulty(PinKind::kTool, "block.bore", "drill_5"), 0u);
  EXPECT_EQ(faulty(PinKind::kTool, "block", "drill_5"), 1u);
  EXPECT_EQ(faulty(PinKind::kTool, "block.+z", "not drill_5"), 1u);
  EXPECT_EQ(faulty(PinKind::kSetup, "block.bore", "-z"), 0u);
  EXPECT_EQ(faulty(PinKind::kSetup, "block.bore", "bore"), 1u);
  EXPECT_EQ(faulty(PinKind::kSetup, "block", "+z"), 1u);
  EXPECT_EQ(faulty(PinKind::kMade, "bush", "already"), 0u);
  EXPECT_EQ(faulty(PinKind::kMade, "bush.hole", "already"), 0u);
  EXPECT_EQ(faulty(PinKind::kMade, "bush", "soon"), 1u);
}

}  // namespace
}  // namespace fitwright::files_test
