// The default shop as it ships: sound, and enough for what the examples ask of it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/project.h"
#include "fitwright/model/validate.h"

namespace fitwright::files {
namespace {

// A single point's edges fall back from its cutting corner by at least this, so that the corner
// alone shapes the work (stated at the head of data/default_shop.toml).
constexpr double kLeastClearance_rad = 2 * kRadPerDeg;

double AngleBetween(const Vec2& a, const Vec2& b) {
  return std::acos(std::clamp(a.normalized().dot(b.normalized()), -1.0, 1.0));
}

TEST(DefaultShop, HasNoFaults) {
  for (const ModelFault& fault : ValidateShop(DefaultShop())) {
    ADD_FAILURE() << fault.path << ": " << fault.message;
  }
}

TEST(DefaultShop, SinglePointsCutWithTheirCornerAlone) {
  int seen = 0;
  for (const Tool& tool : DefaultShop().tools) {
    const auto& section = tool.section_T_mm;
    // Form and threading tools cut with their whole edge.
    const bool with_corner = tool.kind == ToolKind::kTurningTool || tool.kind == ToolKind::kFacingTool ||
                        tool.kind == ToolKind::kBoringBar || tool.kind == ToolKind::kPartingTool ||
                        tool.kind == ToolKind::kGroovingTool || tool.kind == ToolKind::kInternalGroovingTool;
    if (section.empty() || !with_corner) continue;
    SCOPED_TRACE(tool.name.text());
    ++seen;
    ASSERT_EQ(section.front(), Vec2(0, 0));
    const bool inside =
        tool.kind == ToolKind::kBoringBar || tool.kind == ToolKind::kInternalGroovingTool;
    const Vec2 towards_shank = inside ? Vec2(-1, 0) : Vec2(1, 0);
    // The leading edge lies behind the plane square to the axis through the corner.
    const Vec2 leading = inside ? section.back() : section[1];
    EXPECT_GT(leading.y(), 0);
    EXPECT_GE(AngleBetween(leading, towards_shank), kLeastClearance_rad);
    for (const Vec2& corner : section) {
      EXPECT_GE(corner.y(), 0);
      EXPECT_TRUE(inside ? corner.x() <= 0 : corner.x() >= 0);
    }
    if (tool.width_mm > 0) {  // parting and grooving: a straight tip of the stated width
      const Vec2 other = inside ? section[1] : section.back();
      EXPECT_EQ(other, Vec2(0, tool.width_mm));
    } else {
      const Vec2 trailing = inside ? section[1] : section.back();
      EXPECT_GE(AngleBetween(trailing, Vec2(0, 1)), kLeastClearance_rad);
    }
  }
  EXPECT_GE(seen, 20);
}

TEST(DefaultShop, InsideToolsEnterTheBoreTheyState) {
  for (const Tool& tool : DefaultShop().tools) {
    if (tool.section_T_mm.empty() || tool.diameter_min_mm == 0) continue;
    double thickness_mm = 0;
    for (const Vec2& corner : tool.section_T_mm) thickness_mm = std::max(thickness_mm, -corner.x());
    EXPECT_LT(thickness_mm, tool.diameter_min_mm) << tool.name.text();
    if (tool.kind != ToolKind::kBoringBar) continue;
    // Common practice: a bar stands out no more than 4 of its diameters.
    EXPECT_LE(tool.reach_mm, 4 * tool.shank_mm) << tool.name.text();
  }
}

TEST(DefaultShop, EachMachineHasSomethingToHoldWith) {
  const Shop shop = DefaultShop();
  for (const MachineToolKind kind : {MachineToolKind::kLathe, MachineToolKind::kMill}) {
    bool held = false;
    for (const HoldingDevice& device : shop.holding) held |= shop.Find(device.on)->kind == kind;
    EXPECT_TRUE(held) << WordOf(kind);
  }
  for (const char* id : {"three_jaw", "four_jaw", "mill_vise", "mill_chuck"}) {
    EXPECT_NE(shop.Find(HoldingDeviceId(id)), nullptr) << id;
  }
}

bool HasDrill(const Shop& shop, double diameter_mm) {
  for (const Tool& tool : shop.tools) {
    if (tool.kind == ToolKind::kDrill &&
        std::abs(tool.diameter_mm - diameter_mm) < kDrawnAlike_mm) {
      return true;
    }
  }
  return false;
}

bool HasTap(const Shop& shop, const InternalThread& thread) {
  for (const Tool& tool : shop.tools) {
    if (tool.kind == ToolKind::kTap && tool.thread == thread.designation &&
        tool.flute_mm >= thread.depth_mm) {
      return true;
    }
  }
  return false;
}

TEST(DefaultShop, HasADrillAndATapForEveryDrilledHoleOfTheExamples) {
  for (const char* example : {"bushed-block", "airbrush-compressor"}) {
    Diagnostics faults;
    const auto project =
        LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / example, {}, faults);
    ASSERT_TRUE(project) << Format(project.error());
    for (const Part& part : project->machine.parts) {
      for (const Feature& feature : part.features) {
        const auto* hole = std::get_if<Hole>(&feature.shape);
        if (hole == nullptr || hole->use != HoleUse::kHole) continue;
        if (part.stock.form == StockForm::kPlate && part.stock.box_P.size_mm().minCoeff() < 1.5) continue;  // punched
        const FeatureRef ref{part.name, feature.name};
        const bool reamed = hole->diameter.origin == LimitsOrigin::kFit;
        EXPECT_TRUE(reamed || HasDrill(project->shop, hole->diameter.nominal_mm)) << ref.text();
        EXPECT_TRUE(!hole->thread || HasTap(project->shop, *hole->thread)) << ref.text();
      }
    }
  }
}

}  // namespace
}  // namespace fitwright::files
