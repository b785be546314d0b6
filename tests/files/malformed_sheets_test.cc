// Part sheets with one fault each in what the vocabulary project says.
#include "tests/files/malformed.h"
#include "tests/files/sample_vocabulary.h"

namespace fitwright::files_test {
namespace {

constexpr const char* kShaftFile = "parts/shaft.toml";
constexpr const char* kLeverFile = "parts/lever.toml";

const Case kSheetCases[] = {
    {"half_an_expression", kShaftFile, "\"shaft / 4\"", "\"shaft / \"", ErrorCode::kBadExpression,
     "wall =", "dimensions.wall", "\"shaft / \"", "write numbers"},
    {"length_after_no_name", kShaftFile, "diameter = \"shaft\"\nfit", "diameter = \"shaff\"\nfit",
     ErrorCode::kUnknownName, "\"shaff\"", "feature[2].diameter", "\"shaff\"", "write \"shaft\""},
    {"dimension_after_no_name", kShaftFile, "shaft + 2 * wall", "shaft + 2 * wal",
     ErrorCode::kUnknownName, "collar =", "dimensions.collar", "\"shaft + 2 * wal\"",
     "write \"wall\""},
    {"divided_by_nothing", kShaftFile, "shaft + 2 * wall", "shaft / (wall - 5)",
     ErrorCode::kDivisionByZero, "collar =", "dimensions.collar", "\"shaft / (wall - 5)\"",
     "behind the stroke"},
    {"dimensions_in_a_ring", kShaftFile, "shaft = 20", "shaft = \"collar - 10\"",
     ErrorCode::kCyclicDimensions, "collar = \"shaft", "dimensions.collar", "\"shaft + 2 * wall\"",
     "write a number for one of them"},
    {"dimension_of_itself", kShaftFile, "shaft = 20", "shaft = \"shaft\"",
     ErrorCode::kCyclicDimensions, "shaft = \"shaft\"", "dimensions.shaft", "\"shaft\"",
     "write a number"},
    {"dimension_with_a_dash", kShaftFile, "shaft = 20", "shaft = 20\n\"rim-width\" = 2",
     ErrorCode::kBadName, "rim-width", "dimensions.rim-width", "2", "letters, digits"},
    {"root_of_less_than_nothing", kShaftFile, "shaft + 2 * wall", "sqrt(wall - shaft)",
     ErrorCode::kOutOfRange, "collar =", "dimensions.collar", "\"sqrt(wall - shaft)\"",
     "in the parentheses"},
    {"supplied_face_inside_the_stock", kLeverFile, "[3, 1.5, \"8 mm\"]", "[3, 1.5, \"10 mm\"]",
     ErrorCode::kNotOnStock, "finish = \"as_supplied\"", "feature[6].finish", "\"as_supplied\"",
     "mend the size"},
    {"taper_that_is_none", kShaftFile, "end_diameter = 10", "end_diameter = 12",
     ErrorCode::kNoTaper, "end_diameter = 12", "feature[12].end_diameter", "12", "that differ"},
    {"taper_to_a_point", kShaftFile, "ratio = \"1:10\"", "ratio = \"3:2\"", ErrorCode::kNoTaper,
     "ratio =", "feature[4].ratio", "\"3:2\"", "smaller angle"},
    {"taper_said_twice", kShaftFile, "end_diameter = 10", "end_diameter = 10\nangle = 20",
     ErrorCode::kConflictingKeys, "angle = 20", "feature[12].angle", "20", "or the larger one"},
    {"taper_half_said", kShaftFile, "end_diameter = 10\n", "", ErrorCode::kMissingKey,
     "[[feature]]\nname = \"mouth\"", "feature[12].end_diameter", "", "write two diameters"},
    {"taper_of_no_ratio", kShaftFile, "ratio = \"1:10\"", "ratio = \"steep\"",
     ErrorCode::kBadLength, "ratio =", "feature[4].ratio", "\"steep\"", "ratio = \"1:10\""},
    {"thread_longer_than_its_diameter", kShaftFile, "length = 15", "length = 25",
     ErrorCode::kThreadTooLong, "length = 25", "feature[5].length", "25", "shorter thread"},
    {"thread_of_another_size", kShaftFile, "\"M8\"", "\"M6\"", ErrorCode::kThreadOffDiameter,
     "\"M6\"", "feature[5].designation", "\"M6\"", "thread of that diameter"},
    {"thread_nobody_knows", kShaftFile, "\"M8\"", "\"M80\"", ErrorCode::kUnknownThread, "\"M80\"",
     "feature[5].designation", "\"M80\"", "nearest: M8"},
    {"thread_on_a_bore", kShaftFile, "on = \"tail\"", "on = \"bore\"", ErrorCode::kWrongFeatureKind,
     "on = \"bore\"", "feature[5].on", "\"bore\"", "name an outer diameter"},
    {"keyway_wider_than_its_shaft", kShaftFile, "width = 6", "width = 22", ErrorCode::kKeywayTooBig,
     "width = 22", "feature[6].width", "22", "19.987 mm"},
    {"keyway_through_the_axis", kShaftFile, "depth = 3.5", "depth = 12", ErrorCode::kKeywayTooBig,
     "depth = 12", "feature[6].depth", "12", "19.987 mm"},
    {"keyway_in_the_air", kShaftFile, "depth = 3.5", "floor = 11", ErrorCode::kCutsNothing,
     "floor = 11", "feature[6].floor", "11", "from the axis"},
    {"keyway_along_the_shaft", kShaftFile, "side = \"+z\"", "side = \"+x\"", ErrorCode::kNotSquare,
     "side = \"+x\"", "feature[6].side", "\"+x\"", "square to +x"},
    {"keyway_where_no_bore_is", kShaftFile, "inside = false\nfrom = 40", "inside = true\nfrom = 40",
     ErrorCode::kOffDiameter, "depth = 3.5", "feature[6].depth", "3.5", "mend axis"},
    {"knurl_off_its_diameter", kShaftFile, "pitch = 1\n", "from = 5\nto = 25\npitch = 1\n",
     ErrorCode::kOffDiameter, "to = 25", "feature[7].to", "25", "from 0 to 20"},
    {"vee_that_does_not_open", kShaftFile, "vee_angle = 40", "vee_angle = 180",
     ErrorCode::kBadProfile, "vee_angle", "feature[8].vee_angle", "180", "between 0 and 180"},
    {"angle_of_a_round_groove", kShaftFile, "profile = \"round\"",
     "profile = \"round\"\nvee_angle = 30", ErrorCode::kConflictingKeys, "vee_angle = 30",
     "feature[9].vee_angle", "30", "profile = \"vee\""},
    {"five_flats", kShaftFile, "count = 6", "count = 5", ErrorCode::kOutOfRange, "count = 5",
     "feature[10].count", "5", "1, 2, 3, 4 or 6"},
    {"flats_outside_the_bar", kShaftFile, "across = 27", "across = 31", ErrorCode::kCutsNothing,
     "across = 31", "feature[10].across", "31", "30 mm here"},
    {"round_as_wide_as_the_end", kShaftFile, "radius = 2", "radius = 15", ErrorCode::kRoundTooBig,
     "radius = 15", "feature[13].radius", "15", "less than 15 mm"},
    {"round_thicker_than_the_plate", kLeverFile, "radius = \"1 mm\"", "radius = \"8 mm\"",
     ErrorCode::kRoundTooBig, "radius = \"8 mm\"", "feature[5].radius", "\"8 mm\"", "less than"},
    {"datum_not_said", kShaftFile, "kind = \"run_out\", datum = \"collar\"", "kind = \"run_out\"",
     ErrorCode::kBadDatum, "geometric =", "feature[2].geometric[1].datum", "",
     "write datum = \"NAME\""},
    {"datum_of_a_form", kShaftFile, "kind = \"round\", within",
     "kind = \"round\", datum = \"collar\", within", ErrorCode::kBadDatum,
     "geometric =", "feature[2].geometric[2].datum", "\"collar\"", "take datum out"},
    {"datum_that_is_a_groove", kShaftFile, "datum = \"collar\"", "datum = \"ring_groove\"",
     ErrorCode::kBadDatum, "geometric =", "feature[2].geometric",
     "[{ kind = \"run_out\", datum = \"ring_groove\", within = 0.02 }, ...", "planar face"},
    {"datum_missing", kShaftFile, "datum = \"collar\"", "datum = \"colar\"",
     ErrorCode::kUnknownFeature, "geometric =", "feature[2].geometric",
     "[{ kind = \"run_out\", datum = \"colar\", within = 0.02 }, { kin...", "write \"collar\""},
    {"square_to_what_runs_along", kShaftFile, "kind = \"run_out\"", "kind = \"square\"",
     ErrorCode::kNotSquare, "geometric =", "feature[2].geometric",
     "[{ kind = \"square\", datum = \"collar\", within = 0.02 }, { kin...",
     "another kind of limit"},
    {"parallel_to_what_stands_across", kShaftFile, "kind = \"run_out\", datum = \"collar\"",
     "kind = \"parallel\", datum = \"low_end\"", ErrorCode::kNotParallel, "geometric =",
     "feature[2].geometric", "[{ kind = \"parallel\", datum = \"low_end\", within = 0.02 }, { ...",
     "name a datum that it is"},
    {"run_out_about_a_face", kShaftFile, "datum = \"collar\"", "datum = \"low_end\"",
     ErrorCode::kBadDatum, "geometric =", "feature[2].geometric",
     "[{ kind = \"run_out\", datum = \"low_end\", within = 0.02 }, { k...", "about the same axis"},
    {"keyway_shorter_than_its_cutter", kShaftFile, "to = 55", "to = 44", ErrorCode::kOutOfRange,
     "to = 44", "feature[6].to", "44", "5.973 mm apart"},
    {"flat_past_the_axis", kShaftFile, "across = 27\nnormal = \"+y\"\ncount = 6",
     "across = 14\nnormal = \"+y\"\ncount = 1", ErrorCode::kOutOfRange, "across = 14",
     "feature[10].across", "14", "the far side"},
    {"taper_wider_than_its_shaft", kShaftFile, "size = \"shaft\"", "size = \"shaft + 1\"",
     ErrorCode::kOutsidePart, "start_diameter = {", "feature[4].start_diameter",
     "{ size = \"shaft + 1\", plus_minus = 0.01 }", "19.987 mm"},
    {"knurl_with_three_ridges", kShaftFile, "pitch = 1\n", "pitch = 30\n", ErrorCode::kOutOfRange,
     "pitch = 30", "feature[7].pitch", "30", "0.5 to 2 mm"},
    {"groove_no_wider_than_its_bore", kShaftFile,
     "inside = false\nfrom = 32\nto = 34\ndiameter = 18",
     "inside = true\nfrom = 8\nto = 10\ndiameter = 9", ErrorCode::kCutsNothing, "diameter = 9",
     "feature[9].diameter", "9", "more than 10 mm"},
    {"rougher_than_nothing", kShaftFile, "ra = 0.8", "ra = 0", ErrorCode::kNotPositive, "ra = 0",
     "feature[1].ra", "0", "ra = 1.6"},
    {"hexagon_too_small", kShaftFile, "across = 32", "across = 29", ErrorCode::kStockTooSmall,
     "across = 29", "stock.across", "29", "next size up"},
    {"hexagon_on_edge", kShaftFile, "flat = \"+z\"", "flat = \"-x\"", ErrorCode::kNotSquare,
     "flat = \"-x\"", "stock.flat", "\"-x\"", "square to +x"},
    {"tube_without_a_wall", kShaftFile,
     "form = \"hex\"\nacross = 32\nlength = 110\nstart = -4\nflat = \"+z\"",
     "form = \"tube\"\nouter = 32\ninner = 32\nlength = 110", ErrorCode::kBadStock, "inner = 32",
     "stock.inner", "32", "less than 32 mm"},
    {"tube_hole_through_solid_metal", kShaftFile,
     "form = \"hex\"\nacross = 32\nlength = 110\nstart = -4\nflat = \"+z\"",
     "form = \"tube\"\nouter = 32\ninner = 6\nlength = 110", ErrorCode::kBadStock, "inner = 6",
     "stock.inner", "6", "solid bar"},
    {"end_that_leans_backwards", kLeverFile, "\"0.5 mm\"", "\"-1 mm\"", ErrorCode::kBadStock,
     "sawn_lean", "stock.sawn_lean", "\"-1 mm\"", "0 for a faced one"},
    {"bar_limits_swapped", kShaftFile, "[-0.16, 0]", "[0.1, -0.16]", ErrorCode::kLimitsSwapped,
     "bar_limits", "stock.bar_limits", "[0.1, -0.16]", "least deviation first"},
    {"disc_of_no_size", kLeverFile, "[\"centres\", 0.1, 0.6]", "[\"centres\", 0.1, -0.6]",
     ErrorCode::kBadOutline, "discs =", "feature[1].discs",
     "[[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, -0.6]]", "diameter above zero"},
    {"outline_in_two_pieces", kLeverFile, "[[0, 0, \"centres\", 0.1, 0.3]]",
     "[[0.45, 0.03, 1.1, 0.08, 0.3]]", ErrorCode::kBadOutline, "discs =", "feature[1].discs",
     "[[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, 0.6]]", "overlap another"},
    {"outline_outside_the_plate", kLeverFile, "[\"centres\", 0.1, 0.6]", "[\"centres\", 0.1, 1.1]",
     ErrorCode::kOutsidePart, "discs =", "feature[1].discs",
     "[[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, 1.1]]", "make the envelope"},
    {"line_that_crosses_itself", kLeverFile,
     "discs = [[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, 0.6]]\nbars = [[0, 0, \"centres\", "
     "0.1, 0.3]]\ninside_radius = \"3 mm\"",
     "line = [[-0.5, -0.5], [2, -0.5], [2, 0.5], [1.2, 0.5], [1.9, 0.2], [1.9, 0.4], [-0.5, 0.5]]",
     ErrorCode::kBadOutline, "line =", "feature[1].line",
     "[[-0.5, -0.5], [2, -0.5], [2, 0.5], [1.2, 0.5], [1.9, 0.2], ...", "goes round"},
    {"arc_too_small_for_its_ends", kLeverFile,
     "discs = [[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, 0.6]]\nbars = [[0, 0, \"centres\", "
     "0.1, 0.3]]\ninside_radius = \"3 mm\"",
     "line = [[0, 0, 0.2], [1, 0], [1, 0.4]]", ErrorCode::kBadOutline, "line =",
     "feature[1].line", "[[0, 0, 0.2], [1, 0], [1, 0.4]]", "at least 12.7 mm"},
    {"outline_of_nothing", kLeverFile,
     "discs = [[0, 0, \"2 * rim + 0.5\"], [\"centres\", 0.1, 0.6]]\nbars = [[0, 0, \"centres\", "
     "0.1, 0.3]]\n",
     "", ErrorCode::kMissingKey, "[[feature]]\nname = \"shape\"", "feature[1].discs", "",
     "write discs"},
    {"countersink_narrower_than_its_hole", kLeverFile, "diameter = \"3 mm\"",
     "diameter = \"1.5 mm\"", ErrorCode::kCutsNothing, "\"1.5 mm\"", "feature[3].diameter",
     "\"1.5 mm\"", "more than 2 mm"},
    {"countersink_on_a_face", kLeverFile, "on = \"screws\"", "on = \"top\"",
     ErrorCode::kWrongFeatureKind, "on = \"top\"", "feature[3].on", "\"top\"", "name the hole"},
    {"grid_on_one_spot", kLeverFile, "[\"5 mm\", \"4 mm\"]", "[\"0 mm\", \"4 mm\"]",
     ErrorCode::kBadGrid, "grid =", "feature[2].grid.pitch", "[\"0 mm\", \"4 mm\"]", "above zero"},
    {"grid_and_points", kLeverFile, "at = [0, 0]\ngrid", "points = [[0, 0]]\ngrid",
     ErrorCode::kConflictingKeys, "points =", "feature[2].points", "[[0, 0]]", "keep one of"},
    {"letters_off_the_face", kLeverFile, "[\"centres / 2\", 0.05]", "[\"centres + 0.25\", 0.05]",
     ErrorCode::kOffFace, "at = [\"centres", "feature[4].at", "[\"centres + 0.25\", 0.05]",
     "smaller height"},
    {"marking_that_says_nothing", kLeverFile, "\"this way\"", "\" \"", ErrorCode::kCutsNothing,
     "text =", "feature[4].text", "\" \"", "some letters"},
    {"mirror_with_dimensions", "parts/lever_right.toml", "mirror = \"y\"",
     "mirror = \"y\"\ndimensions = {}", ErrorCode::kMirror, "dimensions", "dimensions", "{}",
     "take dimensions out"},
};

class MalformedSheets : public ::testing::TestWithParam<Case> {};
TEST_P(MalformedSheets, IsFoundPlacedAndSaid) { ExpectFound(GetParam(), VocabularyProject()); }
INSTANTIATE_TEST_SUITE_P(Table, MalformedSheets, ::testing::ValuesIn(kSheetCases),
                         [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace

std::set<std::string_view> SheetFaultCodes() {
  std::set<std::string_view> codes;
  for (const Case& c : kSheetCases) codes.insert(NameOf(c.code));
  return codes;
}

// The column of a fault in a text is that of the character itself.
TEST(MalformedSheetsColumn, PointsIntoTheText) {
  Texts texts = VocabularyProject();
  texts[kShaftFile] = Edited(texts[kShaftFile], "\"shaft + 2 * wall\"", "\"shaft + 2 * wal\"");
  const ProjectFolder folder(texts);
  Diagnostics faults;
  ASSERT_FALSE(files::LoadProject(folder.path(), {}, faults).has_value());
  const std::string line = "collar = \"shaft + 2 * wal\"";
  EXPECT_EQ(faults.errors()[0].where.column, static_cast<int>(line.find("wal")) + 1);
}

}  // namespace fitwright::files_test
