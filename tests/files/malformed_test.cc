// Projects with one fault each: the fault is found, placed and said; nothing is written.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "fitwright/files/project.h"
#include "tests/files/malformed.h"
#include "tests/files/sample_project.h"

namespace fitwright::files_test {
namespace {

using ::testing::HasSubstr;

const Case kCases[] = {
    {"no_machine_file", "machine.toml", "", kMissing, ErrorCode::kFileMissing, "", "", "",
     "write it, or mend the name"},
    {"sheet_is_a_folder", "parts/bush.toml", "", kFolder, ErrorCode::kFileUnreadable,
     "machine:sheet = \"bush\"", "part[2].sheet", "\"bush\"", "put a text file in its place"},
    {"text_without_quotes", "parts/bush.toml", "material = \"bronze\"", "material = bronze",
     ErrorCode::kTomlSyntax, "material = bronze", "", "", "text in quotes"},
    {"not_utf8", "parts/bush.toml", "material = \"bronze\"", "material = \"br\xFFnze\"",
     ErrorCode::kBadText, "material =", "", "byte 0xFF", "plain UTF-8"},
    {"letter_outside_ascii", "parts/foot.toml", "legs = [3, 6]", "legs = [3, 6]\ngr\xC3\xB6sse = 1",
     ErrorCode::kNotAscii, "gr\xC3\xB6sse", "", "\xC3\xB6", "write it in ASCII"},
    {"later_format", "machine.toml", "fitwright-machine/1", "fitwright-machine/9",
     ErrorCode::kSchemaVersion, "fitwright-machine/9", "format", "\"fitwright-machine/9\"",
     "write format = \"fitwright-machine/1\""},
    {"bad_size_with_a_fit", "parts/block.toml", "diameter = 20", "diameter = \"twenty\"",
     ErrorCode::kBadLength, "twenty", "feature[2].diameter", "\"twenty\"", "mm"},
    {"face_without_a_side", "parts/foot.toml", "side = \"+z\"\nat = 8", "at = 8",
     ErrorCode::kMissingKey, "[[feature]]\nname = \"base_top\"", "feature[3].side", "",
     "name the side"},
    {"reference_without_a_point", "machine.toml", "a = \"bush.outer\"", "a = \"bush_outer\"",
     ErrorCode::kBadName, "bush_outer", "requirement[4].a", "\"bush_outer\"", "part.feature"},
    {"chamfer_on_nothing", "parts/block.toml", "on = \"bore\"\n", "", ErrorCode::kMissingKey,
     "[[feature]]\nname = \"lead\"", "feature[4].between", "", "on = \"NAME\""},
    {"mistyped_key", "parts/bush.toml", "across = 36", "acros = 36\nacross = 36",
     ErrorCode::kUnknownKey, "acros = 36", "feature[8].acros", "36", "write \"across\""},
    {"key_of_another_kind", "parts/bush.toml", "across = 36", "across = 36\nlegs = [1, 1]",
     ErrorCode::kUnknownKey, "legs = [1, 1]", "feature[8].legs", "[1, 1]", "take it out"},
    {"no_diameter", "parts/bush.toml", "diameter = 38\n", "", ErrorCode::kMissingKey,
     "[[feature]]\nname = \"flange\"", "feature[2].diameter", "", "write diameter"},
    {"text_for_a_flag", "parts/block.toml", "do_not_grip = true", "do_not_grip = \"yes\"",
     ErrorCode::kWrongType, "do_not_grip", "feature[2].do_not_grip", "\"yes\"",
     "write true or false"},
    {"number_for_a_word", "parts/block.toml", "bottom = \"118\"", "bottom = 118",
     ErrorCode::kWrongType, "bottom = 118", "feature[5].bottom", "118", "text in quotes"},
    {"unknown_kind", "parts/block.toml", "kind = \"slot\"", "kind = \"slott\"",
     ErrorCode::kUnknownWord, "kind = \"slott\"", "feature[8].kind", "\"slott\"", "write \"slot\""},
    {"unit_unknown", "machine.toml", "length = \"12 mm\"", "length = \"12 furlong\"",
     ErrorCode::kBadLength, "12 furlong", "joint[3].screw.length", "\"12 furlong\"", "mm"},
    {"more_than_a_turn", "parts/block.toml", "first = 30", "first = 390", ErrorCode::kBadAngle,
     "first = 390", "feature[5].circle.first", "390", "from -360 to 360"},
    {"zero_diameter", "parts/bush.toml", "diameter = 38", "diameter = 0", ErrorCode::kNotPositive,
     "diameter = 0", "feature[2].diameter", "0", "above zero"},
    {"not_a_number", "parts/bush.toml", "across = 36", "across = nan", ErrorCode::kNotFinite,
     "across = nan", "feature[8].across", "nan", "write a number"},
    {"a_hundred_metres", "parts/bush.toml", "to = 6\ndiameter = 38", "to = 6e6\ndiameter = 38",
     ErrorCode::kOutOfRange, "to = 6e6", "feature[2].to", "6e6", "look for a slip"},
    {"name_with_a_space", "parts/block.toml", "name = \"window\"", "name = \"the window\"",
     ErrorCode::kBadName, "the window", "feature[8].name", "\"the window\"", "begin with a letter"},
    {"name_twice", "parts/block.toml", "name = \"window\"", "name = \"corner\"",
     ErrorCode::kDuplicateName, "[[feature]]\n|name = \"corner\"\nkind = \"slot\"",
     "feature[8].name", "\"corner\"", "choose another"},
    {"unknown_part", "machine.toml", "moving = \"bush.spigot\"", "moving = \"bash.spigot\"",
     ErrorCode::kUnknownPart, "bash.spigot", "joint[2].moving", "\"bash.spigot\"",
     "write \"bush.spigot\""},
    {"unknown_feature", "machine.toml", "moving = \"bush.spigot\"", "moving = \"bush.spiggot\"",
     ErrorCode::kUnknownFeature, "bush.spiggot", "joint[2].moving", "\"bush.spiggot\"",
     "write \"bush.spigot\""},
    {"wrong_kind_of_feature", "machine.toml", "moving = \"bush.spigot\"", "moving = \"bush.under\"",
     ErrorCode::kWrongFeatureKind, "kind = \"spigot_in_bore\"\nfixed = \"block.bore\"\n|moving",
     "joint[2].moving", "\"bush.under\"", "name an outer diameter"},
    {"unknown_joint", "machine.toml", "joint = \"bush_screws\"", "joint = \"bush_screw\"",
     ErrorCode::kUnknownJoint, "joint = \"bush_screw\"", "requirement[6].joint", "\"bush_screw\"",
     "write \"bush_screws\""},
    {"unknown_fit", "parts/block.toml", "fit = \"H7\"", "fit = \"HX7\"", ErrorCode::kUnknownFit,
     "fit = \"HX7\"", "feature[2].fit", "\"HX7\"", "H"},
    {"shaft_fit_on_a_bore", "parts/block.toml", "fit = \"H7\"", "fit = \"h7\"",
     ErrorCode::kUnknownFit, "fit = \"h7\"", "feature[2].fit", "\"h7\"", "capital letters"},
    {"unknown_thread", "machine.toml", "thread = \"M4\"", "thread = \"M4.1\"",
     ErrorCode::kUnknownThread, "M4.1", "joint[5].screw.thread", "\"M4.1\"",
     "ISO metric M1 to M36"},
    {"unknown_material", "parts/bush.toml", "\"bronze\"", "\"bronce\"", ErrorCode::kUnknownMaterial,
     "bronce", "material", "\"bronce\"", "nearest: bronze"},
    {"limits_swapped", "parts/block.toml", "limits = [11.98, 12.02]", "limits = [12.02, 11.98]",
     ErrorCode::kLimitsSwapped, "[12.02, 11.98]", "feature[3].limits", "[12.02, 11.98]",
     "[least, greatest]"},
    {"two_ways_to_say_limits", "parts/block.toml", "fit = \"H7\"", "fit = \"H7\"\nplus_minus = 0.1",
     ErrorCode::kConflictingKeys, "plus_minus = 0.1", "feature[2].plus_minus", "0.1",
     "keep one of: fit, plus_minus"},
    {"three_legs", "parts/foot.toml", "legs = [3, 6]", "legs = [3, 6, 9]", ErrorCode::kWrongCount,
     "legs =", "feature[5].legs", "[3, 6, 9]", "write 2 of them"},
    {"slot_along_the_drill", "parts/block.toml", "along = \"+x\"", "along = \"+y\"",
     ErrorCode::kNotSquare, "along = \"+y\"\nlength = 14", "feature[8].along", "\"+y\"",
     "square to -y"},
    {"hole_beside_the_part", "parts/block.toml", "[[-12, 12], [12, 12]]", "[[-12, 12], [12, 120]]",
     ErrorCode::kOutsidePart, "[12, 120]", "feature[6].points", "[[-12, 12], [12, 120]]",
     "mend the place"},
    {"bore_never_meets", "parts/block.toml", "at = [0, 0]", "at = [0, 22]", ErrorCode::kUntilNotMet,
     "until = \"bore\"", "feature[3].until", "\"bore\"", "write depth"},
    {"stock_too_small", "parts/block.toml", "size = [64, 55, 45]", "size = [64, 49, 45]",
     ErrorCode::kStockTooSmall, "size = [64, 49, 45]", "stock.size", "[64, 49, 45]",
     "next size up"},
    {"mirror_with_a_material", "parts/foot_right.toml", "mirror = \"y\"",
     "mirror = \"y\"\nmaterial = \"brass\"", ErrorCode::kMirror, "material = \"brass\"", "material",
     "\"brass\"", "take material out"},
    {"joined_to_itself", "machine.toml", "moving = \"foot.mount\"", "moving = \"block.front\"",
     ErrorCode::kSamePart, "fixed = \"block.left\"\n|moving", "joint[4].moving", "\"block.front\"",
     "another part"},
    {"face_on_the_far_side", "machine.toml", "moving = \"foot.mount\"", "moving = \"foot.left\"",
     ErrorCode::kDoNotMeet, "foot.left", "joint[4].moving", "\"foot.left\"", "mend at and turn"},
    {"five_holes_on_six", "parts/bush.toml", "count = 6", "count = 5", ErrorCode::kPatternMismatch,
     "machine:moving = \"bush.screw_holes\"", "joint[3].moving", "\"bush.screw_holes\"",
     "the same holes"},
    {"screw_of_another_thread", "machine.toml", "thread = \"M4\"", "thread = \"M3\"",
     ErrorCode::kThreadMismatch, "screw = { thread = \"M3\", length = 16 }", "joint[5].screw",
     "{ thread = \"M3\", length = 16 }", "write thread = \"M4\""},
    {"clearance_hole_too_small", "parts/foot.toml", "diameter = 4.5", "diameter = 3.5",
     ErrorCode::kScrewTooBig, "machine:screw = { thread = \"M4\"", "joint[5].screw",
     "{ thread = \"M4\", length = 16 }", "open the clearance holes"},
    {"vise_on_no_machine", "shop.toml", "on = \"mill\"\nopening_mm", "on = \"mil\"\nopening_mm",
     ErrorCode::kUnknownMachineTool, "on = \"mil\"\n", "holding[1].on", "\"mil\"",
     "write \"mill\""},
    {"take_away_what_is_not_there", "shop.toml", "rotary_table", "rotary_tables",
     ErrorCode::kUnknownInShop, "rotary_tables", "without", "[\"rotary_tables\"]",
     "write \"rotary_table\""},
    {"unknown_spread", "shop.toml", "[spread.edge_finder]", "[spread.edge_finders]",
     ErrorCode::kUnknownSpread, "[spread.edge_finders]", "spread.edge_finders", "",
     "write \"edge_finder\""},
    {"spread_below_zero", "shop.toml", "spread = 0.006", "spread = -0.006", ErrorCode::kOutOfRange,
     "spread = -0.006", "spread.edge_finder.spread", "-0.006", "zero or more"},
    {"spread_no_number", "shop.toml", "spread = 0.006", "spread = nan", ErrorCode::kNotFinite,
     "spread = nan", "spread.edge_finder.spread", "nan", "a number"},
    {"spread_without_end", "shop.toml", "spread = 0.006", "spread = inf", ErrorCode::kNotFinite,
     "spread = inf", "spread.edge_finder.spread", "inf", "a number"},
    {"spread_in_micrometres", "shop.toml", "spread = 0.006", "spread = 6", ErrorCode::kOutOfRange,
     "spread = 6\n", "spread.edge_finder.spread", "6", "write it in mm"},
    {"spread_in_metres", "shop.toml", "spread = 0.006", "spread = 0.000006", ErrorCode::kOutOfRange,
     "spread = 0.000006", "spread.edge_finder.spread", "0.000006", "write it in mm"},
    {"median_below_zero", "shop.toml", "[spread.edge_finder]",
     "[spread.\"drill_oversize_3.2\"]\nmean = -0.07\n\n[spread.edge_finder]", ErrorCode::kNotPositive,
     "mean = -0.07", "spread.drill_oversize_3.2.mean", "-0.07", "as a rule"},
    {"errors_tied_together", "shop.toml", "spread = 0.006", "spread = 0.006\ncorrelation = 1.5",
     ErrorCode::kUnknownKey, "correlation = 1.5", "spread.edge_finder.correlation", "1.5",
     "one error already"},
    {"pin_on_nothing", "choices.toml", "subject = \"bush_screws\"", "subject = \"bush_scrows\"",
     ErrorCode::kUnknownSubject, "bush_scrows", "pin[1].subject", "\"bush_scrows\"",
     "write \"bush_screws\""},
    {"unknown_technique", "choices.toml", "spot_through", "spot_thru", ErrorCode::kUnknownWord,
     "spot_thru", "pin[1].value", "\"spot_thru\"", "write \"spot_through\""},
    {"tool_section_backwards", "shop.toml", "[[instrument]]",
     "[[tool]]\nname = \"knife\"\nsection_T_mm = [[0, 0], [0, 9], [9, 0]]\n\n[[instrument]]",
     ErrorCode::kBadSection, "section_T_mm", "tool[2].section_T_mm", "[[0, 0], [0, 9], [9, 0]]",
     "counter-clockwise"},
};

class Malformed : public ::testing::TestWithParam<Case> {};
TEST_P(Malformed, IsFoundPlacedAndSaid) { ExpectFound(GetParam(), SampleProject()); }

INSTANTIATE_TEST_SUITE_P(Table, Malformed, ::testing::ValuesIn(kCases),
                         [](const auto& tested) { return std::string(tested.param.name); });

TEST(MalformedTable, HoldsAtLeastSixtyDistinctCodes) {
  std::set<std::string_view> codes = SheetFaultCodes();
  for (const Case& c : kCases) codes.insert(NameOf(c.code));
  EXPECT_GE(codes.size(), 60u);
}

// Every fault at once, in the order of the files, the first 50 and a count.
TEST(MalformedTable, AllFaultsAreReportedAtOnce) {
  Texts texts = SampleProject();
  texts["machine.toml"] = Edited(texts["machine.toml"], "say = ", "sai = ");
  texts["parts/block.toml"] = Edited(texts["parts/block.toml"], "length = 14", "length = -14");
  texts["parts/bush.toml"] = Edited(texts["parts/bush.toml"], "across = 36", "across = \"36 in.\"");
  texts["shop.toml"] = Edited(texts["shop.toml"], "level = \"careful\"", "level = \"carefull\"");
  texts["choices.toml"] = Edited(texts["choices.toml"], "first = 1", "first = -1");
  const ProjectFolder folder(texts);
  Diagnostics faults;
  ASSERT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value());
  std::vector<std::string> found;
  for (const Error& fault : faults.errors())
    found.push_back(fault.where.file + " " + fault.where.key);
  EXPECT_EQ(found, (std::vector<std::string>{"machine.toml requirement[1].sai",
                                             "parts/block.toml feature[8].length",
                                             "parts/bush.toml feature[8].across", "shop.toml level",
                                             "choices.toml pin[1].first"}));
}

TEST(MalformedTable, FiftyAreShownAndTheRestCounted) {
  Texts texts = SampleProject();
  for (int i = 0; i < 70; ++i) texts["machine.toml"] += fmt::format("unknown_{} = {}\n", i, i);
  const ProjectFolder folder(texts);
  Diagnostics faults;
  ASSERT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value());
  EXPECT_EQ(faults.errors().size(), 50u);
  EXPECT_EQ(faults.count(), 70u);
  EXPECT_EQ(faults.count_not_shown(), 20u);
}

TEST(MalformedTable, ShopFileOfAnotherPlaceIsReadTheSame) {
  const ProjectFolder folder(SampleProject());
  folder.Write("other_shop.toml", "format = \"fitwright-shop/1\"\nlevle = \"worn\"\n");
  Diagnostics faults;
  EXPECT_FALSE(files::LoadShop(folder.path() / "other_shop.toml", faults).has_value());
  ASSERT_EQ(faults.count(), 1u);
  EXPECT_EQ(faults.errors()[0].code, ErrorCode::kUnknownKey);
  EXPECT_EQ(faults.errors()[0].where.file, "other_shop.toml");
  EXPECT_EQ(faults.errors()[0].where.line, 2);
  EXPECT_THAT(faults.errors()[0].remedy, HasSubstr("\"level\""));

  files::LoadOptions options;
  options.shop_file = folder.path() / "other_shop.toml";
  Diagnostics again;
  EXPECT_FALSE(files::LoadProject(folder.path(), options, again).has_value());
  EXPECT_EQ(again.count(), 1u);
}

}  // namespace
}  // namespace fitwright::files_test
