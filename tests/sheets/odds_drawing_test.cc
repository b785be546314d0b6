// The drawing of one requirement's odds.
#include "fitwright/sheets/odds_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace fitwright::sheets {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

TEST(OddsDrawing, SaysThatNothingMovesIt) {
  OddsPicture picture;
  picture.title = "foot flush";
  picture.met = 100;
  EXPECT_THAT(DrawOdds(picture), HasSubstr("It does not vary"));
  picture.edges = {0, 1, 2};
  picture.shares = {0.25, 0.75};
  EXPECT_THAT(DrawOdds(picture), Not(HasSubstr("It does not vary")));
}

}  // namespace
}  // namespace fitwright::sheets
