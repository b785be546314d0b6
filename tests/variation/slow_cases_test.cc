// Every technique, joint, requirement and way of holding has its case against builds made the slow way.
#include <gtest/gtest.h>

#include <set>
#include <string>
#include <string_view>

#include "fitwright/model/plan.h"

namespace fitwright::variation {
namespace {

template <typename Enum>
struct SlowCase {
  Enum of;
  std::string_view test;
};

constexpr SlowCase<Technique> kTechniques[] = {
    {Technique::kByCoordinates, "Techniques.ByCoordinates"},
    {Technique::kTransferPunch, "Techniques.TransferPunch"},
    {Technique::kTransferScrews, "Techniques.TransferScrews"},
    {Technique::kSpotThrough, "Techniques.SpotThrough"},
    {Technique::kSpotThrough, "Techniques.SpotThroughOneScrewedFirst"},
    {Technique::kDrillTogether, "Techniques.DrillTogether"},
    {Technique::kReamDowels, "Techniques.ReamDowels"},
    {Technique::kMachineTogether, "Techniques.MachineTogether"},
    {Technique::kBoreInLine, "Techniques.BoreInLine"},
    {Technique::kFitToMeasured, "Techniques.FitToMeasured"},
    {Technique::kBringToSize, "Techniques.BringToSize"},
};

constexpr SlowCase<JointKind> kJoints[] = {
    {JointKind::kScrewedPattern, "Joints.ScrewsPassAllThatLiesBetween"},
    {JointKind::kSpigotInBore, "Kinds/LooseRound.RestsAnywhereInItsPlay/spigot_in_bore"},
    {JointKind::kFaceContact, "Joints.GasketKeepsTwoFacesApart"},
    {JointKind::kPressFit, "Joints.PressedTogetherStandsTrue"},
    {JointKind::kBearingSeat, "Kinds/LooseRound.RestsAnywhereInItsPlay/bearing_seat"},
    {JointKind::kBearingOnShaft, "Joints.BearingsGiveTheirPlayToTheShaft"},
    {JointKind::kRunningFit, "Joints.TwoOnOneLineHoldAnEndEach"},
    {JointKind::kSliderInBore, "Kinds/LooseRound.RestsAnywhereInItsPlay/slider_in_bore"},
    {JointKind::kBonded, "Kinds/LooseRound.RestsAnywhereInItsPlay/bonded"},
    {JointKind::kPinned, "Joints.PinHoldsTheTurn"},
    {JointKind::kHubOnShaft, "Joints.HubIsPushedByItsScrew"},
    {JointKind::kRingInGroove, "Joints.RingLiesAnywhereAlongItsGroove"},
    {JointKind::kGasketedFace, "Joints.GasketKeepsTwoFacesApart"},
    {JointKind::kBelt, "Joints.BeltLeavesThePulleysWhereTheyStand"},
};

// "Kinds/..." reads run_out, in_line, parallel, square, clearance, axes_meet and flush of its hub.
constexpr std::string_view kHub = "Kinds/LooseRound.RestsAnywhereInItsPlay/running_fit";
constexpr SlowCase<RequirementKind> kRequirements[] = {
    {RequirementKind::kScrewsEnter, "Joints.ScrewsPassAllThatLiesBetween"},
    {RequirementKind::kClearance, kHub},
    {RequirementKind::kInterference, "Joints.PressedTogetherStandsTrue"},
    {RequirementKind::kFlush, kHub},
    {RequirementKind::kSquare, kHub},
    {RequirementKind::kDistance, "Joints.GasketKeepsTwoFacesApart"},
    {RequirementKind::kAxesMeet, kHub},
    {RequirementKind::kParallel, kHub},
    {RequirementKind::kAngle, "Joints.AngleToASlopeFollowsTheHub"},
    {RequirementKind::kInLine, kHub},
    {RequirementKind::kRunOut, kHub},
    {RequirementKind::kProud, "Joints.GasketKeepsTwoFacesApart"},
    {RequirementKind::kEndFloat, "EndFloat.SumsGapsAndHalfOfEachBearing"},
    {RequirementKind::kWallLeft, "WallLeft.OddsOfTwoSizes"},
    {RequirementKind::kEngagement, "Engagement.IsTheScrewLessWhatItPasses"},
    {RequirementKind::kFormula, "Formula.SweptVolumeOfBoreAndStroke"},
};

constexpr SlowCase<HoldingKind> kHoldings[] = {
    {HoldingKind::kViseBedFirst, "HeldOnMill.ViseBedFirst"},
    {HoldingKind::kViseJawFirst, "HeldOnMill.ViseJawFirst"},
    {HoldingKind::kThreeJaw, "HeldInLathe.ThreeJaw"},
    {HoldingKind::kThreeJawShort, "HeldInLathe.ThreeJawOnTheSteps"},
    {HoldingKind::kFourJaw, "HeldInLathe.FourJawByTheBore"},
    {HoldingKind::kCollet, "HeldInLathe.ColletTwice"},
    {HoldingKind::kFaceplate, "HeldInLathe.FaceplateOnPacking"},
    {HoldingKind::kStubMandrel, "HeldInLathe.StubTurnedInPlace"},
    {HoldingKind::kClampsOnTable, "HeldOnMill.ClampsOnTable"},
    {HoldingKind::kAnglePlate, "HeldOnMill.AnglePlate"},
    {HoldingKind::kVBlock, "HeldOnMill.VeeBlocks"},
    {HoldingKind::kRotaryTable, "HeldOnMill.RotaryTable"},
    {HoldingKind::kBench, "HeldOnMill.Bench"},
    {HoldingKind::kBetweenCentres, "HeldInLathe.BetweenCentres"},
    {HoldingKind::kBetweenCentres, "HeldInLathe.TailstockSetOver"},
};

constexpr SlowCase<HoldingDeviceKind> kDevices[] = {
    {HoldingDeviceKind::kVise, "HeldOnMill.ViseBedFirst"},
    {HoldingDeviceKind::kThreeJaw, "HeldInLathe.ThreeJaw"},
    {HoldingDeviceKind::kFourJaw, "HeldInLathe.FourJawByTheBore"},
    {HoldingDeviceKind::kCollet, "HeldInLathe.ColletTwice"},
    {HoldingDeviceKind::kFaceplate, "HeldInLathe.FaceplateOnPacking"},
    {HoldingDeviceKind::kMandrel, "HeldInLathe.ExpandingMandrel"},
    {HoldingDeviceKind::kClamps, "HeldOnMill.ClampsOnTable"},
    {HoldingDeviceKind::kAnglePlate, "HeldOnMill.AnglePlate"},
    {HoldingDeviceKind::kVBlock, "HeldOnMill.VeeBlocks"},
    {HoldingDeviceKind::kRotaryTable, "HeldOnMill.RotaryTable"},
    {HoldingDeviceKind::kTailstockCentre, "HeldInLathe.ChuckAndCentre"},
    {HoldingDeviceKind::kSteady, "HeldInLathe.FixedSteady"},
};

constexpr SlowCase<ContactKind> kContacts[] = {
    {ContactKind::kBed, "HeldOnMill.ViseBedFirst"},
    {ContactKind::kFixedJaw, "HeldOnMill.ViseJawFirst"},
    {ContactKind::kStop, "HeldOnMill.ViseBedFirst"},
    {ContactKind::kEdgeFound, "HeldOnMill.ClampsOnTable"},
    {ContactKind::kEdgeFound, "HeldInLathe.FaceplateOnPacking"},
    {ContactKind::kTouchedOff, "HeldOnMill.VeeBlocks"},
    {ContactKind::kBoreCentred, "HeldInLathe.FourJawByTheBore"},
    {ContactKind::kOuterCentred, "HeldOnMill.VeeBlocks"},
    {ContactKind::kChuckFace, "HeldInLathe.ThreeJawOnTheSteps"},
    {ContactKind::kChuckGrip, "HeldInLathe.ThreeJaw"},
    {ContactKind::kCollet, "HeldInLathe.ColletTwice"},
    {ContactKind::kMandrel, "HeldInLathe.StubTurnedInPlace"},
    {ContactKind::kSetBySquare, "HeldOnMill.VeeBlocks"},
    {ContactKind::kAngleSet, "HeldOnMill.AtAnAngleByTheSineBar"},
    {ContactKind::kLineSet, "HeldOnMill.AtAnAngleByAScribedLine"},
    {ContactKind::kRough, "HeldOnMill.ViseJawFirst"},
    {ContactKind::kSteady, "HeldInLathe.FixedSteady"},
};

// What measures sizes has its reading and its setting in them, the others set the work.
constexpr SlowCase<InstrumentKind> kInstruments[] = {
    {InstrumentKind::kCaliper, "MeasuredBy.CaliperOnAShaft"},
    {InstrumentKind::kMicrometer, "MeasuredBy.MicrometerOnAShaft"},
    {InstrumentKind::kBoreGauge, "MeasuredBy.BoreGaugeInABore"},
    {InstrumentKind::kTelescopicGauge, "MeasuredBy.TelescopicGaugeInABore"},
    {InstrumentKind::kDepthMicrometer, "MeasuredBy.DepthMicrometerOnAFace"},
    {InstrumentKind::kIndicator, "HeldInLathe.FourJawByTheBore"},
    {InstrumentKind::kEdgeFinder, "HeldOnMill.ClampsOnTable"},
    {InstrumentKind::kHeightGauge, "HeldOnMill.AtAnAngleByAScribedLine"},
    {InstrumentKind::kSquare, "HeldOnMill.VeeBlocks"},
    {InstrumentKind::kProtractor, "HeldOnMill.AtAnAngleByTheProtractor"},
    {InstrumentKind::kSineBar, "HeldOnMill.AtAnAngleByTheSineBar"},
    {InstrumentKind::kGaugeBlocks, "HeldOnMill.AtAnAngleByTheSineBar"},
};

std::set<std::string, std::less<>> TestsOfThisProgram() {
  std::set<std::string, std::less<>> names;
  const auto& program = *::testing::UnitTest::GetInstance();
  for (int i = 0; i < program.total_test_suite_count(); ++i) {
    const auto& suite = *program.GetTestSuite(i);
    for (int k = 0; k < suite.total_test_count(); ++k) {
      names.insert(std::string(suite.name()) + "." + suite.GetTestInfo(k)->name());
    }
  }
  return names;
}

template <typename Enum, std::size_t kCount>
void ExpectAllHaveACase(const SlowCase<Enum> (&cases)[kCount]) {
  const auto tests = TestsOfThisProgram();
  std::set<Enum> covered;
  for (const auto& one : cases) {
    EXPECT_TRUE(tests.contains(one.test)) << one.test << " is no test";
    covered.insert(one.of);
  }
  for (const auto& word : WordsOf<Enum>::kAll) {
    EXPECT_TRUE(covered.contains(word.value)) << word.word << " is built the slow way by no test";
  }
}

TEST(SlowCases, EveryTechniqueHasOne) { ExpectAllHaveACase(kTechniques); }
TEST(SlowCases, EveryJointHasOne) { ExpectAllHaveACase(kJoints); }
TEST(SlowCases, EveryRequirementHasOne) { ExpectAllHaveACase(kRequirements); }
TEST(SlowCases, EveryHoldingHasOne) { ExpectAllHaveACase(kHoldings); }
TEST(SlowCases, EveryDeviceHasOne) { ExpectAllHaveACase(kDevices); }
TEST(SlowCases, EveryInstrumentHasOne) { ExpectAllHaveACase(kInstruments); }
TEST(SlowCases, EveryContactHasOne) { ExpectAllHaveACase(kContacts); }

}  // namespace
}  // namespace fitwright::variation
