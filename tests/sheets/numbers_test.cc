#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/step_words.h"

#include <gtest/gtest.h>

#include "fitwright/sheets/table_text.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

TEST(ChanceText, HasNoMoreDigitsThanTheIntervalSupports) {
  EXPECT_EQ(ChanceText(Chance{0.957, 0.94, 0.97, 0, 1}), "96 in 100 (94-97)");
  EXPECT_EQ(ChanceText(Chance{0.957, 0.956, 0.958, 0, 1}), "96 in 100");
  EXPECT_EQ(ChanceText(Chance{0.63, 0.52, 0.73, 0, 1}), "about 65 in 100 (50-75)");
  EXPECT_EQ(ChanceText(Chance{0.9993, 0.999, 0.9996, 0, 1}), "over 99 in 100");
  EXPECT_EQ(ChanceText(Chance{0.001, 0, 0.002, 0, 1}), "under 1 in 100");
  EXPECT_EQ(ChanceText(0.5), "50 in 100");
}

TEST(ShopBandText, IsSilentWhenTheBandSaysNothingMore) {
  EXPECT_EQ(ShopBandText({0.96, 0.94, 0.97, 0.94, 0.97}), "");
  EXPECT_EQ(ShopBandText({0.96, 0.94, 0.97, 0.88, 0.99}),
            "88-99 with what is not known of this shop");
}

TEST(Lengths, HonourTheUnit) {
  EXPECT_EQ(FineLength(25.4, LengthUnit::kInch), "1.0000");
  EXPECT_EQ(FineLength(39.98049, LengthUnit::kMillimetre), "39.980");
  EXPECT_EQ(FineLength(-0.0001, LengthUnit::kMillimetre), "0.000");
  EXPECT_EQ(PlainLength(9, LengthUnit::kMillimetre), "9.00");
  EXPECT_EQ(NamedLength(20, LengthUnit::kMillimetre), "20 mm");
  EXPECT_EQ(NamedLength(12.7, LengthUnit::kInch), "0.5 in");
  EXPECT_EQ(LimitsText(39.975, 39.991, LengthUnit::kMillimetre), "39.975 to 39.991");
}

TEST(TimeText, RoundsAsAPersonWould) {
  EXPECT_EQ(TimeText(0), "0 min");
  EXPECT_EQ(TimeText(0.2), "under 1 min");
  EXPECT_EQ(TimeText(44.6), "45 min");
  EXPECT_EQ(TimeText(60), "1 h");
  EXPECT_EQ(TimeText(133), "2 h 15 min");
  EXPECT_EQ(TimeChangeText(-20), "20 min less");
  EXPECT_EQ(TimeChangeText(0.1), "no longer");
}

TEST(SentenceInUnit, ConvertsWhatCarriesAUnitAndKeepsTools) {
  const std::vector<std::string> kept = {"16 mm end mill"};
  const auto inch = [&](const char* text) {
    return SentenceInUnit(text, LengthUnit::kInch, kept);
  };
  EXPECT_EQ(SentenceInUnit("on 20 mm parallels", LengthUnit::kMillimetre, kept), "on 20 mm parallels");
  EXPECT_EQ(inch("on 25.4 mm parallels"), "on 1 in parallels");
  EXPECT_EQ(inch("bar 50.8 x 25.4 x 127 mm, sawn"), "bar 2 x 1 x 5 in, sawn");
  EXPECT_EQ(inch("leave 0.254-0.508 mm"), "leave 0.01-0.02 in");
  EXPECT_EQ(inch("reads X -25.400 Y 0.000"), "reads X -1.0000 Y 0.0000");
  EXPECT_EQ(inch("with the 16 mm end mill"), "with the 16 mm end mill");
  EXPECT_EQ(inch("ISO 286, 6 holes, M3 x 12"), "ISO 286, 6 holes, M3 x 12");
  EXPECT_EQ(inch("254 mm/min"), "10 in/min");
}

// The inch edition has the same sentence: bare lengths in inches, counts, angles, fits, drills, threads, names and the builder's own words as they are.
TEST(StepSentence, IsWholeInInches) {
  const std::vector<std::string> kept = {"20 mm end mill", "small-hole gauges 3-13", "ring groove 1", "slotted spring pin 3 x 18"};
  const std::pair<const char*, const char*> sentences[] = {
      {"Bore the 30 H7 bore out to 29.611 in 7 cuts of about 0.7 mm on the diameter: 25.7, 26.3.",
       "Bore the 30 H7 bore out to 1.1658 in 7 cuts of about 0.0276 in on the diameter: 1.012, 1.035."},
      {"Drill the two 3.3, 10 deep to the full diameter.", "Drill the two 3.3 mm, 0.3937 deep to the full diameter."},
      {"Drill 13, 46.8 deep.", "Drill 13 mm, 1.843 deep."},
      {"Spot all 2 to about 2.6 across.", "Spot all 2 to about 0.102 across."},
      {"Face left with the 20 mm end mill, 2 off in 2 levels.", "Face left with the 20 mm end mill, 0.0787 off in 2 levels."},
      {"Tap the two M4 8 deep; G1/8 7 deep.", "Tap the two M4 0.3150 deep; G1/8 0.2756 deep."},
      {"Then 6 screws M3 x 16: all in by hand.", "Then 6 screws M3 x 16: all in by hand."},
      {"Chamfer it 1 x 45 degrees; centre it until the 60 degree mouth opens.", "Chamfer it 0.0394 x 45 degrees; centre it until the 60 degree mouth opens."},
      {"Cut ring groove 1 1.2 wide to 21.765 across; the small-hole gauges 3-13 cannot tell.",
       "Cut ring groove 1 0.047 wide to 0.8569 across; the small-hole gauges 3-13 cannot tell."},
      {"Turn flange 54 down to Z -21, in cuts of 1.2 mm; as at step 45.7.", "Turn flange 2.1260 down to Z -0.8268, in cuts of 0.0472 in; as at step 45.7."},
      {"Your sheet: \"deck to crank axis 59.00\": 3 deep.", "Your sheet: \"deck to crank axis 59.00\": 0.1181 deep."},
      {"Drive the slotted spring pin 3 x 18 in, set z to 3.", "Drive the slotted spring pin 3 x 18 in, set z to 0.1181."}};
  for (const auto& [mm, inch] : sentences) EXPECT_EQ(StepSentenceInInches(mm, kept).value_or("untold"), inch);
  // Neither a length nor a count that is known: not said rather than said wrong.
  EXPECT_EQ(StepSentenceInInches("Rub it 12 until it shines.", kept), std::nullopt);
}

TEST(Table, AlignsOnThePoint) {
  Table table;
  table.columns = {{"at", "", Align::kLeft, false}, {"X", "mm", Align::kPoint, false}};
  table.rows = {{"1", "9.5"}, {"2", "-112.25"}, {"3", "7"}};
  const std::vector<std::string> expected = {"at        X", "         mm", "--  -------",
                                             "1      9.5", "2   -112.25", "3      7"};
  EXPECT_EQ(LayOutTable(table, 60), expected);
}

TEST(Table, TooWideIsSetAsSeveralWithTheFirstColumn) {
  Table table;
  table.columns = {{"at", "", Align::kLeft, false}, {"aaaaaaaaaa", "", Align::kLeft, false},
                   {"bbbbbbbbbb", "", Align::kLeft, false}};
  table.rows = {{"1", "x", "y"}};
  const std::vector<std::string> expected = {"at  aaaaaaaaaa", "--  ----------", "1   x", "",
                                             "at  bbbbbbbbbb", "--  ----------", "1   y"};
  EXPECT_EQ(LayOutTable(table, 20), expected);
}

TEST(WrapText, BreaksAtBlanksOnly) {
  EXPECT_EQ(WrapText("aa bb cc", 5), (std::vector<std::string>{"aa bb", "cc"}));
  EXPECT_EQ(WrapText("aaaaaaaa b", 5), (std::vector<std::string>{"aaaaaaaa", "b"}));
  EXPECT_EQ(WrapText("", 5), std::vector<std::string>{""});
}

TEST(Numbers, ALineToWriteOnIsNoName) {
  EXPECT_EQ(NameText("crank_bore at step 7.2 (________)"), "crank bore at step 7.2 (________)");
}

TEST(Numbers, AStepsNumberIsNoLength) {
  EXPECT_EQ(ShopSentenceInUnit("within 0.005 mm of what it was at step 7.25 (________), 25.4 deep", LengthUnit::kInch, {}),
            "within 0.0002 in of what it was at step 7.25 (________), 1.0000 deep");
}

}  // namespace
}  // namespace fitwright::sheets
