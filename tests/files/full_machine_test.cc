// Bought parts, copies, every joint and requirement: what they read as, and each fault of theirs.
#include "tests/files/full_machine.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "fitwright/files/project.h"

namespace fitwright::files_test {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

// Drawn numbers come through sums of a few doubles.
constexpr double kSame = 1e-9;

files::Project LoadFull() {
  const ProjectFolder folder(FullProject());
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  return project ? *project : files::Project{};
}

const Joint& JointOf(const files::Project& project, const std::string& name) {
  for (const Joint& j : project.machine.joints) {
    if (j.name.text() == name) return j;
  }
  throw std::logic_error(name);
}

const Requirement& RequirementOf(const files::Project& project, const std::string& name) {
  for (const Requirement& r : project.machine.requirements) {
    if (r.name.text() == name) return r;
  }
  throw std::logic_error(name);
}

TEST(FullMachine, CopiesStandWhereTheirPlacesSay) {
  const Machine machine = LoadFull().machine;
  const PartUse* ring = machine.FindUse(PartId("ring#3"));
  ASSERT_NE(ring, nullptr);
  EXPECT_EQ(ring->quantity, 4);
  EXPECT_EQ(ring->copies_X_WP.size(), 2u);
  ASSERT_TRUE(machine.FindPlace(PartId("ring#2")).has_value());
  EXPECT_NEAR(machine.FindPlace(PartId("ring#2"))->translation().x(), -6, kSame);
  EXPECT_NEAR(machine.FindPlace(PartId("ring"))->translation().x(), 0, kSame);
  EXPECT_EQ(machine.FindUse(PartId("ring#4")), nullptr);  // a spare: it stands nowhere
  EXPECT_EQ(machine.FindPart(PartId("ring#2")), machine.FindPart(PartId("ring")));
  EXPECT_EQ(CopyNumberOf(PartId("ring")), 1u);
  EXPECT_EQ(CopyNumberOf(PartId("ring#02")), 0u);
  EXPECT_EQ(CopyNumberOf(PartId("ring#1")), 0u);
}

TEST(FullMachine, BearingTakesItsLimitsFromTheTable) {
  const files::Project project = LoadFull();
  const BoughtPart* bearing = project.machine.FindBought(PartId("front_bearing"));
  ASSERT_NE(bearing, nullptr);
  EXPECT_TRUE(bearing->placed);
  const auto& outside = std::get<OuterDiameter>(bearing->part.Find(FeatureId("outside"))->shape);
  EXPECT_NEAR(outside.diameter.lower_mm, 18.991, kSame);  // ISO 492 Normal, over 18 to 30
  EXPECT_NEAR(outside.diameter.upper_mm, 19, kSame);
  const auto& bore = std::get<Hole>(bearing->part.Find(FeatureId("bore"))->shape);
  EXPECT_NEAR(bore.diameter.lower_mm, 9.992, kSame);
  const auto& high = std::get<PlanarFace>(bearing->part.Find(FeatureId("high_end"))->shape);
  EXPECT_NEAR(high.at.lower_mm, 4.88, kSame);
  EXPECT_NEAR(bearing->axial_play_mm, 0.08, kSame);
  EXPECT_NEAR(bearing->radial_play_mm, 0.013, kSame);  // ISO 5753-1 group N, to 10
  EXPECT_THAT(project.assumed, Contains(HasSubstr("front_bearing: radial_play")));
}

TEST(FullMachine, BoughtPartsStandOrAreLinesOfTheList) {
  const files::Project project = LoadFull();
  const Machine& machine = project.machine;
  EXPECT_EQ(machine.bought.size(), 5u);
  EXPECT_EQ(machine.bought_uses.size(), 3u);
  EXPECT_EQ(machine.FindUse(PartId("oil")), nullptr);
  EXPECT_EQ(machine.FindBought(PartId("oil"))->quantity, 2);
  EXPECT_EQ(machine.FindBought(PartId("clip"))->quantity, 2);
  ASSERT_TRUE(machine.FindPlace(PartId("clip#2")).has_value());
  const BoughtPart* belt = machine.FindBought(PartId("drive"));
  EXPECT_NEAR(belt->pitch_length_mm, 390, kSame);
  EXPECT_EQ(belt->stretch, "7 in 100");
  EXPECT_EQ(machine.FindBought(PartId("shaft"))->part.Find(FeatureId("bore")), nullptr);
  EXPECT_THAT(project.assumed, Contains(HasSubstr("clip: bought, without the maker's limits")));
}

TEST(FullMachine, JointsCarryWhatTheirKindTakes) {
  const files::Project project = LoadFull();
  const Joint& bonded = JointOf(project, "ring_1");
  EXPECT_EQ(bonded.compound, "retaining compound");
  EXPECT_NEAR(bonded.cure_min, 20, kSame);
  EXPECT_FALSE(bonded.comes_apart);
  EXPECT_EQ(JointOf(project, "ring_2").moving.part.text(), "ring#2");
  EXPECT_EQ(JointOf(project, "drive_belt").belt.text(), "drive");
  EXPECT_EQ(JointOf(project, "packed").kind, JointKind::kGasketedFace);
}

TEST(FullMachine, RequirementsCarryTheirOwnLimits) {
  const files::Project project = LoadFull();
  EXPECT_NEAR(*RequirementOf(project, "level").upper, 0.02 / 50, kSame);
  EXPECT_NEAR(RequirementOf(project, "corner").nominal_rad, kPi / 2, kSame);
  EXPECT_TRUE(RequirementOf(project, "one_line").extended);
  EXPECT_NEAR(*RequirementOf(project, "stands_out").lower, -0.05, kSame);
  ASSERT_EQ(RequirementOf(project, "float").gaps.size(), 2u);
  EXPECT_EQ(RequirementOf(project, "float").gaps[0].second.text(), "ring#2.high_end");
  EXPECT_NEAR(*RequirementOf(project, "wall").lower, 0.5, kSame);
  EXPECT_FALSE(RequirementOf(project, "wall").upper.has_value());
  EXPECT_EQ(RequirementOf(project, "mesh").joint->text(), "foot_screws");
  const auto& formula = RequirementOf(project, "swept").formula;
  ASSERT_TRUE(formula.has_value());
  ASSERT_EQ(formula->names.size(), 2u);
  EXPECT_FALSE(formula->names[0].b.has_value());
  EXPECT_EQ(formula->names[1].b->text(), "block.bore");
  EXPECT_EQ(formula->unit, "cm3");
}

// Every round joint whose two sizes carry limits gets its fit as a requirement.
TEST(FullMachine, RoundJointsGetTheirFits) {
  const files::Project project = LoadFull();
  const Requirement& bond = RequirementOf(project, "ring_1_clearance");
  EXPECT_TRUE(bond.derived);
  EXPECT_NEAR(*bond.lower, 0.02, kSame);   // 10.02 - 10
  EXPECT_NEAR(*bond.upper, 0.049, kSame);  // 10.04 - 9.991 (h6)
  EXPECT_NEAR(*RequirementOf(project, "shaft_in_bearing_clearance").lower, -0.008, kSame);
  EXPECT_EQ(RequirementOf(project, "ring_2_clearance").b.text(), "ring#2.bore");
}

struct Fault {
  const char* name;
  const char* from;
  const char* to;
  ErrorCode code;
  const char* key;
  const char* remedy;
};

const Fault kFaults[] = {
    {"more_places_than_pieces", "quantity = 4\nplaces", "quantity = 2\nplaces",
     ErrorCode::kTooManyPlaces, "part[5].places", "write quantity = 3"},
    {"places_and_at", "quantity = 4\nplaces", "quantity = 4\nat = [0, 0, 0]\nplaces",
     ErrorCode::kConflictingKeys, "part[5].places", "keep one of: at, places"},
    {"a_copy_too_far", "\"ring#3.groove\"\nbelt", "\"ring#4.groove\"\nbelt",
     ErrorCode::kUnknownCopy, "joint[15].moving", "\"ring#2.groove\" to \"ring#3.groove\""},
    {"no_such_bearing", "size = [10, 19, 5]", "size = [10, 19, 6]", ErrorCode::kUnknownBearing,
     "bought[1].size", "[10, 19, 5]"},
    {"size_twice", "size = [10, 19, 5]", "size = [10, 19, 5]\nbore = 10",
     ErrorCode::kConflictingKeys, "bought[1].bore", "keep one of: size, bore"},
    {"no_outside", "outside = 19\n", "", ErrorCode::kMissingKey, "bought[3].outside",
     "write the size"},
    {"bore_over_the_outside", "bore = 17", "bore = 19.2", ErrorCode::kBoreTooLarge,
     "bought[3].bore", "larger of the two"},
    {"nothing_said_of_it", "what = \"circlip 18\"\n", "", ErrorCode::kMissingKey, "bought[3].what",
     "say what to buy"},
    {"belt_with_a_bore", "section = 5", "section = 5\nbore = 3", ErrorCode::kUnknownKey,
     "bought[4].bore", "take it out"},
    {"name_of_a_part", "name = \"clip\"", "name = \"bush\"", ErrorCode::kDuplicateName,
     "bought[3].name", "choose another"},
    {"not_placed", "fixed = \"front_bearing.bore\"", "fixed = \"drive.bore\"",
     ErrorCode::kUnknownPart, "joint[7].fixed", "give it at"},
    {"no_such_belt", "belt = \"drive\"", "belt = \"oil\"", ErrorCode::kUnknownBelt,
     "joint[15].belt", "drive"},
    {"belt_out_of_plane", "at = [28, 60, 20]", "at = [24, 60, 20]", ErrorCode::kNotInOnePlane,
     "joint[15].moving", "one plane"},
    {"belt_askew", "at = [28, 60, 20], turn = [0, 90, 0]", "at = [28, 60, 20], turn = [0, 80, 0]",
     ErrorCode::kNotParallel, "joint[15].moving", "parallel shafts"},
    {"pin_misses", "fixed = \"ring.pin_hole\"", "fixed = \"ring.bore\"", ErrorCode::kNotInLine,
     "joint[13].moving", "on one line"},
    {"ring_beside_its_groove", "at = [1.05, 0, 20]", "at = [3.2, 0, 20]", ErrorCode::kDoNotMeet,
     "joint[12].moving", "mend at"},
    {"no_compound", "compound = \"retaining compound\"\n", "", ErrorCode::kMissingKey,
     "joint[9].compound", "say what holds it"},
    {"compound_elsewhere", "belt = \"drive\"", "belt = \"drive\"\ncompound = \"x\"",
     ErrorCode::kUnknownKey, "joint[15].compound", "take it out"},
    {"level_with_the_side", "b = \"block.bottom\"\nwithin = 0.02\nover = 50",
     "b = \"block.front\"\nwithin = 0.02\nover = 50", ErrorCode::kNotParallel, "requirement[7].b",
     "kind = \"angle\""},
    {"angle_not_as_drawn", "angle = 90", "angle = 88", ErrorCode::kWrongAngle,
     "requirement[8].angle", "as drawn"},
    {"not_about_one_axis", "a = \"bush.hole\"\nb = \"block.bore\"",
     "a = \"ring#3.bore\"\nb = \"block.bore\"", ErrorCode::kNotInLine, "requirement[9].b",
     "about one axis"},
    {"gap_of_one_side", "[[\"ring.low_end\", \"ring#2.high_end\"]",
     "[[\"ring.low_end\", \"ring#2.low_end\"]", ErrorCode::kDoNotMeet, "requirement[12].gaps",
     "either side of the gap"},
    {"three_faces_of_a_gap", "[[\"ring.low_end\", \"ring#2.high_end\"]",
     "[[\"ring.low_end\", \"ring#2.high_end\", \"ring#2.low_end\"]", ErrorCode::kWrongCount,
     "requirement[12].gaps[1]", "write 2 of them"},
    {"mesh_of_no_screws", "joint = \"foot_screws\"\nleast", "joint = \"foot_face\"\nleast",
     ErrorCode::kWrongFeatureKind, "requirement[14].joint", "screwed_pattern"},
    {"least_not_stated", "least = 0.5\n", "", ErrorCode::kMissingKey, "requirement[13].least",
     "write least"},
    {"one_name_three_features", "high = [\"block.deck\", \"block.bore\"]",
     "high = [\"block.deck\"]", ErrorCode::kWrongCount, "requirement[15].names.high",
     "write two features"},
    {"a_face_has_no_size", "bore = \"block.bore\",", "bore = \"block.deck\",",
     ErrorCode::kWrongFeatureKind, "requirement[15].names", "a feature with a size"},
    {"half_a_formula", "value = \"pi / 4 * bore ^ 2 * high / 1000\"",
     "value = \"pi / 4 * bore ^ 2 * high /\"", ErrorCode::kBadExpression, "requirement[15].value",
     ""},
    {"a_name_nobody_gave", "value = \"pi / 4 * bore ^ 2 * high / 1000\"",
     "value = \"pi / 4 * bore ^ 2 * high * tall / 1000\"", ErrorCode::kUnknownName,
     "requirement[15].value", "add tall to names"},
    {"a_name_nobody_takes", "value = \"pi / 4 * bore ^ 2 * high / 1000\"",
     "value = \"pi / 4 * bore ^ 2 / 1000\"", ErrorCode::kUnusedName, "requirement[15].names",
     "take it out"},
    {"limits_of_a_number", "limits = [6, 6.5]", "limits = [6.5, 6]", ErrorCode::kLimitsSwapped,
     "requirement[15].limits", "least first"},
};

class FullFaults : public ::testing::TestWithParam<Fault> {};

TEST_P(FullFaults, IsFoundPlacedAndSaid) {
  const Fault& c = GetParam();
  Texts texts = FullProject();
  texts["machine.toml"] = Edited(texts["machine.toml"], c.from, c.to);
  const ProjectFolder folder(texts);
  Diagnostics faults;
  ASSERT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value());
  const Error& fault = faults.errors().front();
  SCOPED_TRACE(Format(fault));
  EXPECT_EQ(NameOf(fault.code), NameOf(c.code));
  EXPECT_EQ(fault.where.key, c.key);
  EXPECT_GT(fault.where.line, 0);
  EXPECT_THAT(fault.remedy, HasSubstr(c.remedy));
  EXPECT_EQ(ExitStatusOf(fault.code), 2);
}

INSTANTIATE_TEST_SUITE_P(Table, FullFaults, ::testing::ValuesIn(kFaults),
                         [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace
}  // namespace fitwright::files_test
