// How a written sheet reads: its words, its numbers, what stands beside what was proposed.
#include <gtest/gtest.h>

#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/files/project.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/general_tolerance.h"
#include "tests/files/sample_project.h"
#include "tests/support/compare_models.h"

namespace fitwright {
namespace {

using files::Remark;
using files_test::ProjectFolder;

Size General(double mm) { return *trade::MakeGeneralSize(mm, "m"); }

Feature Named(const std::string& name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  return feature;
}

// A turned bush with a ring of holes, as a reading of its solid gives it.
Part Bush() {
  Part part;
  part.name = PartId("bush");
  part.material = "bronze";
  part.envelope = EnvelopeKind::kTurned;
  part.features.push_back(
      Named("spigot", OuterDiameter{true, {}, -15, 0, *trade::MakeFitSize(25, "g6")}));
  part.features.push_back(Named("flange", OuterDiameter{false, {}, 0, 6, General(44)}));
  Hole bore;
  bore.use = HoleUse::kBore;
  bore.into_P = Vec3::UnitZ();
  bore.entries_P_mm = {Vec3(0, 0, -15)};
  bore.diameter = *trade::MakeFitSize(16, "H7");
  bore.depth_mm = 21;
  bore.through = true;
  bore.bottom = HoleBottom::kFlat;
  part.features.push_back(Named("bore", bore));
  Hole screws;
  screws.circle = CirclePattern{{Vec3(0, 0, 6), Vec3::UnitZ()}, Vec3::UnitX(), 35, 30, 6};
  for (int i = 0; i < 6; ++i) {
    const double angle_rad = (30 + 60 * i) * kRadPerDeg;
    screws.entries_P_mm.push_back(Vec3(17.5 * std::cos(angle_rad), 17.5 * std::sin(angle_rad), 6));
  }
  screws.diameter = General(3.4);
  screws.depth_mm = 6;
  screws.through = true;
  part.features.push_back(Named("holes", screws));
  part.stock.form = StockForm::kRound;
  part.stock.diameter_mm = 50;
  part.stock.from_mm = -17;
  part.stock.to_mm = 35;
  return part;
}

TEST(WrittenSheet, ReadsAsAPersonTypesIt) {
  const std::vector<Remark> remarks{{"material", "the file names none"},
                                    {"features.bore.fit", "a shaft of 16 h6 stands in it"},
                                    {"features.holes", "six on a circle"},
                                    {"features.holes.bottom", "they run\nout"}};
  const auto text = files::WritePart(Bush(), remarks);
  ASSERT_TRUE(text.has_value());
  EXPECT_EQ(*text, R"(format = "fitwright-part/1"
material = "bronze"               # proposed: the file names none
unit = "mm"
general_tolerance = "m"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 50
length = 52
start = -17

[[feature]]
name = "spigot"
kind = "spigot"
from = -15
to = 0
diameter = 25
fit = "g6"

[[feature]]
name = "flange"
kind = "outer_diameter"
from = 0
to = 6
diameter = 44

[[feature]]
name = "bore"
kind = "bore"
from = "-z"
diameter = 16
fit = "H7"                        # proposed: a shaft of 16 h6 stands in it
through = true

[[feature]]
name = "holes"                    # proposed: six on a circle; proposed: they run out
kind = "hole"
from = "+z"
circle = { diameter = 35, count = 6, first = 30, zero = "+x", towards = "+y" }
diameter = 3.4
through = true
)");
}

TEST(WrittenSheet, SaysWhatIsUnreadAndReadsItBack) {
  Part part = Bush();
  part.unread.push_back(
      {{11, 12}, 84.2, 31, "a face of the file lies on no plane, cylinder or cone"});
  part.unread.push_back({{3}, 0.00125, 0, "letters, \"2.5 bar\""});
  const auto text = files::WritePart(part);
  ASSERT_TRUE(text.has_value());
  EXPECT_NE(
      text->find(
          "[[unread]]\nfaces = [12, 13]\narea_mm2 = 84.2\nvolume_mm3 = 31\nwhy = \"a face of"),
      std::string::npos)
      << *text;
  const ProjectFolder folder({{"machine.toml",
                               "format = \"fitwright-machine/1\"\nname = \"one\"\nunits = "
                               "\"mm\"\n[[part]]\nsheet = \"bush\"\n"},
                              {"parts/bush.toml", *text}});
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  ASSERT_TRUE(project.has_value()) << (faults.empty() ? "" : Format(faults.errors().front()));
  const Part& again = project->machine.parts.front();
  ASSERT_EQ(again.unread.size(), 2u);
  EXPECT_EQ(again.unread[0].faces, part.unread[0].faces);
  EXPECT_EQ(again.unread[1].why, part.unread[1].why);
  EXPECT_DOUBLE_EQ(again.unread[1].area_mm2, 0.00125);
  const auto said = std::count_if(
      project->warnings.begin(), project->warnings.end(), [](const std::string& line) {
        return line.find("2 regions of its file's solid are not understood") != std::string::npos;
      });
  EXPECT_EQ(said, 1);
}

// The faults of an [[unread]] table with one line changed.
std::vector<std::string> FaultsOf(const std::string& from, const std::string& to) {
  Part part = Bush();
  part.unread.push_back({{11, 12}, 84.2, 31, "why not"});
  const std::string text = files_test::Edited(*files::WritePart(part), from, to);
  const ProjectFolder folder({{"machine.toml",
                               "format = \"fitwright-machine/1\"\nname = \"one\"\nunits = "
                               "\"mm\"\n[[part]]\nsheet = \"bush\"\n"},
                              {"parts/bush.toml", text}});
  Diagnostics faults;
  EXPECT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value()) << to;
  std::vector<std::string> words;
  for (const Error& error : faults.errors()) words.push_back(Format(error));
  return words;
}

TEST(WrittenSheet, RefusesUnreadRegionsThatSayNothing) {
  for (const auto& [from, to] : std::vector<std::pair<std::string, std::string>>{
           {"[12, 13]", "[12, 12]"},
           {"[12, 13]", "[0, 13]"},
           {"[12, 13]", "[1.5]"},
           {"faces = [12, 13]\n", ""},
           {"84.2", "0"},
           {"volume_mm3 = 31", "volume_mm3 = -1"},
           {"why not", " "},
           {"why = \"why not\"", "because = \"why not\""}}) {
    const auto faults = FaultsOf(from, to);
    ASSERT_FALSE(faults.empty()) << to;
    EXPECT_NE(faults[0].find("parts/bush.toml"), std::string::npos) << faults[0];
    EXPECT_NE(faults[0].find("unread"), std::string::npos) << faults[0];
  }
}

TEST(WrittenSheet, RefusesDirectionsThatNoSheetCanSay) {
  Part part = Bush();
  std::get<Hole>(part.features.back().shape).into_P = Vec3(0, 0.1, -1).normalized();
  const auto text = files::WritePart(part);
  ASSERT_FALSE(text.has_value());
  EXPECT_EQ(text.error().value, "holes");
}

TEST(WrittenSheet, SaysInchesShortAndRoundMillimetresAsSuch) {
  Part part = Bush();
  part.sheet_unit = LengthUnit::kInch;
  part.stock.diameter_mm = 2 * 25.4;
  const auto text = files::WritePart(part);
  ASSERT_TRUE(text.has_value());
  EXPECT_NE(text->find("unit = \"inch\""), std::string::npos);
  EXPECT_NE(text->find("form = \"round\"\ndiameter = 2\n"), std::string::npos) << *text;
  EXPECT_NE(text->find("diameter = \"44 mm\"\n"), std::string::npos) << *text;
}

TEST(WrittenMachine, SaysWhatWasProposedAndWhatNobodyStated) {
  Machine machine;
  machine.name = "two \"parts\"";
  Pose X_WP = Pose::Identity();
  X_WP.linear() = Eigen::AngleAxisd(kPi / 2, Vec3::UnitY()).toRotationMatrix();
  X_WP.translation() = Vec3(25, 0, 28);
  machine.uses.push_back({PartId("bush"), 1, X_WP, {}});
  machine.uses.push_back({PartId("block"), 3, Pose::Identity(), {}});
  Joint joint;
  joint.name = JointId("bush_fit");
  joint.kind = JointKind::kSpigotInBore;
  joint.fixed = {PartId("block"), FeatureId("bore")};
  joint.moving = {PartId("bush"), FeatureId("spigot")};
  machine.joints.push_back(joint);
  Requirement derived;
  derived.name = RequirementId("bush_fit_clearance");
  derived.derived = true;
  machine.requirements.push_back(derived);
  EXPECT_EQ(files::WriteMachine(
                machine, {{"joints.bush_fit.kind", "a face across it meets the other part"}}),
            R"(format = "fitwright-machine/1"
name = "two \"parts\""
units = "mm"

[[part]]
sheet = "bush"
at = [25, 0, 28]
turn = [0, 90, 0]

[[part]]
sheet = "block"
quantity = 3

[[joint]]
name = "bush_fit"
kind = "spigot_in_bore"           # proposed: a face across it meets the other part
fixed = "block.bore"
moving = "bush.spigot"
)");
}

}  // namespace
}  // namespace fitwright
