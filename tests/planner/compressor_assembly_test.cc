// The compressor put together on the bench: what a fitter needs is said, in an order in which it can be done.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "fitwright/files/project.h"
#include "fitwright/planner/fitting_bought.h"
#include "fitwright/planner/whole_trial.h"

namespace fitwright::planner {
namespace {

using ::testing::HasSubstr;

class CompressorAssembly : public ::testing::Test {
 protected:
  void SetUp() override {
    Diagnostics faults;
    auto project = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/airbrush-compressor", {}, faults);
    ASSERT_TRUE(project) << Format(project.error());
    machine_ = std::move(project->machine);
    shop_ = std::move(project->shop);
    AssembledBefore before;
    for (const char* part : {"body", "foot_left", "foot_right"}) before.stays_on.insert(PartId(part));
    for (const char* joint : {"crank_cross_pin", "crankpin_cross_pin"}) before.pinned.insert(JointId(joint));
    auto setup = WholeTrial(machine_, shop_, FindSubjects(machine_), before);
    ASSERT_TRUE(setup);
    setup_ = *std::move(setup);
    for (const Step& step : setup_.steps) text_ += "\n" + step.words + (step.measure ? " | " + step.measure->words : "");
    SCOPED_TRACE(text_);
  }

  // Where the first step with these words stands.
  std::ptrdiff_t At(const std::string& words) const {
    for (std::size_t i = 0; i < setup_.steps.size(); ++i) {
      const Step& step = setup_.steps[i];
      if (step.words.find(words) != std::string::npos || (step.measure && step.measure->words.find(words) != std::string::npos)) {
        return static_cast<std::ptrdiff_t>(i);
      }
    }
    ADD_FAILURE() << "not said: " << words << text_;
    return -1;
  }

  Machine machine_;
  Shop shop_;
  fitwright::Setup setup_;
  std::string text_;
};

// Pins were driven where their holes were drilled; all else that is bought goes in here, screws of joints by their joint.
TEST_F(CompressorAssembly, EveryBoughtPartIsFitted) {
  std::set<PartId> parts;
  std::set<JointId> joints;
  for (const Step& step : setup_.steps) {
    parts.insert(step.parts.begin(), step.parts.end());
    joints.insert(step.joints.begin(), step.joints.end());
  }
  for (const BoughtPart& bought : machine_.bought) {
    const bool pin = bought.part.name == PartId("crank_cross_pin") || bought.part.name == PartId("crankpin_cross_pin");
    EXPECT_NE(parts.contains(bought.part.name), pin) << bought.part.name.text();
  }
  for (const Joint& joint : machine_.joints) {
    const bool feet = joint.moving.part == PartId("foot_left") || joint.moving.part == PartId("foot_right");
    EXPECT_TRUE(joint.kind != JointKind::kScrewedPattern || feet || joints.contains(joint.name)) << joint.name.text();
  }
}

TEST_F(CompressorAssembly, ScrewsGoWhereTheirThreadsAre) {
  const auto places = FindThreadPlaces(machine_);
  const auto thread = [&](const char* name) { return places.at(PartId(name)).front().thread.text(); };
  EXPECT_EQ(thread("crankpin_screw"), "crankpin.screw_hole");
  EXPECT_EQ(thread("reed_screw"), "valve_plate.stop_hole");
  EXPECT_EQ(thread("shaft_nut"), "crankshaft.thread");
  EXPECT_EQ(thread("foot_screw"), "base_plate.foot_holes");
  EXPECT_EQ(places.at(PartId("grub_screw")).size(), 2U);
  EXPECT_FALSE(places.contains(PartId("check_valve")));
}

TEST_F(CompressorAssembly, IsDoneInAnOrderThatCanBeReached) {
  const std::vector<std::vector<const char*>> rows = {
      // The feet were cut with the body and are looked at first.
      {"Look at R8_left", "ring#2 into", "ring into", "liner over piston", "liner, with all that is on it, into body", "Look at R10", "gasket plate onto"},
      // The crank is made up in its housing; the face that meets the body stands for it in R13, while it can be reached.
      {"bearing front into", "circlip into", "crankshaft, with all that is on it,", "Look at R13", "front housing, with all that is on it, into body",
       "driven pulley", "lock nut M8", "Look at R7", "rear cover into"},
      {"front housing, with all", "pin washer", "cap screw M2.5 x 6", "rear cover into"},
      // Wire before the gap is shut, read when all is drawn tight.
      {"gasket plate onto", "For R3, before it is shut off", "valve plate onto", "screw M2.5 x 4", "4 screws M4 x 30", "Look at R3"},
      {"base plate onto", "screw M5 x 16", "relief valve", "motor pulley", "round belt 5"}};
  for (const auto& row : rows) {
    for (std::size_t i = 1; i < row.size(); ++i) EXPECT_LT(At(row[i - 1]), At(row[i])) << row[i - 1] << " before " << row[i] << text_;
  }
}

TEST_F(CompressorAssembly, SaysWhichWayRoundAndWhatHoldsIt) {
  for (const char* words : {"into body from the front, spigot end first", "6 screws M3 x 16: all in by hand", "Press on the outer ring alone",
                            "Guide the outside of crankpin and the big eye of connecting rod into each other on the way",
                            "Turned so that its breather is towards the deck of body", "half of its base on the pin face of crank disc, beside what stands out of that, its rod "
                            "down on the flange face of front housing (it comes against the front of body) past the edge",
                            // What is sunk no feeler reaches; a circlip's room is told before it is in; what turns is locked.
                            "the flange under meets the counterbore floor: no feeler reaches there", "the flange face meets the front: no feeler of 0.03 mm",
                            "less the lip before its groove as measured when that was cut (1.00 mm as drawn), is no less than the circlip mikes", "It goes round with what it is in: a drop of thread lock",
                            "clear of reed, there in the gap", "soft pad 4.5 x 1.5, brass or PTFE: on the ends of the gudgeon pin", "holds them there: a dab of grease until what comes over is on", "one washer more", "Turned so that one of its nose flats is towards the left of body", "on the thread end of crankshaft, along the axis",
                            "Centres 140.0 mm apart", "the whole swing of the needle", "Press each ring in with the fingers as it meets the lead"}) {
    EXPECT_THAT(text_, HasSubstr(words));
  }
}

}  // namespace
}  // namespace fitwright::planner
