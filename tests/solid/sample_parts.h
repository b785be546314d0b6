// Parts of the examples, typed a second time for the solids' tests. mm; limits after ISO 286-2.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "fitwright/model/part.h"

namespace fitwright::solid::testing {

inline Size Plain(double mm) { return {mm, mm, mm, LimitsOrigin::kGeneralTolerance, ""}; }
inline Size Fit(double nominal, double low, double high, std::string fit) {
  return {nominal, nominal + low, nominal + high, LimitsOrigin::kFit, std::move(fit)};
}
inline void Add(Part& part, const std::string& name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  part.features.push_back(std::move(feature));
}

inline Part MakeBlockPart(const std::string& name, const Box3& box) {
  Part part;
  part.name = PartId(name);
  part.material = "aluminium";
  part.block_P = box;
  part.stock.box_P = {box.min_mm.array() - 2, box.max_mm.array() + 2};
  const char* names[] = {"front", "left", "top", "rear", "right", "bottom"};
  for (int side = 0; side < 6; ++side) {
    const int axis = side % 3;
    const bool plus = side < 3;
    PlanarFace face;
    face.normal_P = Vec3::Unit(axis) * (plus ? 1 : -1);
    face.at = Plain(plus ? box.max_mm[axis] : -box.min_mm[axis]);
    Add(part, names[side], face);
  }
  return part;
}

inline std::vector<Vec3> OnCircle(const Vec3& centre, const Vec3& axis, const Vec3& zero,
                                  double diameter, double first_deg, int count) {
  std::vector<Vec3> points;
  for (int i = 0; i < count; ++i) {
    const double a = (first_deg + 360.0 * i / count) * kRadPerDeg;
    points.push_back(centre +
                     0.5 * diameter * (std::cos(a) * zero + std::sin(a) * axis.cross(zero)));
  }
  return points;
}

inline Hole MakeHole(const Vec3& into, std::vector<Vec3> entries, const Size& diameter,
                     double depth, bool through = false,
                     HoleBottom bottom = HoleBottom::kPoint118) {
  Hole hole;
  hole.into_P = into;
  hole.entries_P_mm = std::move(entries);
  hole.diameter = diameter;
  hole.depth_mm = depth;
  hole.through = through;
  hole.bottom = bottom;
  return hole;
}

inline constexpr double kCrankZ = 28;

inline Part MakeBody() {
  Part part = MakeBlockPart("body", {Vec3(-25, -28, 0), Vec3(25, 28, 87)});
  const Vec3 front(25, 0, kCrankZ);
  const Vec3 rear(-25, 0, kCrankZ);
  const Vec3 x = Vec3::UnitX();
  const Vec3 y = Vec3::UnitY();
  const Vec3 z = Vec3::UnitZ();
  Add(part, "crank_bore", MakeHole(-x, {front}, Fit(40, 0, 0.025, "H7"), 50, true));
  Add(part, "crank_bore_lead", RoundChamfer{FeatureId("crank_bore"), true, 0.5, 0.5});
  Add(part, "cylinder_bore", MakeHole(-z, {{0, 0, 87}}, Fit(30, 0, 0.021, "H7"), 59, true));
  Add(part, "counterbore", MakeHole(-z, {{0, 0, 87}}, Plain(36.1), 3, false, HoleBottom::kFlat));
  Add(part, "top_holes",
      MakeHole(-z, {{18, 18, 87}, {-18, 18, 87}, {-18, -18, 87}, {18, -18, 87}}, Plain(3.3), 14));
  Add(part, "front_holes", MakeHole(-x, OnCircle(front, -x, z, 47, 30, 6), Plain(2.5), 9));
  Add(part, "rear_holes", MakeHole(x, OnCircle(rear, -x, z, 47, 36, 5), Plain(2.5), 9));
  Add(part, "left_holes", MakeHole(-y, {{-15, 28, 13}, {15, 28, 13}}, Plain(3.3), 10));
  Add(part, "right_holes", MakeHole(y, {{-15, -28, 13}, {15, -28, 13}}, Plain(3.3), 10));
  return part;
}

// side +1: left foot (y 28..50); -1: its mirror.
inline Part MakeFoot(double side) {
  const auto box = [side](const Vec3& low, const Vec3& high) {
    return side > 0 ? Box3{low, high}
                    : Box3{Vec3(low.x(), -high.y(), low.z()), Vec3(high.x(), -low.y(), high.z())};
  };
  Part part =
      MakeBlockPart(side > 0 ? "foot_left" : "foot_right", box(Vec3(-25, 28, 0), Vec3(25, 50, 24)));
  const Vec3 out = side * Vec3::UnitY();
  Add(part, "inside", StepCut{-Vec3::UnitZ(), box(Vec3(-25, 36, 8), Vec3(25, 50, 24))});
  Add(part, "base_top", PlanarFace{Vec3::UnitZ(), Plain(8)});
  Add(part, "screw_holes",
      MakeHole(-out, {{-15, side * 36, 13}, {15, side * 36, 13}}, Plain(4.5), 8, true));
  Slot slot;
  slot.centre_P_mm = Vec3(4, side * 41.5, 8);
  slot.length_mm = 12;
  slot.width = Plain(5.5);
  slot.depth_mm = 8;
  slot.through = true;
  Add(part, "base_slot", slot);
  Add(part, "slope",
      EdgeChamfer{FeatureId("base_top"), FeatureId(side > 0 ? "left" : "right"), 3, 6});
  return part;
}

inline void AddOuter(Part& part, const std::string& name, double from, double to, const Size& d) {
  Add(part, name, OuterDiameter{name == "spigot", part.turning_axis_P, from, to, d});
}

inline Part MakeTurnedPart(const std::string& name, double stock_diameter, double from, double to) {
  Part part;
  part.name = PartId(name);
  part.envelope = EnvelopeKind::kTurned;
  part.stock.form = StockForm::kRound;
  part.stock.diameter_mm = stock_diameter;
  part.stock.from_mm = from;
  part.stock.to_mm = to;
  return part;
}

inline Part MakeHousing() {
  Part part = MakeTurnedPart("front_housing", 60, -13, 57);
  const Vec3 z = Vec3::UnitZ();
  AddOuter(part, "spigot", -10, 0, Fit(40, -0.025, -0.009, "g6"));
  AddOuter(part, "flange", 0, 10, Plain(54));
  AddOuter(part, "nose", 10, 24, Plain(36));
  Add(part, "flange_face", PlanarFace{-z, Plain(0)});
  Add(part, "root", Groove{false, true, {}, -1, 0, Plain(39.4)});
  Add(part, "seat",
      MakeHole(z, {{0, 0, -10}}, Fit(26, 0, 0.021, "H7"), 32, false, HoleBottom::kFlat));
  Add(part, "nose_bore", MakeHole(z, {{0, 0, 22}}, Plain(22.5), 2, true));
  Add(part, "circlip_groove", Groove{true, false, {}, -9, -7.7, Plain(27.2)});
  Add(part, "screw_holes",
      MakeHole(-z, OnCircle(Vec3(0, 0, 10), z, -Vec3::UnitX(), 47, 30, 6), Plain(3.2), 10, true));
  Add(part, "nose_flats", Flats{{}, 16, 24, Plain(33), Vec3::UnitY()});
  return part;
}

inline Part MakeLiner() {
  Part part = MakeTurnedPart("liner", 40, -36, 30);
  AddOuter(part, "outside", -34, 0, Fit(30, -0.020, -0.007, "g6"));
  AddOuter(part, "flange", 0, 3.03, Plain(36));
  Add(part, "bore", MakeHole(Vec3::UnitZ(), {{0, 0, -34}}, Fit(24, 0, 0.021, "H7"), 37.03, true));
  Add(part, "ring_lead", RoundChamfer{FeatureId("bore"), true, 1.5, 0.5});
  return part;
}

inline Part MakePiston() {
  Part part = MakeTurnedPart("piston", 25, -27, 18);
  const Vec3 z = Vec3::UnitZ();
  AddOuter(part, "outside", 0, 16, {23.965, 23.955, 23.996, LimitsOrigin::kLimits, ""});
  Add(part, "crown", PlanarFace{z, Plain(16)});
  Add(part, "ring_groove_1", Groove{false, false, {}, 13.3, 14.5, Plain(21.765)});
  Add(part, "ring_groove_2", Groove{false, false, {}, 11.1, 12.3, Plain(21.765)});
  Add(part, "skirt_bore", MakeHole(z, {{0, 0, 0}}, Plain(19), 2.7, false, HoleBottom::kFlat));
  Add(part, "between_bosses", Pocket{z, Vec3(0, 0, 2.7), Vec3::UnitY(), 18.3, 8.4, 2, 10.1});
  for (const double side : {1.0, -1.0}) {
    Slot slot;
    slot.into_P = z;
    slot.centre_P_mm = Vec3(0, side * 6.5, 2.7);
    slot.length_mm = 11.5;
    slot.width = Plain(4);
    slot.depth_mm = 10.1;
    Add(part, side > 0 ? "beside_boss_left" : "beside_boss_right", slot);
  }
  Add(part, "pin_bore", MakeHole(-Vec3::UnitX(), {{12, 0, 7.2}}, Fit(5, 0, 0.012, "H7"), 24, true));
  return part;
}

inline Part MakeBushedBlock() {
  Part part = MakeBlockPart("block", {Vec3(-30, -25, 0), Vec3(30, 25, 40)});
  const Vec3 z = Vec3::UnitZ();
  Add(part, "bore", MakeHole(-z, {{0, 0, 40}}, Fit(25, 0, 0.021, "H7"), 40, true));
  Add(part, "bore_lead", RoundChamfer{FeatureId("bore"), true, 0.5, 0.5});
  Add(part, "top_holes",
      MakeHole(-z, OnCircle(Vec3(0, 0, 40), z, Vec3::UnitX(), 35, 30, 6), Plain(2.5), 9));
  Add(part, "side_holes", MakeHole(-Vec3::UnitY(), {{-12, 25, 12}, {12, 25, 12}}, Plain(3.3), 10));
  return part;
}

inline Part MakeBush() {
  Part part = MakeTurnedPart("bush", 50, -17, 35);
  const Vec3 z = Vec3::UnitZ();
  AddOuter(part, "spigot", -15, 0, Fit(25, -0.020, -0.007, "g6"));
  AddOuter(part, "flange", 0, 6, Plain(44));
  Add(part, "root", Groove{false, true, {}, -1, 0, Plain(24.4)});
  Add(part, "bore", MakeHole(z, {{0, 0, -15}}, Fit(16, 0, 0.018, "H7"), 21, true));
  Add(part, "screw_holes",
      MakeHole(-z, OnCircle(Vec3(0, 0, 6), z, Vec3::UnitX(), 35, 30, 6), Plain(3.2), 6, true));
  return part;
}

inline std::vector<Part> AllParts() {
  return {MakeBody(),  MakeFoot(1),  MakeFoot(-1),      MakeHousing(),
          MakeLiner(), MakePiston(), MakeBushedBlock(), MakeBush()};
}

}  // namespace fitwright::solid::testing
