// What a sound project reads as.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/files/project.h"
#include "fitwright/model/validate.h"
#include "tests/files/describe.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

// Drawn numbers come through sums of a few doubles.
constexpr double kSame_mm = 1e-9;

files::Project Load(const Texts& texts, const files::LoadOptions& options = {}) {
  const ProjectFolder folder(texts);
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), options, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault);
  return project ? *project : files::Project{};
}

template <typename Shape>
const Shape& Get(const files::Project& project, const std::string& part, const std::string& name) {
  const Feature* feature = project.machine.Find({PartId(part), FeatureId(name)});
  EXPECT_NE(feature, nullptr) << part << "." << name;
  static const Shape kNone{};
  if (feature == nullptr) return kNone;
  EXPECT_TRUE(std::holds_alternative<Shape>(feature->shape)) << part << "." << name;
  return std::get<Shape>(feature->shape);
}

const Requirement& Required(const files::Project& project, const std::string& name) {
  static const Requirement kNone{};
  for (const Requirement& r : project.machine.requirements) {
    if (r.name.text() == name) return r;
  }
  ADD_FAILURE() << "no requirement " << name;
  return kNone;
}

void ExpectNear(const Vec3& got, const Vec3& want) {
  EXPECT_LT((got - want).norm(), kSame_mm) << got.transpose() << " for " << want.transpose();
}

TEST(Loading, BlockFacesComeFirstAndCarryTheSheetsNames) {
  const auto project = Load(SampleProject());
  const Part& block = *project.machine.FindPart(PartId("block"));
  std::vector<std::string> names;
  for (std::size_t i = 0; i < 6; ++i) names.push_back(block.features[i].name.text());
  EXPECT_EQ(names, (std::vector<std::string>{"deck", "bottom", "front", "rear", "left", "right"}));
  EXPECT_EQ(block.features[6].name.text(), "bore");  // then the sheet's order
  EXPECT_EQ(block.features[7].name.text(), "well");
  const auto& rear = Get<PlanarFace>(project, "block", "rear");
  ExpectNear(rear.normal_P, {-1, 0, 0});
  EXPECT_NEAR(rear.at.nominal_mm, 30, kSame_mm);  // normal . p, not x
  // ISO 2768-1 m gives 60 mm +-0.3, which the two faces share.
  EXPECT_NEAR(rear.at.lower_mm, 29.85, kSame_mm);
  EXPECT_NEAR(Get<PlanarFace>(project, "block", "deck").at.upper_mm, 40.02, kSame_mm);
}

TEST(Loading, FitsAndLimits) {
  const auto project = Load(SampleProject());
  // ISO 286-2: 20 H7 is 0/+0.021, 20 g6 is -0.020/-0.007.
  const auto& bore = Get<Hole>(project, "block", "bore");
  EXPECT_NEAR(bore.diameter.upper_mm, 20.021, kSame_mm);
  EXPECT_EQ(bore.diameter.fit, "H7");
  const auto& spigot = Get<OuterDiameter>(project, "bush", "spigot");
  EXPECT_NEAR(spigot.diameter.lower_mm, 19.980, kSame_mm);
  EXPECT_NEAR(spigot.diameter.upper_mm, 19.993, kSame_mm);
  EXPECT_TRUE(spigot.spigot);
  const auto& well = Get<Hole>(project, "block", "well");
  EXPECT_EQ(well.diameter.origin, LimitsOrigin::kLimits);
  EXPECT_NEAR(well.diameter.lower_mm, 11.98, kSame_mm);
  const auto& window = Get<Slot>(project, "block", "window");
  EXPECT_NEAR(window.width.upper_mm, 6.1, kSame_mm);
  EXPECT_NEAR(window.width.lower_mm, 6.0, kSame_mm);
  // ISO 2768-1 c: over 3 to 6 mm +-0.3.
  EXPECT_NEAR(Get<Hole>(project, "foot", "screw_holes").diameter.lower_mm, 4.2, kSame_mm);
}

TEST(Loading, HolesOnACircleStandWhereTheSheetCountsThem) {
  const auto project = Load(SampleProject());
  // At 30 degrees from +z towards +y on a 30 circle about y 0, z 20: y 7.5, z 20 + 15 cos 30.
  const auto& front = Get<Hole>(project, "block", "front_holes");
  ASSERT_EQ(front.entries_P_mm.size(), 6u);
  ExpectNear(front.entries_P_mm[0], {30, 7.5, 20 + 15 * std::sqrt(3.0) / 2});
  // From outside (+x towards the eye) +z towards +y is against the right hand.
  ASSERT_TRUE(front.circle.has_value());
  EXPECT_NEAR(front.circle->first_deg, 330, kSame_mm);
  ExpectNear(front.circle->axis_P.point_mm, {30, 0, 20});
  ExpectNear(front.circle->axis_P.direction, {1, 0, 0});
  // The model's own rule gives the same places.
  const Vec3 side = front.circle->axis_P.direction.cross(front.circle->zero_P);
  for (int i = 0; i < 6; ++i) {
    const double angle = (front.circle->first_deg + 60 * i) * kRadPerDeg;
    ExpectNear(front.entries_P_mm[static_cast<std::size_t>(i)],
               front.circle->axis_P.point_mm +
                   15 * (std::cos(angle) * front.circle->zero_P + std::sin(angle) * side));
  }
  EXPECT_EQ(front.thread->designation, "M3");
  EXPECT_NEAR(front.diameter.nominal_mm, 2.5, kSame_mm);  // ISO 2306 tap drill
  EXPECT_NEAR(front.thread->depth_mm, 7, kSame_mm);
}

TEST(Loading, DepthsFollowFromThePart) {
  const auto project = Load(SampleProject());
  const auto& bore = Get<Hole>(project, "block", "bore");
  EXPECT_NEAR(bore.depth_mm, 60, kSame_mm);
  EXPECT_TRUE(bore.through);
  const auto& well = Get<Hole>(project, "block", "well");
  // From 40 down to where all of its edge has met the bore, whose axis lies at 20.
  const double bore_r = bore.diameter.middle_mm() / 2;
  const double well_r = well.diameter.middle_mm() / 2;
  EXPECT_NEAR(well.depth_mm, 20 - std::sqrt(bore_r * bore_r - well_r * well_r), kSame_mm);
  EXPECT_TRUE(well.through);
  // The upright behind the step is 8 thick: its hole does not go on to the block's far side.
  const auto& foot = Get<Hole>(project, "foot", "screw_holes");
  ExpectNear(foot.entries_P_mm[0], {-12, 33, 12});
  EXPECT_NEAR(foot.depth_mm, 8, kSame_mm);
  // On turned work: through the flange only, entered from its outer face.
  const auto& flange = Get<Hole>(project, "bush", "screw_holes");
  EXPECT_NEAR(flange.depth_mm, 6, kSame_mm);
  EXPECT_NEAR(flange.entries_P_mm[0].z(), 6, kSame_mm);
  const auto& hole = Get<Hole>(project, "bush", "hole");
  EXPECT_NEAR(hole.depth_mm, 21, kSame_mm);
  ExpectNear(hole.entries_P_mm[0], {0, 0, -15});
  // Full thread where it is not stated: the drilled 10 less a plug tap's two pitches of 0.7.
  EXPECT_NEAR(Get<Hole>(project, "block", "side_holes").thread->depth_mm, 8.6, kSame_mm);
}

TEST(Loading, MirrorPartKeepsNamesAndIsItsMirrorImage) {
  const auto project = Load(SampleProject());
  const Part& left = *project.machine.FindPart(PartId("foot"));
  const Part& right = *project.machine.FindPart(PartId("foot_right"));
  EXPECT_EQ(right.mirror_of, PartId("foot"));
  EXPECT_EQ(right.material, left.material);
  ExpectNear(right.block_P.min_mm, {-20, -45, 0});
  ExpectNear(right.block_P.max_mm, {20, -25, 24});
  // "mount" was given by the sheet; the far face is named for the side it looks to.
  ExpectNear(Get<PlanarFace>(project, "foot_right", "mount").normal_P, {0, 1, 0});
  ExpectNear(Get<PlanarFace>(project, "foot_right", "right").normal_P, {0, -1, 0});
  EXPECT_EQ(right.Find(FeatureId("left")), nullptr);
  EXPECT_EQ(Get<EdgeChamfer>(project, "foot_right", "edge").face_b, FeatureId("right"));
  ExpectNear(Get<Hole>(project, "foot_right", "screw_holes").entries_P_mm[1], {12, -33, 12});
  ExpectNear(Get<StepCut>(project, "foot_right", "inside").removed_P.min_mm, {-20, -45, 8});
  ExpectNear(right.stock.box_P.min_mm, {left.stock.box_P.min_mm.x(), -left.stock.box_P.max_mm.y(),
                                        left.stock.box_P.min_mm.z()});
}

TEST(Loading, MirroredCircleStillObeysTheRightHand) {
  Texts texts = SampleProject();
  texts["parts/bush_right.toml"] =
      "format = \"fitwright-part/1\"\nmirror_of = \"bush\"\nmirror = \"x\"\n";
  texts["machine.toml"] += "\n[[part]]\nsheet = \"bush_right\"\nat = [200, 0, 0]\n";
  const auto project = Load(texts);
  const auto& own = Get<Hole>(project, "bush", "screw_holes");
  const auto& hole = Get<Hole>(project, "bush_right", "screw_holes");
  ASSERT_TRUE(hole.circle.has_value());
  ASSERT_EQ(hole.entries_P_mm.size(), own.entries_P_mm.size());
  const Vec3 side = hole.circle->axis_P.direction.cross(hole.circle->zero_P);
  for (std::size_t i = 0; i < hole.entries_P_mm.size(); ++i) {
    const double angle = (hole.circle->first_deg + 60.0 * static_cast<double>(i)) * kRadPerDeg;
    ExpectNear(hole.entries_P_mm[i],
               hole.circle->axis_P.point_mm +
                   15 * (std::cos(angle) * hole.circle->zero_P + std::sin(angle) * side));
  }
  ExpectNear(hole.entries_P_mm[0],
             {-own.entries_P_mm[0].x(), own.entries_P_mm[0].y(), own.entries_P_mm[0].z()});
}

TEST(Loading, DerivedRequirements) {
  const auto project = Load(SampleProject());
  // 20 H7/g6: 0.007 to 0.041 (ISO 286-2: 20.000 - 19.993, 20.021 - 19.980).
  const auto& fit = Required(project, "bush_spigot_clearance");
  EXPECT_TRUE(fit.derived);
  EXPECT_EQ(fit.kind, RequirementKind::kClearance);
  EXPECT_EQ(fit.a.text(), "bush.spigot");
  EXPECT_EQ(fit.b.text(), "block.bore");
  EXPECT_NEAR(*fit.lower, 0.007, kSame_mm);
  EXPECT_NEAR(*fit.upper, 0.041, kSame_mm);
  EXPECT_EQ(Required(project, "foot_screws_enter").joint, JointId("foot_screws"));
  // R6 says it for the bush already.
  for (const Requirement& r : project.machine.requirements) {
    EXPECT_NE(r.name.text(), "bush_screws_enter");
  }
  EXPECT_NEAR(*Required(project, "R1").upper, 0.02 / 40, 1e-15);
  EXPECT_NEAR(*Required(project, "R2").upper, 0.0007, 1e-15);
}

TEST(Loading, PressFitGivesInterference) {
  Texts texts = SampleProject();
  texts["machine.toml"] =
      Edited(texts["machine.toml"], "kind = \"spigot_in_bore\"", "kind = \"press_fit\"");
  texts["parts/bush.toml"] = Edited(texts["parts/bush.toml"], "fit = \"g6\"", "fit = \"p6\"");
  const auto project = Load(texts);
  // 20 H7/p6: p6 is +0.022/+0.035 (ISO 286-2), so 0.001 to 0.035 tight.
  const auto& fit = Required(project, "bush_spigot_interference");
  EXPECT_NEAR(*fit.lower, 0.001, kSame_mm);
  EXPECT_NEAR(*fit.upper, 0.035, kSame_mm);
}

TEST(Loading, PlacesAreTurnedAboutXThenYThenZ) {
  Texts texts = SampleProject();
  texts["machine.toml"] +=
      "\n[[part]]\nsheet = \"spare\"\nat = [100, 200, 300]\nturn = [90, 0, 90]\n";
  texts["parts/spare.toml"] =
      "format = \"fitwright-part/1\"\nmaterial = \"brass\"\nunit = \"mm\"\ngeneral_tolerance = "
      "\"m\"\n"
      "[envelope]\nblock = { x = [0, 10], y = [0, 10], z = [0, 10] }\n";
  const auto project = Load(texts);
  const Pose& X_WP = project.machine.FindUse(PartId("spare"))->X_WP;
  // About x: y -> z. Then about z: x -> y. So x -> y, y -> z, z -> x.
  ExpectNear(X_WP * Vec3(1, 2, 3), {103, 201, 302});
}

TEST(Loading, StockIsProposedFromSizesSold) {
  const auto project = Load(SampleProject());
  const Stock& bush = project.machine.FindPart(PartId("bush"))->stock;
  EXPECT_TRUE(bush.proposed);
  EXPECT_EQ(bush.form, StockForm::kRound);
  EXPECT_GE(bush.diameter_mm, 38 + 2);
  EXPECT_LT(bush.from_mm, -15);
  // The bore is entered from the spigot's end, so the chuck holds the flange's.
  EXPECT_GT(bush.to_mm - 6, -15 - bush.from_mm);
  const Stock& foot = project.machine.FindPart(PartId("foot"))->stock;
  EXPECT_TRUE(foot.proposed);
  EXPECT_GE((foot.box_P.size_mm() - Vec3(40, 20, 24)).minCoeff(), 2.0);
  EXPECT_THAT(project.assumed, Contains(HasSubstr("bush: stock not stated")));
  EXPECT_FALSE(project.machine.FindPart(PartId("block"))->stock.proposed);
}

TEST(Loading, InchSheetsAndStringsGiveTheSameMachine) {
  Texts texts = SampleProject();
  std::string foot = texts["parts/foot.toml"];
  foot = Edited(foot, "unit = \"mm\"", "unit = \"inch\"");
  foot = Edited(foot, "x = [-20, 20], y = [25, 45], z = [0, 24] }",
                "x = [\"-20 mm\", \"20 mm\"], y = [\"25 mm\", \"45 mm\"], z = [0, \"24 mm\"] }");
  foot = Edited(
      foot, "{ x = [-20, 20], y = [33, 45], z = [8, 24] }",
      "{ x = [\"-20 mm\", \"20 mm\"], y = [\"33 mm\", \"45 mm\"], z = [\"8 mm\", \"24 mm\"] }");
  foot = Edited(foot, "at = 8", "at = \"8 mm\"");
  foot = Edited(foot, "[[-12, 12], [12, 12]]", "[[\"-12 mm\", \"12 mm\"], [\"12 mm\", \"12 mm\"]]");
  foot = Edited(foot, "diameter = 4.5", "diameter = \"4.5 mm\"");
  foot = Edited(foot, "legs = [3, 6]", "legs = [\"3 mm\", \"6 mm\"]");
  texts["parts/foot.toml"] = foot;
  const auto inch = Load(texts);
  const auto mm = Load(SampleProject());
  const Part& a = *inch.machine.FindPart(PartId("foot"));
  EXPECT_EQ(a.sheet_unit, LengthUnit::kInch);
  EXPECT_NEAR(a.block_P.max_mm.y(), 45, kSame_mm);
  EXPECT_NEAR(Get<Hole>(inch, "foot", "screw_holes").depth_mm, 8, kSame_mm);
  EXPECT_EQ(DescribeShop(inch.shop), DescribeShop(mm.shop));

  texts["parts/foot.toml"] = Edited(foot, "diameter = \"4.5 mm\"", "diameter = \"3/16 in\"");
  EXPECT_NEAR(Get<Hole>(Load(texts), "foot", "screw_holes").diameter.nominal_mm, 4.7625, kSame_mm);
}

TEST(Loading, ShopFileChangesTheDefaultShop) {
  const auto project = Load(SampleProject());
  const Shop& shop = project.shop;
  EXPECT_FALSE(shop.is_default);
  EXPECT_EQ(shop.name, "back shed");
  EXPECT_EQ(shop.level, ShopLevel::kCareful);
  const MachineTool* mill = shop.Find(MachineToolId("mill"));
  ASSERT_NE(mill, nullptr);
  EXPECT_EQ(mill->x_sense, -1);
  EXPECT_EQ(mill->travel_mm.x(), 450);
  EXPECT_GT(mill->daylight_mm, 0);  // kept from the default shop
  EXPECT_EQ(shop.Find(HoldingDeviceId("rotary_table")), nullptr);
  EXPECT_NE(shop.Find(HoldingDeviceId("small_vise")), nullptr);
  EXPECT_NE(shop.Find(ToolId("end_mill_7")), nullptr);
  const Spread& finder = shop.spreads.at("edge_finder");
  EXPECT_EQ(finder.origin, SpreadOrigin::kMeasured);
  EXPECT_EQ(FigureOf(shop, finder).spread, 0.006);  // one's own figure does not follow the level
  EXPECT_EQ(shop.times.tool_change, 2);
  EXPECT_EQ(shop.times.find_edge, 1.5);

  files::LoadOptions options;
  options.shop_level = ShopLevel::kWorn;
  const auto worn = Load(SampleProject(), options);
  EXPECT_EQ(worn.shop.level, ShopLevel::kWorn);
  EXPECT_NE(worn.inputs_hash, project.inputs_hash);
}

TEST(Loading, WithoutShopOrChoicesTheDefaultsAreNamed) {
  Texts texts = SampleProject();
  texts.erase("shop.toml");
  texts.erase("choices.toml");
  const auto project = Load(texts);
  EXPECT_TRUE(project.shop.is_default);
  EXPECT_TRUE(project.choices.pins.empty());
  EXPECT_EQ(DescribeShop(project.shop), DescribeShop(files::DefaultShop()));
  EXPECT_THAT(project.assumed, Contains(HasSubstr("default shop")));
}

TEST(Loading, EveryDefaultIsSaid) {
  Texts texts = SampleProject();
  texts["machine.toml"] = Edited(texts["machine.toml"], "units = \"mm\"\n", "");
  texts["machine.toml"] = Edited(texts["machine.toml"], "float = \"chance\"\n", "");
  std::string block = texts["parts/block.toml"];
  block = Edited(block, "unit = \"mm\"\n", "");
  block = Edited(block, "general_tolerance = \"m\"\n", "");
  block = Edited(block, "bottom = \"118\"\n", "");
  texts["parts/block.toml"] = block;
  const auto project = Load(texts);
  for (const char* said :
       {"no units are stated", "what play they leave falls by chance: bush_screws, foot_screws",
        "parts/block.toml: no unit is stated", "ISO 2768-1 class m", "drill point of 118 degrees",
        "the tap drill's: front_holes 2.5 for M3", "depth of full thread not stated",
        "stock not stated", "spreads are the careful shop's figures", "bush_spigot_clearance"}) {
    EXPECT_THAT(project.assumed, Contains(HasSubstr(said)));
  }
}

TEST(Loading, AFigureFarFromAnyShopsIsReadAndSaid) {
  Texts texts = SampleProject();
  texts["shop.toml"] = Edited(texts["shop.toml"], "spread = 0.006", "spread = 0.6");
  EXPECT_THAT(Load(texts).warnings, Contains(HasSubstr("edge_finder is 0.6 mm, over five times")));
  texts["shop.toml"] = Edited(texts["shop.toml"], "spread = 0.6", "spread = 0.0004");
  EXPECT_THAT(Load(texts).warnings, Contains(HasSubstr("under a fifth of what a careful shop")));
  texts["shop.toml"] = Edited(texts["shop.toml"], "spread = 0.0004", "spread = 0");
  EXPECT_THAT(Load(texts).warnings, Not(Contains(HasSubstr("edge_finder"))));
  texts["shop.toml"] = Edited(texts["shop.toml"], "spread = 0", "spread = 0.006\nmean = 0.5");
  EXPECT_THAT(Load(texts).warnings, Contains(HasSubstr("the mean of edge_finder is 0.5 mm, over")));
}

TEST(Loading, LikelySlipsOfUnitAreWarnings) {
  Texts texts = SampleProject();
  texts["machine.toml"] += "\n[[part]]\nsheet = \"plate\"\n";
  texts["parts/plate.toml"] =
      "format = \"fitwright-part/1\"\nmaterial = \"brass\"\nunit = \"inch\"\ngeneral_tolerance = "
      "\"m\"\n"
      "[envelope]\nblock = { x = [0, 60], y = [0, 40], z = [0, 20] }\n";
  texts["parts/orphan.toml"] = "not read";
  const auto project = Load(texts);
  EXPECT_THAT(project.warnings, Contains(HasSubstr("write unit = \"mm\"")));
  EXPECT_THAT(project.warnings, Contains(HasSubstr("parts/orphan.toml")));
}

TEST(Loading, HashFollowsTheBytesThatAreRead) {
  Texts texts = SampleProject();
  const std::string first = Load(texts).inputs_hash;
  EXPECT_EQ(first.size(), 16u);
  EXPECT_EQ(Load(texts).inputs_hash, first);
  texts["parts/orphan.toml"] = "";  // not one of the inputs
  EXPECT_EQ(Load(texts).inputs_hash, first);
  for (const auto& [file, text] : SampleProject()) {
    Texts other = SampleProject();
    other[file] += "# a remark\n";
    EXPECT_NE(Load(other).inputs_hash, first) << file;
  }
}

TEST(Loading, OrderOfFeaturesDoesNotMatter) {
  const Texts texts = SampleProject();
  const std::string& block = texts.at("parts/block.toml");
  const std::size_t start = block.find("[[feature]]");
  std::vector<std::string> tables;
  for (std::size_t at = start; at != std::string::npos;) {
    const std::size_t next = block.find("[[feature]]", at + 1);
    tables.push_back(block.substr(at, next == std::string::npos ? next : next - at) + "\n");
    at = next;
  }
  const auto plain = Load(texts);
  const Part& want = *plain.machine.FindPart(PartId("block"));
  for (std::size_t turn = 1; turn < tables.size(); ++turn) {
    std::rotate(tables.begin(), tables.begin() + 1, tables.end());
    if (turn % 2 == 0) std::swap(tables[0], tables[turn]);
    Texts other = texts;
    other["parts/block.toml"] = block.substr(0, start);
    for (const std::string& table : tables) other["parts/block.toml"] += table;
    const auto project = Load(other);
    const Part& got = *project.machine.FindPart(PartId("block"));
    ASSERT_EQ(got.features.size(), want.features.size());
    for (const Feature& feature : want.features) {
      const Feature* found = got.Find(feature.name);
      ASSERT_NE(found, nullptr) << feature.name.text();
      Writer a;
      Writer b;
      std::visit(a, feature.shape);
      std::visit(b, found->shape);
      EXPECT_EQ(a.text, b.text) << feature.name.text();
    }
  }
}

TEST(Loading, DefaultShopIsSound) {
  const Shop shop = files::DefaultShop();
  for (const ModelFault& fault : ValidateShop(shop))
    ADD_FAILURE() << fault.path << ": " << fault.message;
  EXPECT_TRUE(shop.is_default);
  // data/spreads.csv: the edge finder's row.
  const Spread& finder = shop.spreads.at("edge_finder");
  EXPECT_EQ(finder.careful.spread, 0.004);
  EXPECT_EQ(finder.usual.spread, 0.008);
  EXPECT_EQ(finder.worn.spread, 0.015);
  EXPECT_EQ(finder.distribution, SpreadDistribution::kNormal);
  // A quoted cell with a comma in it, and figures in the mean columns.
  const Spread& oversize = shop.spreads.at("drill_oversize_3.2");
  EXPECT_EQ(oversize.usual.mean, 0.075);
  EXPECT_EQ(oversize.scope, "tool 60 %, visit 40 % of the log-variance");
}

}  // namespace
}  // namespace fitwright::files_test
