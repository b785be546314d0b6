// The example machines as they ship, against the figures of their own descriptions.
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/files/project.h"
#include "fitwright/trade/threads.h"

namespace fitwright::files {
namespace {

// Figures are typed; placing adds rounding only.
constexpr double kRounding_mm = 1e-9;

class Example {
 public:
  explicit Example(const std::string& name) {
    Diagnostics faults;
    auto project =
        LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / name, {}, faults);
    for (const Error& error : faults.errors()) ADD_FAILURE() << Format(error);
    if (project) machine_ = project->machine;
  }
  const Machine& machine() const { return machine_; }
  template <typename Shape>
  const Shape& Get(const char* part, const char* feature) const {
    const Feature* found = machine_.Find({PartId(part), FeatureId(feature)});
    FW_CHECK(found != nullptr, part, feature);
    return std::get<Shape>(found->shape);
  }
  Pose PoseOf(const PartId& part) const { return machine_.FindUse(part)->X_WP; }
  const Requirement& Required(const char* name) const {
    for (const Requirement& r : machine_.requirements) {
      if (r.name.text() == name) return r;
    }
    FW_CHECK(false, name);
    return machine_.requirements.front();
  }

 private:
  Machine machine_;
};

// In each screwed pattern the two sets of holes stand on one another in the assembled machine, and
// the screw is neither too long for its hole nor in by less than its own diameter.
void ExpectScrewsFit(const Example& example) {
  int patterns = 0;
  for (const Joint& joint : example.machine().joints) {
    if (joint.kind != JointKind::kScrewedPattern) continue;
    SCOPED_TRACE(joint.name.text());
    ++patterns;
    const auto& tapped = std::get<Hole>(example.machine().Find(joint.fixed)->shape);
    const auto& clear = std::get<Hole>(example.machine().Find(joint.moving)->shape);
    ASSERT_TRUE(tapped.thread);
    ASSERT_EQ(tapped.entries_P_mm.size(), clear.entries_P_mm.size());
    const Pose X_WF = example.PoseOf(joint.fixed.part);
    const Pose X_WM = example.PoseOf(joint.moving.part);
    for (const Vec3& entry : clear.entries_P_mm) {
      const Vec3 exit_W = X_WM * (entry + clear.depth_mm * clear.into_P);
      double nearest_mm = 1e9;
      for (const Vec3& hole : tapped.entries_P_mm) {
        nearest_mm = std::min(nearest_mm, (X_WF * hole - exit_W).norm());
      }
      EXPECT_LT(nearest_mm, kRounding_mm);
    }
    const double engaged_mm = joint.screw->length_mm - clear.depth_mm;
    EXPECT_LE(engaged_mm, tapped.thread->depth_mm + 1);  // a washer takes the rest up
    EXPECT_GE(engaged_mm, 1.5 * joint.screw->major_mm);  // 1.5 D in mesh, common practice
    const auto* row = trade::FindThread(tapped.thread->designation);
    EXPECT_NEAR(tapped.diameter.nominal_mm, row->tap_drill_mm, kRounding_mm);
  }
  EXPECT_GE(patterns, 2);
}

void ExpectFacesMeet(const Example& example) {
  for (const Joint& joint : example.machine().joints) {
    if (joint.kind != JointKind::kFaceContact) continue;
    SCOPED_TRACE(joint.name.text());
    const auto& a = std::get<PlanarFace>(example.machine().Find(joint.fixed)->shape);
    const auto& b = std::get<PlanarFace>(example.machine().Find(joint.moving)->shape);
    const Pose X_WA = example.PoseOf(joint.fixed.part);
    const Pose X_WB = example.PoseOf(joint.moving.part);
    const Vec3 normal_W = X_WA.linear() * a.normal_P;
    EXPECT_NEAR(normal_W.dot(X_WB.linear() * b.normal_P), -1, kRounding_mm);
    const Vec3 p_W = X_WA * (a.normal_P * a.at.nominal_mm);
    const Vec3 q_W = X_WB * (b.normal_P * b.at.nominal_mm);
    EXPECT_NEAR(normal_W.dot(p_W - q_W), 0, kRounding_mm);
  }
}

TEST(BushedBlock, StandsTogether) {
  const Example example("bushed-block");
  ExpectScrewsFit(example);
  ExpectFacesMeet(example);
  EXPECT_EQ(example.machine().parts.size(), 3u);
  // 25 H7 = 0/+0.021, 25 g6 = -0.020/-0.007 (ISO 286-2, from memory).
  const Requirement& clearance = example.Required("bush_spigot_clearance");
  EXPECT_NEAR(*clearance.lower, 0.007, kRounding_mm);
  EXPECT_NEAR(*clearance.upper, 0.041, kRounding_mm);
  EXPECT_TRUE(clearance.derived);
}

TEST(AirbrushCompressor, StandsTogether) {
  const Example example("compressor-core");
  ExpectScrewsFit(example);
  ExpectFacesMeet(example);
  EXPECT_EQ(example.machine().parts.size(), 6u);
  EXPECT_FALSE(example.machine().cautions.empty());
}

TEST(AirbrushCompressor, BodyIsAsDescribed) {
  const Example example("compressor-core");
  const Part& body = *example.machine().FindPart(PartId("body"));
  EXPECT_EQ(body.block_P.size_mm(), Vec3(50, 56, 87));
  const auto& crank = example.Get<Hole>("body", "crank_bore");
  EXPECT_EQ(crank.entries_P_mm[0], Vec3(25, 0, 28));
  EXPECT_EQ(crank.diameter.fit, "H7");
  EXPECT_TRUE(crank.through);
  EXPECT_EQ(example.Get<Hole>("body", "cylinder_bore").diameter.nominal_mm, 30);
  const auto& front = example.Get<Hole>("body", "front_holes");
  const Vec3 first = front.entries_P_mm.front();  // 30 deg from +z towards +y on 47
  EXPECT_NEAR(first.y(), 23.5 * 0.5, kRounding_mm);
  EXPECT_NEAR(first.z(), 28 + 23.5 * std::sqrt(0.75), kRounding_mm);
  // About 4 left between the full depth of the first hole and the cylinder bore, 0.25 if it stood
  // at 0 deg, where the drill's point (118 deg) comes nearest.
  const double radius_mm = front.diameter.nominal_mm / 2;
  const double left_mm = std::hypot(25 - front.depth_mm, first.y() - radius_mm) - 15;
  EXPECT_NEAR(left_mm, 4, 0.2);
  const double point_mm = radius_mm / std::tan(59 * kRadPerDeg);
  EXPECT_NEAR(25 - front.depth_mm - point_mm - 15, 0.25, 0.005);
  EXPECT_EQ(example.Get<Hole>("body", "rear_holes").entries_P_mm.size(), 5u);
  EXPECT_EQ(example.Get<Hole>("body", "top_holes").thread->depth_mm, 12);
}

TEST(AirbrushCompressor, HousingIsAsDescribed) {
  const Example example("compressor-core");
  EXPECT_EQ(example.Get<OuterDiameter>("front_housing", "spigot").diameter.fit, "g6");
  const auto& seat = example.Get<Hole>("front_housing", "seat");
  const auto& nose_bore = example.Get<Hole>("front_housing", "nose_bore");
  EXPECT_EQ(seat.depth_mm, 32);
  EXPECT_NEAR(nose_bore.depth_mm, 2, kRounding_mm);  // the shoulder
  const auto& holes = example.Get<Hole>("front_housing", "screw_holes");
  EXPECT_EQ(holes.diameter.nominal_mm, 3.2);  // ISO 273 fine for M3
  const Pose X_WP = example.PoseOf(PartId("front_housing"));
  EXPECT_NEAR((X_WP.linear() * Vec3::UnitZ() - Vec3::UnitX()).norm(), 0, kRounding_mm);
  const auto& groove = example.Get<Groove>("front_housing", "circlip_groove");
  EXPECT_NEAR(groove.to_mm - groove.from_mm, 1.3, kRounding_mm);
  const auto& spigot = example.Get<OuterDiameter>("front_housing", "spigot");
  EXPECT_NEAR(groove.from_mm - spigot.from_mm, 1, kRounding_mm);
}

TEST(AirbrushCompressor, FeetAreAMirrorPair) {
  const Example example("compressor-core");
  const auto& left = example.Get<Slot>("foot_left", "base_slot");
  const auto& right = example.Get<Slot>("foot_right", "base_slot");
  EXPECT_EQ(left.centre_P_mm.head<2>(), Vec2(4, 41.5));
  EXPECT_EQ(right.centre_P_mm.head<2>(), Vec2(4, -41.5));
  EXPECT_EQ(example.machine().FindPart(PartId("foot_right"))->mirror_of, PartId("foot_left"));
  const auto& slope = example.Get<EdgeChamfer>("foot_left", "slope");
  EXPECT_NEAR(std::atan2(slope.leg_b_mm, slope.leg_a_mm) / kRadPerDeg, 63.43, 0.005);
}

TEST(AirbrushCompressor, LinerAndPistonAreAsDescribed) {
  const Example example("compressor-core");
  const Pose X_WL = example.PoseOf(PartId("liner"));
  const auto& outside = example.Get<OuterDiameter>("liner", "outside");
  EXPECT_NEAR((X_WL * Vec3(0, 0, outside.from_mm)).z(), 50, kRounding_mm);  // the liner ends at 50
  const auto& top = example.Get<PlanarFace>("liner", "top");
  EXPECT_NEAR((X_WL * Vec3(0, 0, top.at.lower_mm)).z() - 87, 0.02, kRounding_mm);
  EXPECT_NEAR((X_WL * Vec3(0, 0, top.at.upper_mm)).z() - 87, 0.04, kRounding_mm);
  const Pose X_WQ = example.PoseOf(PartId("piston"));
  const auto& crown = example.Get<PlanarFace>("piston", "crown");
  const auto& pin = example.Get<Hole>("piston", "pin_bore");
  EXPECT_NEAR((X_WQ * Vec3(0, 0, crown.at.nominal_mm)).z(), 86.8, kRounding_mm);
  EXPECT_NEAR(crown.at.nominal_mm - pin.entries_P_mm[0].z(), 8.8, kRounding_mm);
  const auto& pocket = example.Get<Pocket>("piston", "between_bosses");
  EXPECT_NEAR(16 - pocket.centre_P_mm.z() - pocket.depth_mm, 3.2, kRounding_mm);  // crown left
  EXPECT_NEAR(pocket.width_mm, 8.4, kRounding_mm);
  const auto& slot = example.Get<Slot>("piston", "beside_boss_left");
  EXPECT_NEAR(2 * (slot.centre_P_mm.y() - slot.width.nominal_mm / 2), 9, kRounding_mm);  // boss
  // At the middle of limits the piston is 0.035 under the bore.
  const auto& bore = example.Get<Hole>("liner", "bore");
  const auto& skirt = example.Get<OuterDiameter>("piston", "outside");
  EXPECT_NEAR(bore.diameter.middle_mm() - skirt.diameter.middle_mm(), 0.035, kRounding_mm);
  EXPECT_EQ(example.machine().Find({PartId("liner"), FeatureId("bore")})->finish, Finish::kHoned);
}

TEST(AirbrushCompressor, RequirementsAreStated) {
  const Example example("compressor-core");
  EXPECT_NEAR(*example.Required("R1").upper, 0.7e-3, 1e-15);
  EXPECT_EQ(*example.Required("R2").upper, 0.1);
  EXPECT_EQ(*example.Required("R8_left").upper, 0.05);
  EXPECT_EQ(*example.Required("R8_right").upper, 0.05);
  EXPECT_EQ(*example.Required("R10").lower, 0.02);
  EXPECT_EQ(*example.Required("R10").upper, 0.04);
  EXPECT_EQ(*example.Required("piston_clearance").lower, 0.025);
  EXPECT_EQ(*example.Required("piston_clearance").upper, 0.045);
  for (const char* name : {"R12_front", "R12_left", "R12_right"}) {
    EXPECT_EQ(example.Required(name).kind, RequirementKind::kScrewsEnter);
  }
  // 40 H7 = 0/+0.025 and 40 g6 = -0.025/-0.009 (ISO 286-2).
  EXPECT_NEAR(*example.Required("front_spigot_clearance").lower, 0.009, kRounding_mm);
  EXPECT_NEAR(*example.Required("front_spigot_clearance").upper, 0.050, kRounding_mm);
}

}  // namespace
}  // namespace fitwright::files
