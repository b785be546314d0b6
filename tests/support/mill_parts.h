// Parts that the vise does not hold, as data: round work that lies in V-blocks, blocks that stand
// against the angle plate.
#pragma once

#include "fitwright/planner/holding.h"
#include "tests/support/lathe_parts.h"

namespace fitwright::mill_parts {

using bench::Bored;
using bench::Fit;
using bench::HoleWish;
using bench::Make;
using bench::MakeSawnBlock;
using bench::MakeTurned;
using bench::Outer;
using bench::Plain;
using lathe_parts::AsSupplied;
using lathe_parts::Ends;
using lathe_parts::MachineOf;
using lathe_parts::Made;
using lathe_parts::MakeAndReplay;

// A round bar of its own outside, cut to length.
inline Part Bar(const std::string& name, double diameter, double length) {
  Part part = MakeTurned(name, diameter, -4, length + 4);
  part.material = "silver steel";
  part.features = {AsSupplied(Outer("outside", 0, length, Plain(diameter, 0.01))),
                   Ends("near_end", 0, false), Ends("far_end", length, true)};
  return part;
}

inline Feature CrossHole(const std::string& name, const Vec3& from, double bar, double at,
                         double diameter) {
  HoleWish wish;
  wish.into = -from;
  wish.entries = {from * bar / 2 + at * Vec3::UnitZ()};
  wish.diameter = Plain(diameter);
  wish.depth = bar;
  wish.through = true;
  return Bored(name, wish);
}

// Longer than the vise opens: a cross hole, a flat on the same side, a keyway at the end a quarter
// round.
inline Part Shaft() {
  Part part = Bar("shaft", 16, 150);
  Flats flat;
  flat.from_mm = 90;
  flat.to_mm = 110;
  flat.across = Plain(14, 0.05);
  flat.count = 1;
  Keyway keyway;
  keyway.from_mm = 130;
  keyway.to_mm = 150;
  keyway.width = Plain(5, 0.05);
  keyway.floor_mm = 5;
  keyway.side_P = Vec3::UnitY();
  part.features.push_back(CrossHole("cross_hole", Vec3::UnitX(), 16, 40, 4));
  part.features.push_back(Make("flat", flat));
  part.features.push_back(Make("keyway", keyway));
  return part;
}

// Short, the hole in its middle: one block on either side of it.
inline Part CrossPin() {
  Part part = Bar("cross_pin", 10, 36);
  part.stock.to_mm = 37;
  part.stock.from_mm = -30;
  part.features.push_back(CrossHole("cross_hole", Vec3::UnitX(), 10, 18, 3));
  return part;
}

// Ground on all sides as bought; holes in its top, high above what a vise would grip.
inline Part TallBlock() {
  Part part = MakeSawnBlock("tall_block", Vec3(0, 0, 0), Vec3(80, 50, 110), 0);
  for (Feature& face : part.features) face.finish = Finish::kAsSupplied;
  HoleWish wish;
  wish.entries = {Vec3(20, 25, 110), Vec3(60, 25, 110)};
  wish.depth = 15;
  wish.diameter = Plain(6);
  part.features.push_back(Bored("holes", wish));
  return part;
}

// A block with a slope of 3 by 6 along an edge, 26.565 degrees from the top.
inline Part SlopedBlock() {
  Part part = MakeSawnBlock("sloped_block", Vec3(0, 0, 0), Vec3(60, 40, 30));
  EdgeChamfer slope;
  slope.face_a = FeatureId("top");
  slope.face_b = FeatureId("front");
  slope.leg_a_mm = 12;
  slope.leg_b_mm = 6;
  part.features.push_back(Make("slope", slope));
  return part;
}

// A hole square to the slope, from the middle of it.
inline Part DrilledSlope() {
  Part part = SlopedBlock();
  HoleWish wish;
  wish.into = -Vec3(1, 0, 2).normalized();
  wish.entries = {Vec3(54, 20, 27)};
  wish.depth = 10;
  wish.diameter = Plain(4);
  part.features.push_back(Bored("oil_hole", wish));
  return part;
}

// A round head with six flats 17 across, a shank below it.
inline Part HexHead() {
  Part part = MakeTurned("hex_head", 20, -30, 31);
  part.material = "steel";
  Flats flats;
  flats.from_mm = 22;
  flats.to_mm = 30;
  flats.across = Plain(17, 0.05);
  flats.count = 6;
  part.features = {AsSupplied(Outer("head", 22, 30, Plain(20, 0.05))),
                   Outer("shank", 0, 22, Plain(12)), Ends("foot", 0, false),
                   Ends("crown", 30, true), Make("hexagon", flats)};
  return part;
}

inline Shop WithoutVise(Shop shop) {
  std::erase_if(shop.holding,
                [](const HoldingDevice& d) { return d.kind == HoldingDeviceKind::kVise; });
  return shop;
}

inline const Setup* FindSetup(const Plan& plan, HoldingKind holding) {
  for (const Setup& setup : plan.setups) {
    if (setup.holding == holding) return &setup;
  }
  return nullptr;
}

}  // namespace fitwright::mill_parts
