#include "fitwright/rework/shop_tests.h"

#include <algorithm>
#include <array>

namespace fitwright::rework {
namespace {

using S = variation::SpreadId;

// Common practice in setting up and checking small machines; the times and numbers are opinion.
constexpr std::array kTests = {
    ShopTest{S::kTurnedDiameter, 50, 8, "a stub of the usual bar, 20 to 40 mm; the micrometer",
             "Turn the stub to eight sizes one after the other, a millimetre apart: measure, set "
             "the last cut by the dial, "
             "cut once, measure. No second cut.",
             "What the micrometer says less what was aimed at.", 1},
    ShopTest{S::kBoredDiameterLathe, 60, 6,
             "a ring or stub with a hole of 20 mm or more; the bore gauge",
             "Bore it to six sizes one after the other, half a millimetre apart: measure, set the "
             "last cut by the dial, cut "
             "once, measure.",
             "What the gauge says less what was aimed at.", 1},
    ShopTest{S::kLatheTaper, 40, 5,
             "a bar 25 mm thick held 110 mm out of the chuck, with a collar left at each end",
             "Take one fine cut over both collars at one setting of the dial, measure both. Five "
             "times, the bar chucked anew "
             "each time.",
             "Outer collar less inner collar, for 100 mm between them.", 1},
    ShopTest{S::kFacingConcavity, 40, 5,
             "a disc of 80 to 100 mm; the lever indicator in the tool post",
             "Face it with a fine cut, then run the indicator from the middle to the rim and on "
             "past the middle. Five cuts.",
             "How much lower the middle is than the rim, for a disc of 100 mm.", 1},
    ShopTest{S::kEdgeFinder, 30, 10, "a ground block in the vise; the edge finder",
             "Find the same edge ten times, the finder taken away and brought up afresh each time.",
             "Each reading less the mean of the ten.", 1},
    ShopTest{S::kBoreCentring, 45, 6,
             "a block with a reamed or bored hole; the lever indicator in the spindle",
             "Centre the spindle on the hole six times, the table wound off between; read x and y "
             "each time.",
             "Each reading of x less the mean of x, and of y less the mean of y.", 1},
    ShopTest{S::kReadoutPosition, 40, 10,
             "a gauge block or a ground bar of known length against a stop; the lever indicator in "
             "the spindle",
             "Run the table by the readout to the length of the block and read the indicator "
             "against its end; ten times, from "
             "both sides by turns.",
             "What the indicator says.", 1},
    ShopTest{S::kColumnTram, 30, 4,
             "the lever indicator on an arm in the spindle, swept over 200 mm of the table",
             "Sweep from left to right and from front to back; bring the head to the same mark and "
             "do it once more.",
             "The difference of the two sides in mm, times 5: mrad.", 1},
    ShopTest{S::kFixedJawSquareness, 30, 5,
             "the vise; a square or a ground block of 50 mm height; the indicator in the spindle",
             "Run the indicator up 50 mm of the fixed jaw with the quill or knee. Five times, the "
             "vise taken off and put back "
             "between.",
             "The difference over 50 mm, times 20: mrad.", 1},
    ShopTest{S::kJawLift, 40, 8,
             "a block of 50 mm in the vise, bed first, the round bar left out; the indicator on "
             "its top near the moving jaw",
             "Seat it, tap it down, set the indicator to nought, tighten as usual and read. Eight "
             "times.",
             "How far it rose.", 1},
    ShopTest{S::kDepthStop, 40, 6, "a block; the depth micrometer",
             "Mill six shoulders to one depth by the stop, the cutter brought up afresh each time; "
             "measure each.",
             "Each depth less what was aimed at.", 1},
    ShopTest{S::kMicrometer, 20, 10, "a gauge block or the micrometer's own standard",
             "Measure it ten times, on two occasions, the thimble run well open between.",
             "Each reading less the mean of the ten.", 1},
};

}  // namespace

std::span<const ShopTest> ShopTests() { return kTests; }

const ShopTest* FindShopTest(std::string_view spread) {
  const auto it = std::find_if(kTests.begin(), kTests.end(), [&](const ShopTest& test) {
    return variation::IdOf(test.spread) == spread;
  });
  return it == kTests.end() ? nullptr : it;
}

}  // namespace fitwright::rework
