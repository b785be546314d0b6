// What builders of small machines find out afterwards, planted one at a time in invented machines, and whether it is said beforehand. The twenty
// ways of going wrong are common practice. docs/MEASURED.md has which are said and where.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/review/review.h"
#include "fitwright/sheets/report.h"

namespace fitwright {
namespace {

namespace fs = std::filesystem;

// One passage of a file, replaced where it stands first.
struct Change {
  std::string file;
  std::string from;
  std::string to;
};

struct Case {
  const char* name;
  const char* base;  // a folder of tests/hindsight/projects or of examples
  std::vector<Change> changes;
  std::vector<std::string> says;  // each in an alarm or in the build book; of a sound machine none
};

struct Said {
  std::vector<std::string> alarms;  // faults and warnings of reading, findings of the review, a refusal to plan
  std::string book;                 // on one line, so that a sentence may be looked for
};

void PrintTo(const Case& c, std::ostream* out) { *out << c.name; }

fs::path FolderOf(const std::string& base) {
  const fs::path own = fs::path(FITWRIGHT_SOURCE_DIR) / "tests/hindsight/projects" / base;
  return fs::exists(own) ? own : fs::path(FITWRIGHT_SOURCE_DIR) / "examples" / base;
}

void Apply(const fs::path& dir, const Change& change) {
  std::stringstream read;
  read << std::ifstream(dir / change.file).rdbuf();
  std::string text = read.str();
  const std::size_t at = text.find(change.from);
  ASSERT_NE(at, std::string::npos) << change.file << ": " << change.from;
  std::ofstream(dir / change.file) << text.replace(at, change.from.size(), change.to);
}

// Runs of blanks and line ends become one blank.
std::string OnOneLine(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n';
    if (!blank || (!line.empty() && line.back() != ' ')) line += blank ? ' ' : c;
  }
  return line;
}

Result<files::Project> LoadChanged(const Case& c, Diagnostics& faults) {
  const fs::path dir = fs::path(::testing::TempDir()) / ("hindsight_" + std::string(c.name));
  fs::remove_all(dir);
  fs::copy(FolderOf(c.base), dir, fs::copy_options::recursive);
  for (const Change& change : c.changes) Apply(dir, change);
  auto project = files::LoadProject(dir, {}, faults);
  fs::remove_all(dir);
  return project;
}

// A sound machine is planned in the deep run only; what is said of it is said before that.
Said Foresee(const Case& c, bool plans) {
  Said said;
  Diagnostics faults;
  const auto project = LoadChanged(c, faults);
  for (const Error& fault : faults.errors()) said.alarms.push_back(Format(fault));
  if (!project) return said;
  for (const std::string& warning : project->warnings) said.alarms.push_back(warning);
  for (const review::Finding& f : review::Review(project->machine)) said.alarms.push_back(std::string(WordOf(f.rule)) + " " + f.where + ": " + f.say);
  if (!plans) return said;
  planner::PlannerOptions options;
  options.search_builds = 128;
  options.advice_builds = 256;
  options.final_builds = 1000;
  options.work.budget = 40;
  const auto plan = planner::MakePlan(project->machine, project->shop, project->choices, options);
  if (!plan) {
    said.alarms.push_back(Format(plan.error()));
  } else {
    said.book = OnOneLine(sheets::MakeReport(project->machine, project->shop, *plan, {}));
  }
  return said;
}

std::string Listed(const std::vector<std::string>& alarms) {
  std::string text;
  for (const std::string& alarm : alarms) text += "\n  " + alarm;
  return text;
}

const char* kBlock = "parts/block.toml";
const char* kBush = "parts/bush.toml";
const char* kFoot = "parts/foot.toml";
const char* kMachine = "machine.toml";
const char* kBeam = "parts/beam.toml";
const char* kBox = "parts/box.toml";
const char* kCover = "parts/cover.toml";

const std::string kTopHoles = "diameter = 35, count = 6, first = 30";
const std::string kBelow = "\n[[feature]]\nname = \"below\"\nkind = \"hole\"\nfrom = \"-z\"\npoints = [[-20, -18], [20, 18]]\nthread = \"M4\"\ndepth = 12\n";

std::vector<Case> Regrets() {
  return {
      {"wrong_datum_after_turning_over", "bushed-block", {{kBlock, "depth = 10\n", "depth = 10\n" + kBelow}}, {"Drill the two 3.3, 12 deep", "Check Over the far corner the readings are"}},
      {"patterns_do_not_line_up", "bushed-block", {{kBlock, kTopHoles, "diameter = 35, count = 6, first = 0"}}, {"hole 1 stands 9.059 mm from the nearest of the other pattern"}},
      {"bore_not_square_to_its_seat", "bushed-block", {}, {"Top and bore are cut without moving the piece, so that the bore is square to the face"}},
      {"nothing_left_to_hold", "bushed-block", {{kBush, "length = 52\nstart = -17", "length = 23\nstart = -16"}}, {"That is short for its diameter"}},
      {"tapped_before_the_mate_exists", "bushed-block", {{kBush, "diameter = 3.2\n", "diameter = 3.05\n"}}, {"Spot the block's six holes (top holes) through the bush, clamped in place", "spotted through the bush"}},
      {"inch_and_metric_mixed", "bushed-block", {{kFoot, "unit = \"mm\"", "unit = \"inch\""}}, {"with bare numbers in inches the part is 1016 mm long"}},
      {"readout_zero_lost", "covered_box", {}, {"Check Over the far corner the readings are"}},
      {"finder_on_the_wrong_side", "covered_box", {}, {"With the 10 mm edge finder at the edge on your left hand set x to -5.000 mm"}},
      {"drilled_into_the_parallels", "bushed-block", {}, {"Ease the feed as the point breaks through; the parallels clear of it."}},
      {"no_room_for_the_chuck", "bushed-block", {{kBlock, "[[feature]]\nname = \"side_holes\"", "[[feature]]\nname = \"ledge\"\nkind = \"step\"\nfrom = \"+z\"\nremoved = { x = [24, 30], y = [-25, 25], z = [6, 40] }\n\n[[feature]]\nname = \"in_the_corner\"\nkind = \"hole\"\nfrom = \"+z\"\nat = [27, -14, 6]\ndiameter = 2\ndepth = 4\n\n[[feature]]\nname = \"side_holes\""}}, {"the 2 mm drill is not long enough for 4 mm: it must stand 38", "past what stands beside the hole"}},
      {"a_turn_of_the_handwheel_out", "covered_box", {}, {"a caliper across the first hole"}},
      {"mirror_part_made_same_handed", "two_feet", {}, {"Foot right is the mirror image of foot left, not a second one alike."}},
      {"drill_point_breaks_out", "bushed-block", {{kBlock, "[[-12, 12], [12, 12]]\nthread = \"M4\"\nthread_depth = 8\ndepth = 10", "[[-4, 12], [4, 12]]\nthread = \"M4\"\nthread_depth = 8\ndepth = 12.6"}, {kFoot, "[[-12, 12], [12, 12]]", "[[-4, 12], [4, 12]]"}}, {"point_breaks_out block.side_holes"}},
      {"a_millimetre_still_to_come_off", "bushed-block", {}, {"Measure before the last level and take off what is left.", "Measured ________ mm"}},
      {"chip_under_the_part", "bushed-block", {}, {"The bed wiped with the bare hand, every burr off"}},
      {"thin_part_sprung_in_the_vise", "covered_box", {{kCover, "z = [30, 38]", "z = [30, 33]"}, {kCover, "size = [64, 44, 12]", "size = [64, 44, 7]"}, {kMachine, "length = 16", "length = 12"}, {kMachine, "[7.8, 8.2]", "[2.8, 3.2]"}}, {"nothing in the shop holds cover with +z towards the tool"}},
      {"bad_tool_on_the_last_cut", "bushed-block", {}, {"cut to suit the block bore"}},
      {"screw_too_big_for_its_boss", "bushed-block", {{kBush, "to = 6\ndiameter = 44", "to = 6\ndiameter = 39"}}, {"edge_near bush.screw_holes"}},
      {"drawing_lacks_a_fit", "bushed-block", {{kBush, "diameter = 25\nfit = \"g6\"", "diameter = 25"}}, {"fit_missing"}},
      {"tired_cuts", "bushed-block", {}, {"A place to break off"}},
  };
}

std::vector<Case> Sound() {
  return {
      {"sound_bushed_block", "bushed-block", {}, {}},
      {"sound_five_screws", "bushed-block", {{kBlock, "count = 6", "count = 5"}, {kBush, "count = 6", "count = 5"}}, {}},
      {"sound_four_screws", "bushed-block", {{kBlock, "count = 6", "count = 4"}, {kBush, "count = 6", "count = 4"}}, {}},
      {"sound_steel_block", "bushed-block", {{kBlock, "\"aluminium\"", "\"steel\""}}, {}},
      {"sound_brass_bush", "bushed-block", {{kBush, "\"bronze\"", "\"brass\""}}, {}},
      {"sound_wider_flange", "bushed-block", {{kBush, "to = 6\ndiameter = 44", "to = 6\ndiameter = 46"}}, {}},
      {"sound_loose_running_bush", "bushed-block", {{kBush, "fit = \"g6\"", "fit = \"f7\""}}, {}},
      {"sound_taller_block", "bushed-block", {{kBlock, "z = [0, 40]", "z = [0, 42]"}, {kBlock, "[64, 55, 45]", "[64, 55, 47]"}, {kMachine, "at = [0, 0, 40]", "at = [0, 0, 42]"}}, {}},
      {"sound_deeper_side_holes", "bushed-block", {{kBlock, "thread_depth = 8\ndepth = 10", "thread_depth = 8\ndepth = 11.5"}}, {}},
      {"sound_wide_flush_limit", "bushed-block", {{kMachine, "within = 0.05", "within = 0.3"}}, {}},
      {"sound_covered_box", "covered_box", {}, {}},
      {"sound_brass_box", "covered_box", {{kBox, "\"aluminium\"", "\"brass\""}}, {}},
      {"sound_bigger_clearance", "covered_box", {{kCover, "diameter = 3.4", "diameter = 3.6"}}, {}},
      {"sound_shallower_chamber", "covered_box", {{kBox, "depth = 15", "depth = 10"}}, {}},
      {"sound_wide_corners", "covered_box", {{kBox, "corner_radius = 4", "corner_radius = 6"}}, {}},
      {"sound_two_feet", "two_feet", {}, {}},
      {"sound_steel_feet", "two_feet", {{"parts/foot_left.toml", "\"aluminium\"", "\"steel\""}}, {}},
      {"sound_thicker_beam", "two_feet", {{kBeam, "z = [0, 30]", "z = [0, 32]"}, {kBeam, "[64, 34, 34]", "[64, 34, 36]"}}, {}},
      {"sound_wider_clearance_feet", "two_feet", {{"parts/foot_left.toml", "diameter = 4.5", "diameter = 4.8"}}, {}},
      {"sound_level_within_two_tenths", "two_feet", {{kMachine, "within = 0.1", "within = 0.2"}}, {}},
  };
}

class Regret : public ::testing::TestWithParam<Case> {};
TEST_P(Regret, IsSaidBeforehand) {
  const Said said = Foresee(GetParam(), true);
  for (const std::string& sentence : GetParam().says) {
    const bool alarmed = std::any_of(said.alarms.begin(), said.alarms.end(), [&](const std::string& a) { return a.find(sentence) != std::string::npos; });
    EXPECT_TRUE(alarmed || said.book.find(sentence) != std::string::npos) << sentence;
  }
}
INSTANTIATE_TEST_SUITE_P(Twenty, Regret, ::testing::ValuesIn(Regrets()), [](const auto& of) { return std::string(of.param.name); });

class SoundMachine : public ::testing::TestWithParam<Case> {};
TEST_P(SoundMachine, RaisesNoAlarm) { EXPECT_EQ(Listed(Foresee(GetParam(), std::getenv("FITWRIGHT_DEEP") != nullptr).alarms), ""); }
INSTANTIATE_TEST_SUITE_P(Twenty, SoundMachine, ::testing::ValuesIn(Sound()), [](const auto& of) { return std::string(of.param.name); });

}  // namespace
}  // namespace fitwright
