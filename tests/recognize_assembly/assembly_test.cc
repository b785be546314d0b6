// Solids in place read as a machine: what is alike, mirrored, bought.
#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/files/project.h"
#include "fitwright/model/mirror.h"
#include "fitwright/recognize/alike.h"
#include "fitwright/recognize/assembly_reading.h"
#include "fitwright/recognize/bought_shapes.h"
#include "fitwright/trade/general_tolerance.h"
#include "tests/recognize_assembly/load_example.h"

namespace fitwright {
namespace {

using recognize::AssemblyReading;
using recognize::PlacedReading;

// Every body as a solid of its own, as a file has them: copies apart, no word of what is bought.
std::vector<PlacedReading> Solids(const Machine& machine) {
  std::vector<PlacedReading> solids;
  for (const auto* uses : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& use : *uses) {
      PlacedReading one;
      one.reading.part = *machine.FindPart(use.part);
      one.reading.part.mirror_of.reset();
      one.reading.part.name = PartId("solid");
      one.X_WP = use.X_WP;
      solids.push_back(one);
      for (const Pose& copy : use.copies_X_WP) {
        one.X_WP = copy;
        solids.push_back(one);
      }
    }
  }
  return solids;
}

const PartUse* UseAt(const Machine& machine, const Vec3& p_W) {
  for (const auto* uses : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& use : *uses) {
      if ((use.X_WP.translation() - p_W).norm() < 1e-6) return &use;
    }
  }
  return nullptr;
}

int CountOf(const Machine& machine, BoughtKind kind) {
  int count = 0;
  for (const BoughtPart& bought : machine.bought)
    count += bought.kind == kind ? bought.quantity : 0;
  return count;
}

TEST(Assembly, OfTheCompressor) {
  const Machine typed = Load("airbrush-compressor");
  const auto reading = recognize::ReadAssembly(Solids(typed), "read");
  ASSERT_TRUE(reading.has_value());
  const Machine& machine = reading->machine;
  // Two rings and two reeds once each, with quantity.
  const PartUse* ring = UseAt(machine, Vec3(0, 0, 84.11));
  ASSERT_NE(ring, nullptr);
  EXPECT_EQ(ring->quantity, 2);
  ASSERT_EQ(ring->copies_X_WP.size(), 1u);
  EXPECT_NEAR(ring->copies_X_WP[0].translation().z(), 81.91, 1e-6);
  EXPECT_EQ(CountOf(machine, BoughtKind::kBearing), 2);
  EXPECT_EQ(CountOf(machine, BoughtKind::kCirclip), 1);
  ASSERT_EQ(reading->mirrors.size(), 1u);
  EXPECT_EQ(reading->mirrors[0].axis, 1);
  EXPECT_EQ(reading->parts.size(), machine.parts.size());
  EXPECT_GE(machine.joints.size(), typed.joints.size());
}

Part Turned180(const Part& part) {
  return MirrorPart(MirrorPart(part, part.name, 0), part.name, 1);
}

TEST(Alike, FindsEveryPartOfTheCompressorTurnedHalfRound) {
  for (const Part& part : Load("airbrush-compressor").parts) {
    Part turned = Turned180(part);
    std::reverse(turned.features.begin(), turned.features.end());
    const auto motion = recognize::FindMotion(part, turned);
    ASSERT_TRUE(motion.has_value()) << part.name.text();
    EXPECT_NEAR(motion->linear().determinant(), 1, 1e-12);
  }
}

TEST(Alike, TellsAPartFromOneALittleOff) {
  const Machine machine = Load("bushed-block");
  for (const Part& part : machine.parts) {
    for (std::size_t i = 0; i < part.features.size(); ++i) {
      auto* hole = std::get_if<Hole>(&part.features[i].shape);
      if (hole == nullptr) continue;
      Part other = part;
      std::get<Hole>(other.features[i].shape).entries_P_mm[0].x() += 0.001;
      EXPECT_FALSE(recognize::FindMotion(part, other).has_value()) << part.features[i].name.text();
    }
  }
}

TEST(Alike, FindsMirrorPairsAndTheirPlane) {
  const Machine machine = Load("compressor-core");
  const Part& left = *machine.FindPart(PartId("foot_left"));
  const Part& right = *machine.FindPart(PartId("foot_right"));
  EXPECT_FALSE(recognize::FindMotion(left, right).has_value());
  const auto mirror = recognize::FindMirror(left, right);
  ASSERT_TRUE(mirror.has_value());
  EXPECT_EQ(mirror->axis, 1);
  EXPECT_TRUE(mirror->X_BM.isApprox(Pose::Identity(), 1e-9));
  // A part that is its own mirror image is no pair.
  const Part& liner = *machine.FindPart(PartId("liner"));
  EXPECT_FALSE(recognize::FindMirror(liner, liner).has_value());
}

Feature Named(const std::string& name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  return feature;
}

Size General(double mm) { return *trade::MakeGeneralSize(mm, "m"); }

// A turned body of sections (length, diameter) along z.
Part Body(const std::vector<std::pair<double, double>>& sections, double bore_mm = 0,
          bool through = true) {
  Part part;
  part.envelope = EnvelopeKind::kTurned;
  double z = 0;
  for (const auto& [length_mm, diameter_mm] : sections) {
    const OuterDiameter section{false, {}, z, z + length_mm, General(diameter_mm)};
    part.features.push_back(Named("d" + std::to_string(part.features.size()), section));
    z += length_mm;
  }
  if (bore_mm > 0) {
    Hole hole;
    hole.entries_P_mm = {Vec3(0, 0, z)};
    hole.diameter = General(bore_mm);
    hole.depth_mm = through ? z : 0.4 * z;
    hole.through = through;
    part.features.push_back(Named("bore", hole));
  }
  return part;
}

std::string WhatOf(const Part& part) {
  const auto shape = recognize::FindBoughtShape(part);
  return shape ? shape->what : "";
}

TEST(Bought, KnowsStandardPartsBySize) {
  EXPECT_EQ(WhatOf(Body({{16, 3}, {3, 5.5}})), "socket cap screw M3 x 16 (ISO 4762)");
  EXPECT_EQ(WhatOf(Body({{4, 7}, {20, 4}})), "socket cap screw M4 x 20 (ISO 4762)");
  EXPECT_EQ(WhatOf(Body({{8, 26}}, 10)), "ball bearing 10 x 26 x 8");
  EXPECT_EQ(WhatOf(Body({{20, 4}})), "dowel pin 4 x 20 (ISO 8734)");
  EXPECT_EQ(WhatOf(Body({{1, 10}}, 5.3)), "washer for M5, 5.3 x 10 x 1");
  EXPECT_EQ(WhatOf(Body({{6, 4}}, 2, false)), "set screw M4 x 6");
}

TEST(Bought, LeavesWhatIsMade) {
  EXPECT_EQ(WhatOf(Body({{8, 26.5}}, 10)), "");
  EXPECT_EQ(WhatOf(Body({{20.4, 4}})), "");
  EXPECT_EQ(WhatOf(Body({{16, 3}, {5, 9}})), "");
  // A pin with a cross hole is made.
  Part pin = Body({{20, 4}});
  Hole cross;
  cross.into_P = -Vec3::UnitX();
  cross.entries_P_mm = {Vec3(2, 0, 10)};
  cross.diameter = General(1.5);
  cross.depth_mm = 4;
  pin.features.push_back(Named("cross", cross));
  EXPECT_EQ(WhatOf(pin), "");
}

TEST(Bought, ScrewsOfTheFileGiveTheirJointItsLength) {
  // A plate with a clearance hole on a block with a tapped one, and the screw in place, its head
  // low.
  PlacedReading block;
  block.reading.part.name = PartId("block");
  block.reading.part.block_P = {Vec3(0, 0, 0), Vec3(20, 20, 20)};
  Hole tapped;
  tapped.entries_P_mm = {Vec3(10, 10, 20)};
  tapped.diameter = General(2.5);
  tapped.depth_mm = 14;
  block.reading.part.features.push_back(Named("tapped", tapped));
  PlacedReading plate;
  plate.reading.part.name = PartId("plate");
  plate.reading.part.block_P = {Vec3(0, 0, 20), Vec3(20, 20, 26)};
  Hole clear;
  clear.entries_P_mm = {Vec3(10, 10, 26)};
  clear.diameter = General(3.4);
  clear.depth_mm = 6;
  clear.through = true;
  plate.reading.part.features.push_back(Named("clear", clear));
  PlacedReading screw;
  screw.reading.part = Body({{3, 5.5}, {14, 3}});
  screw.X_WP.linear() = Eigen::AngleAxisd(kPi, Vec3::UnitX()).toRotationMatrix();
  screw.X_WP.translation() = Vec3(10, 10, 29);
  const auto alone = recognize::ReadAssembly({block, plate}, "two");
  const auto with = recognize::ReadAssembly({block, plate, screw}, "three");
  ASSERT_TRUE(alone && with);
  ASSERT_EQ(alone->machine.joints.size(), 1u);
  EXPECT_EQ(alone->machine.joints[0].screw->thread, "M3");
  // The hole gets the thread that its size and the holes over it call for, and says why.
  const auto& tapped_again =
      std::get<Hole>(alone->machine.Find({PartId("block"), FeatureId("tapped")})->shape);
  ASSERT_TRUE(tapped_again.thread.has_value());
  EXPECT_EQ(tapped_again.thread->designation, "M3");
  ASSERT_EQ(alone->parts[0].size(), 1u);
  EXPECT_EQ(alone->parts[0][0].where, "features.tapped.thread");
  EXPECT_NE(alone->machine.joints[0].screw->length_mm, 14);
  ASSERT_EQ(with->machine.joints.size(), 1u);
  EXPECT_NEAR(with->machine.joints[0].screw->length_mm, 14, 1e-9);
  ASSERT_EQ(with->machine.bought.size(), 1u);
  EXPECT_EQ(with->machine.bought[0].kind, BoughtKind::kScrew);
}

TEST(Assembly, OfNothingIsRefused) {
  EXPECT_FALSE(recognize::ReadAssembly({}, "empty").has_value());
}

}  // namespace
}  // namespace fitwright
