// Joints and requirements of the compressor, taken away and proposed again from its parts in place.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "fitwright/model/validate.h"
#include "fitwright/recognize/joint_reading.h"
#include "tests/recognize_assembly/load_example.h"

namespace fitwright {
namespace {

using recognize::JointReading;

Machine WithoutJoints(Machine machine) {
  machine.joints.clear();
  machine.requirements.clear();
  return machine;
}

using Pair = std::pair<std::string, std::string>;
Pair PairOf(const FeatureRef& a, const FeatureRef& b) {
  return a < b ? Pair{a.text(), b.text()} : Pair{b.text(), a.text()};
}

std::string Words(const Joint& joint) {
  std::string text =
      std::string(WordOf(joint.kind)) + " " + joint.fixed.text() + " - " + joint.moving.text();
  if (joint.screw)
    text += " " + joint.screw->thread + " x " + std::to_string(joint.screw->length_mm);
  for (const FeatureRef& ref : joint.between) text += " through " + ref.text();
  return text;
}
std::string Words(const Requirement& r) {
  return std::string(WordOf(r.kind)) + " " + r.a.text() + " - " + r.b.text();
}

const Joint* Find(const std::vector<Joint>& joints, const Joint& wanted) {
  for (const Joint& joint : joints) {
    if (PairOf(joint.fixed, joint.moving) == PairOf(wanted.fixed, wanted.moving)) return &joint;
  }
  return nullptr;
}

struct Tally {
  int typed = 0;
  int joined = 0;  // the same two features
  int same_kind = 0;
  int same_screw = 0;  // of screwed patterns: thread, length and what they pass
  int screwed = 0;
  int same_way = 0;  // fixed and moving the same way round
};

// Counts, and prints every difference.
Tally Compare(const std::vector<Joint>& typed, const std::vector<Joint>& proposed) {
  Tally tally;
  for (const Joint& joint : typed) {
    ++tally.typed;
    const bool screwed = joint.kind == JointKind::kScrewedPattern;
    if (screwed) ++tally.screwed;
    const Joint* found = Find(proposed, joint);
    if (found == nullptr) {
      std::printf("not found: %s\n", Words(joint).c_str());
      continue;
    }
    ++tally.joined;
    if (found->fixed == joint.fixed) ++tally.same_way;
    const bool same_kind = found->kind == joint.kind;
    if (same_kind) ++tally.same_kind;
    const bool same_screw =
        !screwed || (found->screw && found->screw->thread == joint.screw->thread &&
                     std::abs(found->screw->length_mm - joint.screw->length_mm) < 1e-6 &&
                     found->between == joint.between);
    if (screwed && same_screw) ++tally.same_screw;
    if (!same_kind || !same_screw)
      std::printf("otherwise: %s, typed: %s\n", Words(*found).c_str(), Words(joint).c_str());
  }
  for (const Joint& joint : proposed) {
    if (Find(typed, joint) == nullptr) std::printf("beside: %s\n", Words(joint).c_str());
  }
  return tally;
}

TEST(Joints, OfTheCompressorAreFoundAgain) {
  const Machine typed = Load("airbrush-compressor");
  const JointReading reading = recognize::ReadJoints(WithoutJoints(typed));
  const Tally tally = Compare(typed.joints, reading.joints);
  std::printf(
      "%d of %d joints found, %d of the same kind, %d the same way round; %d of %d screws alike; "
      "%zu proposed\n",
      tally.joined, tally.typed, tally.same_kind, tally.same_way, tally.same_screw, tally.screwed,
      reading.joints.size());
  EXPECT_GE(tally.joined, tally.typed * 0.97);
  EXPECT_GE(tally.same_kind, tally.typed * 0.9);
  EXPECT_EQ(tally.same_screw, tally.screwed);
}

void Forget(Size& size) {
  size = {size.nominal_mm, size.nominal_mm, size.nominal_mm, LimitsOrigin::kGeneralTolerance, ""};
}

// A file's solids know neither limits nor threads nor what a part is made of.
Machine AsAFileHasIt(Machine machine) {
  for (Part& part : machine.parts) {
    part.material = "steel";
    for (Feature& feature : part.features) {
      feature.finish = Finish::kAsMachined;
      if (auto* hole = std::get_if<Hole>(&feature.shape)) {
        Forget(hole->diameter);
        hole->thread.reset();
      } else if (auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
        Forget(outer->diameter);
      } else if (auto* groove = std::get_if<Groove>(&feature.shape)) {
        Forget(groove->diameter);
      }
    }
  }
  return machine;
}

TEST(Joints, OfTheCompressorAreFoundAgainWithoutLimitsAndThreads) {
  const Machine typed = Load("airbrush-compressor");
  const JointReading reading = recognize::ReadJoints(AsAFileHasIt(WithoutJoints(typed)));
  const Tally tally = Compare(typed.joints, reading.joints);
  std::printf("%d of %d joints found, %d of the same kind; %d of %d screws alike; %zu threads\n",
              tally.joined, tally.typed, tally.same_kind, tally.same_screw, tally.screwed,
              reading.threads.size());
  EXPECT_GE(tally.joined, tally.typed * 0.97);
  EXPECT_GE(tally.same_kind, tally.typed * 0.9);
  // Five patterns, the reed's and the crankpin's screws, the driven pulley's grub screw.
  EXPECT_EQ(reading.threads.size(), 8u);
}

// What follows by itself from a joint counts as found with it.
bool FollowsFromJoint(const Requirement& r) {
  return r.kind == RequirementKind::kScrewsEnter || r.kind == RequirementKind::kClearance ||
         r.kind == RequirementKind::kInterference;
}
// Nothing in a shape says it.
bool IsIntent(const Requirement& r) { return r.kind == RequirementKind::kFormula; }

using Gaps = std::set<Pair>;
Gaps GapsOf(const Requirement& r) {
  Gaps gaps;
  for (const auto& [a, b] : r.gaps) gaps.insert(PairOf(a, b));
  return gaps;
}

TEST(Requirements, OfTheCompressorAreFoundAgain) {
  const Machine typed = Load("airbrush-compressor");
  const JointReading reading = recognize::ReadJoints(WithoutJoints(typed));
  int wanted = 0;
  int found = 0;
  for (const Requirement& r : typed.requirements) {
    if (r.derived || FollowsFromJoint(r) || IsIntent(r)) continue;
    ++wanted;
    const bool there = std::any_of(
        reading.requirements.begin(), reading.requirements.end(), [&](const Requirement& other) {
          return other.kind == r.kind && PairOf(other.a, other.b) == PairOf(r.a, r.b) &&
                 GapsOf(other) == GapsOf(r);
        });
    if (there) ++found;
    if (!there) std::printf("not found: %s\n", Words(r).c_str());
  }
  std::printf("%d of %d requirements found, %zu proposed:\n", found, wanted,
              reading.requirements.size());
  for (const Requirement& r : reading.requirements) std::printf("  %s\n", Words(r).c_str());
  EXPECT_GE(found, wanted - 1);
}

TEST(Joints, AreSoundAsTheyAreProposed) {
  for (const char* example : {"airbrush-compressor", "compressor-core", "bushed-block"}) {
    Machine machine = WithoutJoints(Load(example));
    JointReading reading = recognize::ReadJoints(machine);
    machine.joints = reading.joints;
    machine.requirements = reading.requirements;
    machine.bought.insert(machine.bought.end(), reading.bought.begin(), reading.bought.end());
    for (const ModelFault& fault : ValidateMachine(machine, ValidateDepth::kGeometry)) {
      ADD_FAILURE() << example << ": " << fault.path << ": " << fault.message << " " << fault.value;
    }
  }
}

// A gap that a gasket fills is none, and what end float counts is not asked for twice.
TEST(Requirements, LeaveFilledGapsAndEndFloatAlone) {
  const JointReading reading = recognize::ReadJoints(WithoutJoints(Load("airbrush-compressor")));
  for (const Requirement& r : reading.requirements) {
    EXPECT_NE(PairOf(r.a, r.b), Pair("head.bottom", "valve_plate.top"));
    EXPECT_NE(PairOf(r.a, r.b), Pair("body.deck", "valve_plate.bottom"));
    EXPECT_NE(PairOf(r.a, r.b), Pair("bearing_rear.low_end", "spacer.bearing_end"));
  }
}

TEST(Joints, SayWhyEachIsProposed) {
  const JointReading reading = recognize::ReadJoints(WithoutJoints(Load("airbrush-compressor")));
  std::set<std::string> told;
  for (const auto& inference : reading.inferred) {
    EXPECT_FALSE(inference.words.empty()) << inference.where;
    told.insert(inference.where);
  }
  for (const Joint& joint : reading.joints)
    EXPECT_TRUE(told.contains("joints." + joint.name.text())) << joint.name.text();
  for (const Requirement& r : reading.requirements)
    EXPECT_TRUE(told.contains("requirements." + r.name.text())) << r.name.text();
}

// Wherever the machine stands, the same joints.
TEST(Joints, DoNotDependOnWhereTheMachineStands) {
  Machine machine = WithoutJoints(Load("compressor-core"));
  const JointReading here = recognize::ReadJoints(machine);
  Pose X_NW = Pose::Identity();
  X_NW.linear() =
      (Eigen::AngleAxisd(0.7, Vec3(1, 2, 3).normalized()) * Eigen::AngleAxisd(1.9, Vec3::UnitX()))
          .toRotationMatrix();
  X_NW.translation() = Vec3(123.4, -56.7, 8.9);
  for (PartUse& use : machine.uses) {
    use.X_WP = X_NW * use.X_WP;
    for (Pose& copy : use.copies_X_WP) copy = X_NW * copy;
  }
  const JointReading there = recognize::ReadJoints(machine);
  ASSERT_EQ(here.joints.size(), there.joints.size());
  for (std::size_t i = 0; i < here.joints.size(); ++i)
    EXPECT_EQ(Words(here.joints[i]), Words(there.joints[i]));
  ASSERT_EQ(here.requirements.size(), there.requirements.size());
  for (std::size_t i = 0; i < here.requirements.size(); ++i)
    EXPECT_EQ(Words(here.requirements[i]), Words(there.requirements[i]));
}

}  // namespace
}  // namespace fitwright
