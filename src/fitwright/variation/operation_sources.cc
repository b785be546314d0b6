#include "fitwright/variation/operation_sources.h"

#include <array>

namespace fitwright::variation {
namespace {

using S = SpreadId;
using E = Effect;
using C = Scope;

constexpr std::array kPlaced = {SourceUse{S::kReadoutPosition, E::kPlaceXY, C::kVisit},
                                SourceUse{S::kLockShift, E::kPlaceXY, C::kVisit},
                                SourceUse{S::kReadoutScale, E::kScaleXY, C::kAxis},
                                SourceUse{S::kAxisSquareness, E::kSkewXY, C::kMachine}};
constexpr std::array kSpotted = {kPlaced[0], kPlaced[1], kPlaced[2], kPlaced[3],
                                 SourceUse{S::kDrillStartSpotted, E::kPlaceXY, C::kVisit}};
constexpr std::array kUnspotted = {kPlaced[0],
                                   kPlaced[1],
                                   kPlaced[2],
                                   kPlaced[3],
                                   SourceUse{S::kDrillStartUnspotted, E::kPlaceXY, C::kVisit},
                                   SourceUse{S::kDrillRunoff, E::kRunOff, C::kVisit},
                                   SourceUse{S::kColumnTram, E::kLeanPlunge, C::kMachine},
                                   SourceUse{S::kDrillOversize16, E::kOversize, C::kTool}};
constexpr std::array kFollowed = {SourceUse{S::kDrillRunoff, E::kRunOff, C::kVisit},
                                  SourceUse{S::kColumnTram, E::kLeanPlunge, C::kMachine},
                                  SourceUse{S::kDrillOversize16, E::kOversize, C::kTool}};
constexpr std::array kPunched = {SourceUse{S::kDrillInPunchMark, E::kPlaceXY, C::kVisit}};
constexpr std::array kFoundMark = {SourceUse{S::kPunchMarkCentring, E::kPlaceXY, C::kVisit}};
constexpr std::array kTogether = {SourceUse{S::kDrilledTogether, E::kTransfer, C::kVisit}};
constexpr std::array kReamedTogether = {SourceUse{S::kReassemblyDowelled, E::kTransfer, C::kVisit}};
constexpr std::array kBoredTogether = {SourceUse{S::kDrilledTogether, E::kTransfer, C::kVisit},
                                       SourceUse{S::kBoringHeadDiameter, E::kSize, C::kVisit},
                                       SourceUse{S::kBoreForm, E::kForm, C::kVisit}};
constexpr std::array kDrilledOnAxis = {SourceUse{S::kTailstockOffset, E::kOffAxis, C::kMachine},
                                       SourceUse{S::kDrillRunoff, E::kRunOff, C::kVisit},
                                       SourceUse{S::kDrillOversize16, E::kOversize, C::kTool}};
constexpr std::array kTransferred = {SourceUse{S::kSpotThrough, E::kTransfer, C::kVisit}};
constexpr SourceUse kSprungOpen{S::kJawForce, E::kSprung, C::kSetup};
constexpr std::array kReamed = {SourceUse{S::kReamedOverNominal, E::kReamed, C::kTool}, kSprungOpen};
constexpr std::array kTappedInSpindle = {SourceUse{S::kTapTiltSpindle, E::kThreadLean, C::kVisit}};
constexpr std::array kTappedByHand = {SourceUse{S::kTapTiltBlock, E::kThreadLean, C::kVisit}};
constexpr std::array kBoredInMill = {kPlaced[0],
                                     kPlaced[1],
                                     kPlaced[2],
                                     kPlaced[3],
                                     SourceUse{S::kHeadMoveShift, E::kHeadMove, C::kVisit},
                                     SourceUse{S::kColumnTram, E::kLeanPlunge, C::kMachine},
                                     SourceUse{S::kBoringHeadDiameter, E::kSize, C::kVisit},
                                     SourceUse{S::kBoreForm, E::kForm, C::kVisit},
                                     kSprungOpen};
constexpr std::array kBoredOnAxis = {SourceUse{S::kBoredDiameterLathe, E::kSize, C::kVisit},
                                     SourceUse{S::kLatheTaper, E::kTaper, C::kMachine},
                                     SourceUse{S::kBoreForm, E::kForm, C::kVisit},
                                     kSprungOpen};
constexpr std::array kHoned = {SourceUse{S::kBoreForm, E::kSize, C::kVisit},
                               SourceUse{S::kBoreForm, E::kForm, C::kVisit},
                               kSprungOpen};
constexpr std::array kTurned = {SourceUse{S::kTurnedDiameter, E::kSize, C::kVisit},
                                SourceUse{S::kLatheTaper, E::kTaper, C::kMachine}};
constexpr std::array kFacedInLathe = {SourceUse{S::kDepthStop, E::kHeight, C::kVisit},
                                      SourceUse{S::kFacingConcavity, E::kDishing, C::kMachine}};
constexpr std::array kLength = {SourceUse{S::kDepthStop, E::kHeight, C::kVisit}};
constexpr std::array kMilledFace = {SourceUse{S::kMilledThickness, E::kHeight, C::kVisit}};
constexpr std::array kMilledWall = {SourceUse{S::kReadoutPosition, E::kPlaceAlong, C::kVisit},
                                    SourceUse{S::kLockShift, E::kPlaceAlong, C::kVisit},
                                    SourceUse{S::kCutterRunout, E::kPlaceAlong, C::kVisit},
                                    SourceUse{S::kReadoutScale, E::kScaleXY, C::kAxis},
                                    SourceUse{S::kAxisSquareness, E::kSkewXY, C::kMachine},
                                    SourceUse{S::kSideWallLean, E::kWallLean, C::kVisit}};
constexpr std::array kMilledShape = {kPlaced[0],
                                     kPlaced[1],
                                     kPlaced[2],
                                     kPlaced[3],
                                     SourceUse{S::kCutterRunout, E::kSize, C::kVisit},
                                     SourceUse{S::kDepthStop, E::kHeight, C::kVisit}};
constexpr std::array kCounterboredInMill = {kPlaced[0], kPlaced[1], kPlaced[2], kPlaced[3],
                                            SourceUse{S::kCutterRunout, E::kSize, C::kVisit}};
constexpr std::array kSlottedInLathe = {SourceUse{S::kSlottingToolHeight, E::kPlaceXY, C::kVisit},
                                        SourceUse{S::kSlottedWidth, E::kSize, C::kVisit}};
constexpr std::array kBroached = {SourceUse{S::kBroachBush, E::kPlaceXY, C::kVisit},
                                  SourceUse{S::kBroachedWidth, E::kSize, C::kVisit}};
constexpr std::array kGrooved = {SourceUse{S::kTurnedDiameter, E::kSize, C::kVisit},
                                 SourceUse{S::kDepthStop, E::kHeight, C::kVisit}};

constexpr std::array kRows = {
    OperationRow{Operation::kSpot, Work::kHoleInMill, kSpotted,
                 "the spot sets the place; drill and tap follow it"},
    OperationRow{Operation::kSpot, Work::kHoleOnMark, kFoundMark,
                 "the mark sets the place, the spindle is brought over it by eye"},
    OperationRow{Operation::kSpot,
                 Work::kHoleOnAxis,
                 {},
                 "the drill that follows brings the tailstock's error"},
    OperationRow{Operation::kSpotThrough, Work::kAny, kTransferred,
                 "start included; with the mate's pose in its joint's play, and the drill's own "
                 "play in the mate's hole"},
    OperationRow{Operation::kDrill, Work::kHoleInMill, kUnspotted, "not spotted"},
    OperationRow{Operation::kDrill, Work::kHoleOnStart, kFollowed,
                 "run-off of the first drill only"},
    OperationRow{Operation::kDrill, Work::kHoleOnAxis, kDrilledOnAxis,
                 "run-off of the first drill only"},
    OperationRow{Operation::kDrill, Work::kHoleThroughBoth, kTogether,
                 "stands where the upper part's hole stands, in the pose in which they were held"},
    OperationRow{Operation::kReam, Work::kHoleThroughBoth, kReamedTogether,
                 "instead of the drill's figure: one reamer leaves one line"},
    OperationRow{Operation::kBore, Work::kHoleThroughBoth, kBoredTogether,
                 "on the upper bore's line; the size is its own"},
    OperationRow{Operation::kReam, Work::kAny, kReamed, "place and lean are the drilled hole's"},
    OperationRow{Operation::kBore, Work::kHoleInMill, kBoredInMill,
                 "a bore's place is its own, whatever was drilled before"},
    OperationRow{Operation::kBore, Work::kHoleOnAxis, kBoredOnAxis, "true to the axis"},
    OperationRow{Operation::kCounterbore, Work::kHoleInMill, kCounterboredInMill,
                 "a piloted tool follows the hole instead"},
    OperationRow{Operation::kCounterbore, Work::kHoleOnAxis, kBoredOnAxis, ""},
    OperationRow{Operation::kMill, Work::kHoleInMill, kCounterboredInMill, ""},
    OperationRow{Operation::kTurn, Work::kHoleOnAxis, kBoredOnAxis, ""},
    OperationRow{Operation::kFace, Work::kHoleOnAxis, kBoredOnAxis, "a seat faced with the bar"},
    OperationRow{Operation::kHone, Work::kAny, kHoned, "axis stays; the size is worked anew"},
    OperationRow{Operation::kTap, Work::kHoleInMill, kTappedInSpindle, "started in the spindle"},
    OperationRow{Operation::kTap, Work::kHoleOnAxis, kTappedInSpindle, "started in the tailstock"},
    OperationRow{Operation::kTap, Work::kAny, kTappedByHand, "by hand, guided by a block"},
    OperationRow{Operation::kFace, Work::kFaceFromAbove, kMilledFace,
                 "worked to a measured thickness: seat errors leave tilt only"},
    OperationRow{Operation::kMill, Work::kFaceFromAbove, kMilledFace, ""},
    OperationRow{Operation::kMill, Work::kWall, kMilledWall, ""},
    OperationRow{Operation::kFace, Work::kWall, kMilledWall, ""},
    OperationRow{Operation::kFace, Work::kFaceInLathe, kFacedInLathe, ""},
    OperationRow{Operation::kTurn, Work::kFaceInLathe, kFacedInLathe, "shoulder"},
    OperationRow{Operation::kBore, Work::kFaceInLathe, kFacedInLathe, "floor of a bore"},
    OperationRow{Operation::kCounterbore, Work::kFaceInLathe, kFacedInLathe,
                 "floor of a counterbore"},
    OperationRow{Operation::kBore, Work::kFaceFromAbove, kLength, "floor of a bore"},
    OperationRow{Operation::kCounterbore, Work::kFaceFromAbove, kLength, "floor of a counterbore"},
    OperationRow{Operation::kDrill, Work::kFaceFromAbove, kLength, ""},
    OperationRow{Operation::kTurn, Work::kRoundOutside, kTurned,
                 "worked to the micrometer: the reading is inside"},
    OperationRow{Operation::kMill, Work::kSunkShape, kMilledShape, ""},
    OperationRow{Operation::kTurn, Work::kSunkShape, kGrooved, ""},
    OperationRow{Operation::kGroove, Work::kAny, kGrooved, ""},
    OperationRow{Operation::kChamfer, Work::kAny, kLength, ""},
    OperationRow{Operation::kPartOff, Work::kAny, kLength, ""},
    OperationRow{Operation::kSaw, Work::kAny, kLength, "rough: only ever a first seat"},
    OperationRow{Operation::kByHand, Work::kAny, kPunched, "to scribed lines"},
    OperationRow{Operation::kThread, Work::kAny, {}, "limits of the thread's own table"},
    OperationRow{Operation::kKnurl, Work::kAny, {}, "raises the surface; its size is not fitted"},
    OperationRow{Operation::kCentreDrill, Work::kAny, {}, "only ever holds a centre"},
    OperationRow{Operation::kMark, Work::kAny, {}, "letters"},
    OperationRow{Operation::kShape, Work::kAny, kSlottedInLathe,
                 "the bit's own width and how far it springs aside; its height against the spindle's axis"},
    OperationRow{Operation::kBroach, Work::kAny, kBroached,
                 "the broach's own width; its place as the bush lies in the bore and the broach in the bush"}};
constexpr OperationRow kNothing = {Operation::kMeasure, Work::kAny, {}, ""};

constexpr std::array kOnBed = {SourceUse{S::kBedAndParallels, E::kWallLean, C::kDevice},
                               SourceUse{S::kJawLift, E::kHeight, C::kSetup},
                               SourceUse{S::kChipUnderWork, E::kHeight, C::kSetup}};
constexpr std::array kOnJaw = {SourceUse{S::kFixedJawSquareness, E::kWallLean, C::kDevice},
                               SourceUse{S::kBedAndParallels, E::kWallLean, C::kDevice},
                               SourceUse{S::kJawAlignment, E::kWallLean, C::kSetup},
                               SourceUse{S::kEdgeFinder, E::kPlaceAlong, C::kSetup}};
constexpr std::array kFinder = {SourceUse{S::kEdgeFinder, E::kPlaceAlong, C::kSetup}};
constexpr std::array kEdge = {SourceUse{S::kEdgeFinder, E::kPlaceAlong, C::kSetup},
                              SourceUse{S::kRawSide, E::kPlaceAlong, C::kSetup}};
constexpr std::array kTouch = {SourceUse{S::kPaperTouch, E::kHeight, C::kSetup}};
constexpr std::array kIndicated = {SourceUse{S::kBoreCentring, E::kPlaceAlong, C::kSetup}};
constexpr std::array kIndicatedInLathe = {
    SourceUse{S::kFourJawEccentricity, E::kPlaceAlong, C::kSetup}};
constexpr std::array kSeated = {SourceUse{S::kRechuckWobble, E::kWallLean, C::kSetup},
                                SourceUse{S::kChipUnderWork, E::kHeight, C::kSetup}};
constexpr std::array kGripped = {SourceUse{S::kThreeJawEccentricity, E::kPlaceAlong, C::kDevice},
                                 SourceUse{S::kRechuckWobble, E::kWallLean, C::kSetup}};
constexpr std::array kInCollet = {SourceUse{S::kColletEccentricity, E::kPlaceAlong, C::kDevice}};
constexpr std::array kOnMandrel = {
    SourceUse{S::kTrueMandrelEccentricity, E::kPlaceAlong, C::kSetup}};
constexpr std::array kInSteady = {SourceUse{S::kSteadyRunning, E::kPlaceAlong, C::kSetup},
                                  SourceUse{S::kSteadyOffAxis, E::kTaper, C::kSetup}};
constexpr std::array kSquare = {SourceUse{S::kSetUprightBySquare, E::kWallLean, C::kSetup}};
constexpr std::array kAngle = {SourceUse{S::kAngleSineBar, E::kWallLean, C::kSetup},
                              SourceUse{S::kAngleProtractor, E::kWallLean, C::kSetup}};
constexpr std::array kLine = {SourceUse{S::kScribedLine, E::kWallLean, C::kSetup}};

constexpr std::array kContactRows = {
    ContactRow{
        ContactKind::kBed, kOnBed,
        "tilt of the bed turns about the middle of its contacts; lift on the moving jaw's side"},
    ContactRow{ContactKind::kFixedJaw, kOnJaw,
               "the finder only where no edge is found along that axis; an angle plate's "
               "squareness instead of the jaw's on one"},
    ContactRow{ContactKind::kStop, kFinder,
               "across the spindle only, and only where no edge is found along that axis"},
    ContactRow{ContactKind::kEdgeFound, kEdge,
               "the raw side's unevenness only where no cut face stands there; on the lathe "
               "`scribed_line` and `punch_mark_centring` instead: the centre is scribed from it"},
    ContactRow{ContactKind::kTouchedOff, kTouch, "on a round half of its size besides"},
    ContactRow{ContactKind::kBoreCentred, kIndicated, "four-jaw residual on the lathe"},
    ContactRow{ContactKind::kOuterCentred, kIndicatedInLathe,
               "bore centring's figure on the mill; in V-blocks half of each of two edges found"},
    ContactRow{ContactKind::kChuckFace, kSeated,
               "a mandrel's own shoulder, faced in place, does not wobble; on the faceplate `bed_and_parallels` (device) of "
               "its packing instead"},
    ContactRow{ContactKind::kChuckGrip, kGripped,
               "size repeats for the chuck and diameter, direction per setup; wobble only where no "
               "face seats the piece, and so much more as it is gripped shorter than half its diameter (or 6 mm); "
               "between centres `centre_eccentricity` instead: the outside stands for "
               "the centres it was turned on"},
    ContactRow{ContactKind::kCollet, kInCollet, ""},
    ContactRow{ContactKind::kMandrel, kOnMandrel, "of one that expands `collet_eccentricity` (device): it is a collet inside the bore"},
    ContactRow{ContactKind::kSetBySquare, kSquare, "against a jaw or plate, or about round work's own axis, that turn whole and no place"},
    ContactRow{ContactKind::kAngleSet, kAngle, "whichever the setup says it is set by; that turn whole"},
    ContactRow{ContactKind::kRough, {}, "a first seat: what it leaves is the new reference"},
    ContactRow{ContactKind::kLineSet, kLine, "both ends of the line, over its length"},
    ContactRow{ContactKind::kSteady, kInSteady,
               "what is turned or bored beyond the steady becomes a cone by twice its offset over the length from "
               "the jaws to it, a face by once the offset"}};

}  // namespace

std::span<const OperationRow> OperationTable() { return kRows; }
std::span<const ContactRow> ContactTable() { return kContactRows; }

const OperationRow& FindRow(Operation operation, Work work) {
  const OperationRow* any = nullptr;
  for (const OperationRow& row : kRows) {
    if (row.operation != operation) continue;
    if (row.work == work) return row;
    if (row.work == Work::kAny) any = &row;
  }
  return any == nullptr ? kNothing : *any;
}

std::string_view WordOfEffect(Effect effect) {
  static constexpr std::array<std::string_view, 19> kWords = {
      "place in x and y",
      "place along the normal",
      "place, in proportion to the coordinate",
      "x in proportion to y",
      "place, by head movement",
      "place off the axis",
      "lean of the axis",
      "place in proportion to depth",
      "lean of the thread",
      "place against the mate's hole",
      "height",
      "lean of a face",
      "dishing",
      "size",
      "size over the drill's",
      "size over nominal",
      "size in proportion to length",
      "form",
      "three lobes of a ring held in jaws"};
  return kWords[static_cast<std::size_t>(effect)];
}

std::string_view WordOfScope(Scope scope) {
  static constexpr std::array<std::string_view, 8> kWords = {
      "machine", "axis", "device", "tool", "instrument", "setup", "visit", "assembly"};
  return kWords[static_cast<std::size_t>(scope)];
}

std::string_view WordOfWork(Work work) {
  static constexpr std::array<std::string_view, 11> kWords = {"hole by coordinates",
                                                             "hole on a start",
                                                             "hole on the lathe's axis",
                                                             "hole through both parts",
                                                             "hole on a mate's mark",
                                                             "face from above",
                                                             "wall",
                                                             "face in the lathe",
                                                             "outside diameter",
                                                             "slot, pocket, step, flats, groove",
                                                             "any"};
  return kWords[static_cast<std::size_t>(work)];
}

}  // namespace fitwright::variation
