#include "fitwright/recognize/normal_form.h"

#include <gtest/gtest.h>

#include "tests/recognize/round_trip.h"
#include "tests/recognize/sheet_part.h"
#include "tests/recognize/sheet_words.h"

namespace fitwright::recognize_test {
namespace {

recognize::NormalDifference Compare(const std::string& envelope, const std::string& a,
                                    const std::string& b) {
  const auto one = LoadPart(envelope, a);
  const auto other = LoadPart(envelope, b);
  EXPECT_TRUE(one && other);
  if (!one || !other) return {};
  return recognize::CompareNormalForms(recognize::MakeNormalForm(*one),
                                       recognize::MakeNormalForm(*other));
}

TEST(NormalForm, AGrooveIsADipBetweenDiameters) {
  const std::string groove = Say("a", "outer_diameter", "from = 0\nto = 20\ndiameter = 20") +
                             Say("g", "groove", "inside = false\nfrom = 8\nto = 11\ndiameter = 15");
  const std::string dip = Say("a", "outer_diameter", "from = 0\nto = 8\ndiameter = 20") +
                          Say("b", "outer_diameter", "from = 8\nto = 11\ndiameter = 15") +
                          Say("c", "outer_diameter", "from = 11\nto = 20\ndiameter = 20");
  EXPECT_TRUE(Compare(kTurned, groove, dip).Equal());
  const std::string deeper =
      Say("a", "outer_diameter", "from = 0\nto = 20\ndiameter = 20") +
      Say("g", "groove", "inside = false\nfrom = 8\nto = 11\ndiameter = 14.9");
  EXPECT_FALSE(Compare(kTurned, groove, deeper).Equal());
}

TEST(NormalForm, AThroughHoleHasNoSide) {
  const std::string above =
      Say("h", "hole", "from = \"+z\"\nat = [3, 4]\ndiameter = 5\nthrough = true");
  const std::string below =
      Say("h", "hole", "from = \"-z\"\nat = [3, 4]\ndiameter = 5\nthrough = true");
  const std::string blind = Say("h", "hole", "from = \"+z\"\nat = [3, 4]\ndiameter = 5\ndepth = 8");
  EXPECT_TRUE(Compare(kBlock, above, below).Equal());
  EXPECT_FALSE(Compare(kBlock, above, blind).Equal());
}

TEST(NormalForm, ASlotIsAPocketWithRoundEnds) {
  const std::string at =
      "from = \"+z\"\nat = [0, 0]\nalong = \"+x\"\nlength = 20\nwidth = 6\ndepth = 5";
  const std::string slot = Say("s", "slot", at);
  EXPECT_TRUE(Compare(kBlock, slot, Say("p", "pocket", at + "\ncorner_radius = 3")).Equal());
  EXPECT_FALSE(Compare(kBlock, slot, Say("p", "pocket", at + "\ncorner_radius = 2")).Equal());
}

TEST(NormalForm, EqualThingsAreCountedOnce) {
  const std::string one =
      Say("h", "hole", "from = \"+z\"\nat = [3, 4]\ndiameter = 5\nthrough = true");
  const std::string two =
      one + Say("k", "hole", "from = \"+z\"\nat = [-3, 4]\ndiameter = 5\nthrough = true");
  const recognize::NormalDifference difference = Compare(kBlock, one, two);
  EXPECT_EQ(difference.only_a.size(), 0u);
  EXPECT_EQ(difference.only_b.size(), 1u);
}

}  // namespace
}  // namespace fitwright::recognize_test
