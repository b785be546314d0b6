#include "fitwright/planner/whole_trial.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/slow_builds.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::testing;
using ::testing::HasSubstr;
using ::testing::Not;

std::vector<PartId> Ids(const std::vector<std::string>& names) { return {names.begin(), names.end()}; }

Shop BenchShop() {
  Shop shop;
  MachineTool bench;
  bench.name = MachineToolId("bench");
  bench.kind = MachineToolKind::kBench;
  shop.machines = {bench};
  shop.instruments = {{InstrumentId("depths"), InstrumentKind::kDepthMicrometer, "depth micrometer", 0, 50, 0, 0, {}}};
  return shop;
}

Machine Stack() {
  Machine machine;
  const Size ten = MakeSize(10, 10);
  for (const char* name : {"body", "foot", "shaft", "disc", "lid"}) {
    machine.parts.push_back(SuppliedRound(name, ten, ten, 8));
    machine.uses.push_back(StandsAt(name, {0, 0, 0}));
  }
  machine.joints = {JoinedBy("glued", JointKind::kBonded, "shaft.outside", "disc.bore")};
  machine.requirements = {Required("gap", RequirementKind::kDistance, "lid.low_end", "disc.high_end", 0.2, 0.4),
                          Required("proud", RequirementKind::kProud, "disc.high_end", "body.high_end", 0.02, 0.05),
                          Required("own", RequirementKind::kRunOut, "body.bore", "body.outside", {}, 0.02)};
  for (Requirement& r : machine.requirements) r.words = "as asked";
  return machine;
}

// Disc and shaft are bonded and go in as one, the foot was cut with the body, the lid shuts the disc in.
Subjects Together() {
  Subjects subjects;
  subjects.together.first = Ids({"body"});
  subjects.together.steps = {{Ids({"foot"}), Vec3::UnitY(), Ids({"body"})},
                             {Ids({"disc"}), Vec3::UnitX(), Ids({"shaft"})},
                             {Ids({"shaft", "disc"}), -Vec3::UnitZ(), Ids({"body"})},
                             {Ids({"lid"}), -Vec3::UnitZ(), Ids({"body"})}};
  return subjects;
}

std::vector<std::string> WordsOf(const Setup& setup) {
  std::vector<std::string> words;
  for (const Step& step : setup.steps) words.push_back(step.words);
  return words;
}

TEST(WholeTrial, LooksAtEachRequirementWhenTheLastOfItsPartsIsOn) {
  const auto setup = WholeTrial(Stack(), BenchShop(), Together(), {{PartId("body"), PartId("foot")}, {}});
  ASSERT_TRUE(setup);
  EXPECT_THAT(WordsOf(*setup),
              ::testing::ElementsAre(HasSubstr("body and foot were cut in one go and stay together"),
                                     HasSubstr("shaft, with all that is on it, onto body from the high end, low end first."),
                                     HasSubstr("Look at proud: as asked. 0.020 to 0.050 mm."),
                                     HasSubstr("For gap, before it is shut off, turned by hand to where the gap is widest: lay two bits of soft wire, 0.6 mm thick, on the high end of disc"),
                                     HasSubstr("lid onto body from the high end, low end first."),
                                     HasSubstr("Look at gap: as asked. 0.200 to 0.400 mm. All is drawn tight: turn it over once by hand, so that the gap has "
                                               "been at its least. Take lid off again"),
                                     HasSubstr("Turn and slide by hand")));
  EXPECT_EQ(setup->steps[2].measure->instrument, InstrumentId("depths"));
  EXPECT_THAT(setup->steps[2].measure->words, HasSubstr("the high end of disc"));
  EXPECT_EQ(setup->parts.size(), 5U);
}

TEST(WholeTrial, WhatWasNotLeftTogetherIsPutOn) {
  const auto setup = WholeTrial(Stack(), BenchShop(), Together(), {});
  ASSERT_TRUE(setup);
  EXPECT_THAT(setup->steps[0].words, Not(HasSubstr("stay together")));
  EXPECT_THAT(setup->steps[1].words, HasSubstr("foot onto body."));
}

TEST(WholeTrial, ACirclipSpringsIntoItsGroove) {
  Machine machine = Stack();
  BoughtPart clip;
  clip.part = SuppliedRound("clip", MakeSize(10, 10), MakeSize(6, 6), 1);
  clip.kind = BoughtKind::kCirclip;
  clip.placed = true;
  machine.bought.push_back(clip);
  Subjects subjects = Together();
  subjects.together.steps.push_back({Ids({"clip"}), -Vec3::UnitZ(), Ids({"body"})});
  const auto setup = WholeTrial(machine, BenchShop(), subjects, {});
  ASSERT_TRUE(setup);
  EXPECT_THAT(WordsOf(*setup), ::testing::Contains(HasSubstr("into its groove in body with circlip pliers, eye protection on")));
}

// It goes in from the bore's nearer end, however the drawn one could be slid out.
TEST(WholeTrial, ACirclipComesAlongItsBore) {
  for (const auto& [from_mm, way] : {std::pair{1.0, "from the low end"}, std::pair{6.0, "from the high end"}}) {
    Machine machine = Stack();
    Groove groove;
    groove.internal = true;
    groove.from_mm = from_mm;
    groove.to_mm = from_mm + 1;
    groove.diameter = MakeSize(11, 11);
    Feature feature;
    feature.name = FeatureId("groove");
    feature.shape = groove;
    machine.parts.front().features.push_back(feature);
    BoughtPart clip;
    clip.part = SuppliedRound("clip", MakeSize(11, 11), MakeSize(6, 6), 1);
    clip.kind = BoughtKind::kCirclip;
    clip.placed = true;
    machine.bought.push_back(clip);
    machine.bought_uses.push_back(StandsAt("clip", {0, 0, from_mm}));
    Subjects subjects = Together();
    subjects.together.steps.push_back({Ids({"clip"}), Vec3::UnitX(), Ids({"body"})});
    const auto setup = WholeTrial(machine, BenchShop(), subjects, {});
    ASSERT_TRUE(setup);
    EXPECT_THAT(WordsOf(*setup), ::testing::Contains(HasSubstr(std::string("into its groove in body ") + way + " with circlip pliers")));
  }
}

// Two lids, one thread of M3 in each, and a nut for the shaft: the screw's words name its lid, the nut's thread is
// the only one of its size, and what no thread tells is said at the end.
TEST(WholeTrial, WhatIsBoughtIsFittedWhenItsPlacesAreThere) {
  Machine machine = Stack();
  for (const auto& [its, thread] : {std::pair{"disc", "M3"}, std::pair{"lid", "M3"}, std::pair{"foot", "M4"}}) {
    const PartId part(its);  // clang keeps names of a binding out of lambdas
    Hole hole;
    hole.entries_P_mm = {Vec3(4, 0, 8)};
    hole.thread = InternalThread{thread, 3, 0.5, 4};
    hole.depth_mm = 5;
    Feature feature;
    feature.name = FeatureId("tapped");
    feature.shape = hole;
    std::find_if(machine.parts.begin(), machine.parts.end(), [&](const Part& p) { return p.name == part; })->features.push_back(feature);
  }
  const auto buy = [&](const char* name, BoughtKind kind, const char* what, const char* why) {
    BoughtPart bought;
    bought.part.name = PartId(name);
    bought.kind = kind;
    bought.what = what;
    bought.why = why;
    machine.bought.push_back(bought);
  };
  buy("valve", BoughtKind::kItem, "relief valve", "before all else");
  buy("lid_screw", BoughtKind::kScrew, "grub screw M3 x 3", "in the lid");
  buy("peg", BoughtKind::kScrew, "screw M4 x 8", "");
  const auto setup = WholeTrial(machine, BenchShop(), Together(), {{PartId("body"), PartId("foot")}, {}});
  ASSERT_TRUE(setup);
  const std::vector<std::string> words = WordsOf(*setup);
  const auto at = [&](const std::string& part) {
    return std::find_if(words.begin(), words.end(), [&](const std::string& w) { return w.find(part) != std::string::npos; }) - words.begin();
  };
  EXPECT_LT(at("grub screw M3 x 3: into the tapped of lid; in the lid."), static_cast<std::ptrdiff_t>(words.size()));
  EXPECT_GT(at("grub screw M3 x 3"), at("lid onto body"));
  EXPECT_LT(at("screw M4 x 8: into the tapped of foot"), at("shaft, with all"));
  EXPECT_EQ(at("relief valve (before all else): the sheets do not say where"), static_cast<std::ptrdiff_t>(words.size()) - 2);
}

TEST(WholeTrial, NothingToPutTogetherIsNoTrial) {
  Subjects none;
  EXPECT_FALSE(WholeTrial(Stack(), BenchShop(), none, {}));
  EXPECT_FALSE(WholeTrial(Stack(), Shop{}, Together(), {}));
}

}  // namespace
}  // namespace fitwright::planner
