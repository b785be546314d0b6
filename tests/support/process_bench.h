// A small shop and parts for tests of single cuts. Tool sizes are of the usual series; they need
// not be those of the default shop.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "fitwright/planner/process.h"

namespace fitwright::bench {

inline Tool MakeTool(const std::string& name, ToolKind kind, const std::string& on) {
  Tool t;
  t.name = ToolId(name);
  t.kind = kind;
  t.words = name;
  t.on = on;
  t.holder_diameter_mm = 40;
  t.holder_length_mm = 60;
  return t;
}

inline Tool Drill(double d, double flute, double out) {
  Tool t = MakeTool(fmt::format("drill_{:g}", d), ToolKind::kDrill, "any");
  t.diameter_mm = d;
  t.point_deg = 118;
  t.flute_mm = flute;
  t.stick_out_mm = out;
  t.shank_mm = d;
  return t;
}

inline Tool Mill(double d, double flute, double out, bool centre = true) {
  Tool t = MakeTool(fmt::format("end_mill_{:g}_{:g}", d, flute), ToolKind::kEndMill, "mill");
  t.diameter_mm = d;
  t.flute_mm = flute;
  t.stick_out_mm = out;
  t.shank_mm = std::max(6.0, d);
  t.teeth = 4;
  t.centre_cutting = centre;
  return t;
}

inline Tool Bar(double shank, double least, std::vector<Vec2> section) {
  Tool t = MakeTool(fmt::format("bar_{:g}", shank), ToolKind::kBoringBar, "lathe");
  t.shank_mm = shank;
  t.diameter_min_mm = least;
  t.reach_mm = 4 * shank;
  t.stick_out_mm = t.reach_mm;
  t.section_T_mm = std::move(section);
  return t;
}

inline Tool Head(double shank, double least, double most) {
  Tool t = MakeTool(fmt::format("head_{:g}", shank), ToolKind::kBoringHead, "mill");
  t.shank_mm = shank;
  t.diameter_min_mm = least;
  t.diameter_mm = most;
  t.flute_mm = t.stick_out_mm = t.reach_mm = 4 * shank;
  t.holder_diameter_mm = 50;
  t.holder_length_mm = 75;
  t.teeth = 1;
  t.carbide = true;
  t.rpm_max = 900;
  return t;
}

inline Tool Tap(const std::string& thread, const std::string& which, double d, double lead,
                double flute) {
  Tool t = MakeTool(thread + " " + which + " tap", ToolKind::kTap, "any");
  t.thread = thread;
  t.diameter_mm = d;
  t.tip_flat_mm = lead;
  t.flute_mm = flute;
  t.stick_out_mm = flute + 14;
  t.shank_mm = d;
  return t;
}

inline Tool Lathe(const std::string& name, ToolKind kind, std::vector<Vec2> section) {
  Tool t = MakeTool(name, kind, "lathe");
  t.section_T_mm = std::move(section);
  t.reach_mm = 25;
  t.stick_out_mm = 20;
  return t;
}

inline void AddLatheTools(std::vector<Tool>& tools) {
  const std::vector<Vec2> knife = {{0, 0}, {45, 3.937}, {45, 12}, {1.05, 12}};
  tools.push_back(Lathe("knife", ToolKind::kTurningTool, knife));
  tools.push_back(Lathe("facing", ToolKind::kFacingTool, knife));
  Tool parting = Lathe(
      "parting_2", ToolKind::kPartingTool,
      {{0, 0}, {3, 0.1048}, {51, 0.1048}, {51, 12}, {33, 12}, {33, 1.8952}, {3, 1.8952}, {0, 2}});
  parting.width_mm = 2;
  parting.reach_mm = 33;
  tools.push_back(parting);
  for (const double w : {1.0, 1.2, 2.0}) {
    Tool groove = Lathe(
        fmt::format("groove_{:g}", w), ToolKind::kGroovingTool,
        {{0, 0}, {2.5, 0.0873}, {27.5, 0.0873}, {27.5, 12}, {2.5, 12}, {2.5, w - 0.0873}, {0, w}});
    groove.width_mm = w;
    groove.reach_mm = 2.5;
    tools.push_back(groove);
    Tool inside = Lathe(fmt::format("groove_inside_{:g}", w), ToolKind::kInternalGroovingTool,
                        {{0, 0}, {0, w}, {-2, w - 0.07}, {-2, 32}, {-10, 32}, {-10, 0.3492}});
    inside.width_mm = w;
    inside.reach_mm = 2;
    inside.stick_out_mm = 32;
    inside.diameter_min_mm = 12;
    tools.push_back(inside);
  }
  Tool out45 = Lathe("chamfer_outside", ToolKind::kChamferTool,
                     {{0, 0}, {6, -6}, {40, -6}, {40, 6}, {6, 6}});
  out45.point_deg = 90;
  out45.reach_mm = 6;
  tools.push_back(out45);
  Tool in45 = Lathe("chamfer_inside", ToolKind::kChamferTool,
                    {{0, 0}, {-4, 4}, {-4, 30}, {-10, 30}, {-10, -4}, {-4, -4}});
  in45.point_deg = 90;
  in45.reach_mm = 4;
  in45.diameter_min_mm = 14;
  tools.push_back(in45);
  tools.push_back(
      Bar(6, 8, {{0, 0}, {-0.157, 3}, {-0.8, 3.8}, {-0.8, 24}, {-6.8, 24}, {-6.8, 0.595}}));
  tools.push_back(
      Bar(12, 15, {{0, 0}, {-0.157, 3}, {-1.5, 4.5}, {-1.5, 48}, {-13.5, 48}, {-13.5, 1.181}}));
  tools.push_back(Bar(16, 20, {{0, 0}, {-0.157, 3}, {-2, 5}, {-2, 64}, {-18, 64}, {-18, 1.575}}));
}

inline void AddMillTools(std::vector<Tool>& tools) {
  tools.push_back(Mill(4, 11, 25));
  tools.push_back(Mill(4, 19, 33));
  tools.push_back(Mill(5, 13, 27));
  tools.push_back(Mill(8, 19, 39));
  tools.push_back(Mill(10, 22, 42));
  tools.push_back(Mill(16, 32, 50));
  tools.push_back(Mill(20, 38, 62));
  Tool fly = MakeTool("fly_50", ToolKind::kFlyCutter, "mill");
  fly.diameter_mm = 50;
  fly.flute_mm = 4;
  fly.stick_out_mm = 55;
  fly.shank_mm = 40;
  fly.teeth = 1;
  fly.carbide = true;
  fly.rpm_max = 1000;
  tools.push_back(fly);
  tools.push_back(Head(12, 16, 60));
  tools.push_back(Head(16, 20, 80));
  Tool bar45 = MakeTool("chamfer_bar", ToolKind::kChamferMill, "mill");
  bar45.diameter_mm = 62;
  bar45.diameter_min_mm = 14;
  bar45.point_deg = 90;
  bar45.flute_mm = 34;
  bar45.stick_out_mm = 50;
  bar45.shank_mm = 12;
  tools.push_back(bar45);
  Tool sink = MakeTool("counterbore_m3", ToolKind::kCounterbore, "any");
  sink.diameter_mm = 6.5;
  sink.diameter_min_mm = 3.2;
  sink.flute_mm = 14;
  sink.stick_out_mm = 55;
  sink.shank_mm = 5;
  tools.push_back(sink);
}

inline void AddHoleTools(std::vector<Tool>& tools) {
  for (const auto& [d, flute] : std::vector<std::pair<double, double>>{{2.5, 30},
                                                                       {3.2, 36},
                                                                       {3.3, 36},
                                                                       {4, 43},
                                                                       {4.5, 47},
                                                                       {4.8, 52},
                                                                       {5.5, 57},
                                                                       {6, 57},
                                                                       {8, 75},
                                                                       {10, 87},
                                                                       {13, 101},
                                                                       {16, 120},
                                                                       {20, 140},
                                                                       {22, 150},
                                                                       {25, 160}}) {
    tools.push_back(Drill(d, flute, flute + 14));
  }
  Tool spot = MakeTool("spot_6", ToolKind::kSpotDrill, "any");
  spot.diameter_mm = 6;
  spot.point_deg = 90;
  spot.flute_mm = 20;
  spot.stick_out_mm = 46;
  spot.shank_mm = 6;
  tools.push_back(spot);
  Tool centre = MakeTool("centre_3", ToolKind::kCentreDrill, "any");
  centre.diameter_mm = 3.15;
  centre.point_deg = 118;
  centre.flute_mm = 4.1;
  centre.stick_out_mm = 35;
  centre.shank_mm = 8;
  tools.push_back(centre);
  Tool reamer = MakeTool("reamer_5", ToolKind::kReamer, "any");
  reamer.diameter_mm = 5;
  reamer.flute_mm = 23;
  reamer.stick_out_mm = 66;
  reamer.shank_mm = 4.9;
  reamer.fit = "H7";
  tools.push_back(reamer);
  tools.push_back(Tap("M3", "second", 3, 2, 18));
  tools.push_back(Tap("M3", "plug", 3, 1, 18));
  tools.push_back(Tap("M4", "second", 4, 2.8, 21));
  tools.push_back(Tap("M4", "plug", 4, 1.4, 21));
  Tool hone = MakeTool("hone", ToolKind::kHone, "any");
  hone.diameter_min_mm = 20;
  hone.diameter_mm = 35;
  hone.flute_mm = 50;
  hone.stick_out_mm = 110;
  hone.shank_mm = 8;
  tools.push_back(hone);
}

inline Shop MakeBenchShop() {
  Shop shop;
  MachineTool mill;
  mill.name = MachineToolId("mill");
  mill.kind = MachineToolKind::kMill;
  mill.words = "the mill";
  mill.power_W = 750;
  mill.speeds_rpm = {100, 150, 220, 320, 460, 660, 950, 1350, 1850, 2500};
  mill.feed_max_mm_min = 300;
  MachineTool lathe;
  lathe.name = MachineToolId("lathe");
  lathe.kind = MachineToolKind::kLathe;
  lathe.words = "the lathe";
  lathe.power_W = 750;
  lathe.speeds_rpm = {60, 85, 125, 180, 260, 370, 530, 760, 1080, 1550, 2000};
  lathe.feed_max_mm_min = 300;
  lathe.x_reads_diameter = true;
  shop.machines = {mill, lathe};
  AddHoleTools(shop.tools);
  AddMillTools(shop.tools);
  AddLatheTools(shop.tools);
  const auto add = [&](const char* name, InstrumentKind kind, double from, double to) {
    shop.instruments.push_back({InstrumentId(name), kind, name, from, to, 0, 0, {}});
  };
  add("caliper", InstrumentKind::kCaliper, 0, 150);
  add("mic_25", InstrumentKind::kMicrometer, 0, 25);
  add("mic_50", InstrumentKind::kMicrometer, 25, 50);
  add("mic_75", InstrumentKind::kMicrometer, 50, 75);
  add("bore_gauge", InstrumentKind::kBoreGauge, 18, 60);
  return shop;
}

inline Size Plain(double nominal, double half = 0.1) {
  return {nominal, nominal - half, nominal + half, LimitsOrigin::kGeneralTolerance, {}};
}
inline Size Fit(double nominal, const std::string& fit, double lower, double upper) {
  return {nominal, nominal + lower, nominal + upper, LimitsOrigin::kFit, fit};
}

inline Feature Make(const std::string& name, FeatureShape shape) {
  return {FeatureId(name), std::move(shape), Finish::kAsMachined, false, {}};
}

inline Feature Face(const std::string& name, const Vec3& normal, double at) {
  return Make(name, PlanarFace{normal, Plain(at)});
}

inline Feature Outer(const std::string& name, double from, double to, const Size& d) {
  OuterDiameter shape;
  shape.from_mm = from;
  shape.to_mm = to;
  shape.diameter = d;
  return Make(name, shape);
}

struct HoleWish {
  HoleUse use = HoleUse::kHole;
  Vec3 into = -Vec3::UnitZ();
  std::vector<Vec3> entries;
  Size diameter;
  double depth = 0;
  bool through = false;
  HoleBottom bottom = HoleBottom::kPoint118;
};
inline Feature Bored(const std::string& name, const HoleWish& wish) {
  Hole hole;
  hole.use = wish.use;
  hole.into_P = wish.into;
  hole.entries_P_mm = wish.entries;
  hole.diameter = wish.diameter;
  hole.depth_mm = wish.depth;
  hole.through = wish.through;
  hole.bottom = wish.bottom;
  return Make(name, hole);
}
inline Feature Threaded(const std::string& name, const std::string& thread, double major,
                        double pitch, double thread_depth, HoleWish wish) {
  Feature f = Bored(name, wish);
  std::get<Hole>(f.shape).thread = InternalThread{thread, major, pitch, thread_depth};
  return f;
}

// A block with its six faces named as the sheets do.
inline Part MakeSawnBlock(const std::string& name, const Vec3& lo, const Vec3& hi,
                          double stock_over = 2) {
  Part part;
  part.name = PartId(name);
  part.material = "aluminium";
  part.block_P = {lo, hi};
  part.stock.form = StockForm::kFlat;
  part.stock.box_P = {lo - Vec3::Constant(stock_over), hi + Vec3::Constant(stock_over)};
  part.features = {Face("top", Vec3::UnitZ(), hi.z()),   Face("bottom", -Vec3::UnitZ(), -lo.z()),
                   Face("front", Vec3::UnitX(), hi.x()), Face("rear", -Vec3::UnitX(), -lo.x()),
                   Face("left", Vec3::UnitY(), hi.y()),  Face("right", -Vec3::UnitY(), -lo.y())};
  return part;
}

inline Part MakeTurned(const std::string& name, double bar, double from, double to) {
  Part part;
  part.name = PartId(name);
  part.material = "aluminium";
  part.envelope = EnvelopeKind::kTurned;
  part.stock.form = StockForm::kRound;
  part.stock.diameter_mm = bar;
  part.stock.from_mm = from;
  part.stock.to_mm = to;
  return part;
}

// Setup frame whose z is up_P and whose x is x_P, its origin at zero_P.
inline Pose PoseUp(const Vec3& up_P, const Vec3& x_P, const Vec3& zero_P) {
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(2) = up_P;
  X_PS.linear().col(0) = x_P;
  X_PS.linear().col(1) = up_P.cross(x_P);
  X_PS.translation() = zero_P;
  return X_PS;
}

inline Box3 BoxIn(const Pose& X_PS, const Box3& box_P) {
  Box3 box{Vec3::Constant(1e9), Vec3::Constant(-1e9)};
  for (int i = 0; i < 8; ++i) {
    const Vec3 corner((i & 1) ? box_P.max_mm.x() : box_P.min_mm.x(),
                      (i & 2) ? box_P.max_mm.y() : box_P.min_mm.y(),
                      (i & 4) ? box_P.max_mm.z() : box_P.min_mm.z());
    const Vec3 p = X_PS.inverse() * corner;
    box.min_mm = box.min_mm.cwiseMin(p);
    box.max_mm = box.max_mm.cwiseMax(p);
  }
  return box;
}

}  // namespace fitwright::bench
