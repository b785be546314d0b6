// The closed list of rules that a plan can break in the replay.
#pragma once

#include <string>

#include "fitwright/base/words.h"
#include "fitwright/model/ids.h"

namespace fitwright::replay {

enum class Rule {
  // The plan as a list.
  kSetupIdDuplicate,  // two setups of one name
  kStepIdDuplicate,   // two steps of one name
  kOrderViolation,    // a setup waits for a later one, or numbers do not count up
  kMachineUnknown,    // the setup's machine is not in the shop
  kDeviceUnknown,     // the holding device is not in the shop, or goes on another machine
  kDeviceOccupied,  // a device (or the lathe) that must keep a part was used for another meanwhile
  kPartMissing,     // a part that is wanted is not there, or is still raw stock
  kPartLeftOn,      // a part is still screwed to one in the setup, and the setup leaves it out
  kPartsOverlap,    // parts put together run into each other
  kPartsApart,      // parts put together do not touch
  kWashMissing,     // bonded without a wash since the last cut
  kCureMissing,     // what is to be bonded is used before it is bonded and cured long enough
  kTrialMissing,    // a length is made to a trial that was not made before it
  kTrialOutdated,   // a part is cut again after a trial measured it
  // How the piece sits.
  kPoseNotRigid,         // a pose that turns or stretches what it moves
  kZeroDisagrees,        // the zero on the sheet is not the frame's origin
  kWayUpDisagrees,       // what the sheet says is up is not up
  kFixtureOverlapsPart,  // a jaw, parallel or chuck stands inside the part
  kFixtureDiffers,       // a holding solid has not the size of the device's own
  kParallelsMissing,     // the shop has no parallels of that height
  kHoldingDisagrees,     // opening, grip or parallels on the sheet differ from the solids
  kGripMissing,          // a jaw touches nothing, or nothing presses against it
  kGripTooSmall,         // gripped by too little
  kNotSupported,         // nothing under the part
  kNotHeld,              // cut after it was parted off or before it was put in
  kOpeningExceeded,      // wider than the vise opens
  kCapacityExceeded,     // outside what the chuck or machine takes
  kSwingExceeded,        // does not turn clear of the lathe
  kDatumMissing,         // a surface that is touched is not there at that time
  kDatumCovered,         // a surface that shows a turn or a centre is not reached as the piece is held
  kThrustUnsupported,    // a drill presses beside what carries the piece
  kFixturesOverlap,      // two holding solids in one place
  // What the machine can do.
  kTravelExceeded,
  kDaylightExceeded,
  kSpeedNotOnMachine,  // not a step of the machine, or over what the tool stands
  kFeedExceeded,
  kCoordinatesDisagree,  // dial readings on the sheet are not the path's points
  kDepthDisagrees,       // depth on the sheet is not the path's
  // What the cutter does.
  kToolUnknown,     // not in the shop, or not for this machine
  kNoPath,          // a cut without a path
  kPathImpossible,  // a path that this tool cannot follow
  kToolTooShort,    // flutes or reach less than the cut needs
  kHolderCollision,
  kSpindleCollision,
  kFixtureCut,         // the cutter sweeps a jaw, parallel, bed or chuck
  kMateCut,            // spotting through a mate cuts the mate
  kNoMaterial,         // a cut that takes nothing away
  kPartNotCut,         // a cut that is to go through several parts misses one
  kDrillWithoutStart,  // a drill set on a plain face without spot, centre or hole
  kNoHoleBefore,       // reamer, hone or boring bar without a hole to go into
  kTapHoleMissing,     // no hole of the right size and depth to tap
  kBarTooSlender,      // boring bar more than four diameters out
  kWorkTooSlender,     // work turned far out of the jaws without a centre or steady
  kBlankMissing,       // no outside of the right size to thread or knurl
  kPlungeNotCentreCutting,
  kLoosePiece,  // the cut leaves two pieces
  kStrokeEndsInside,  // a stroke along a bore that does not run out of it
  // What came out.
  kNotMade,  // the solid made differs from the design's
  kNotTapped,
  kNotHoned,
  kNotThreaded,
  kNotKnurled,
  // How an angle is set.
  kAngleDisagrees,    // the angle or the stack on the sheet is not the one that it stands at
  kBlocksMissing,     // gauge blocks that the shop's set has not, or one of them twice
  kAslantOfSlides     // a straight cut that neither slide makes by itself
};

}  // namespace fitwright::replay

template <>
struct fitwright::WordsOf<fitwright::replay::Rule> {
  using Rule = replay::Rule;
  static constexpr auto kAll =
      std::to_array<Word<Rule>>({{Rule::kSetupIdDuplicate, "setup_id_duplicate"},
                                 {Rule::kStepIdDuplicate, "step_id_duplicate"},
                                 {Rule::kOrderViolation, "order_violation"},
                                 {Rule::kMachineUnknown, "machine_unknown"},
                                 {Rule::kDeviceUnknown, "device_unknown"},
                                 {Rule::kDeviceOccupied, "device_occupied"},
                                 {Rule::kPartMissing, "part_missing"},
                                 {Rule::kPartLeftOn, "part_left_on"},
                                 {Rule::kPartsOverlap, "parts_overlap"},
                                 {Rule::kPartsApart, "parts_apart"},
                                 {Rule::kWashMissing, "wash_missing"},
                                 {Rule::kCureMissing, "cure_missing"},
                                 {Rule::kTrialMissing, "trial_missing"},
                                 {Rule::kTrialOutdated, "trial_outdated"},
                                 {Rule::kPoseNotRigid, "pose_not_rigid"},
                                 {Rule::kZeroDisagrees, "zero_disagrees"},
                                 {Rule::kWayUpDisagrees, "way_up_disagrees"},
                                 {Rule::kFixtureOverlapsPart, "fixture_overlaps_part"},
                                 {Rule::kFixtureDiffers, "fixture_differs"},
                                 {Rule::kParallelsMissing, "parallels_missing"},
                                 {Rule::kHoldingDisagrees, "holding_disagrees"},
                                 {Rule::kGripMissing, "grip_missing"},
                                 {Rule::kGripTooSmall, "grip_too_small"},
                                 {Rule::kNotSupported, "not_supported"},
                                 {Rule::kNotHeld, "not_held"},
                                 {Rule::kOpeningExceeded, "opening_exceeded"},
                                 {Rule::kCapacityExceeded, "capacity_exceeded"},
                                 {Rule::kSwingExceeded, "swing_exceeded"},
                                 {Rule::kDatumMissing, "datum_missing"},
                                 {Rule::kDatumCovered, "datum_covered"},
                                 {Rule::kThrustUnsupported, "thrust_unsupported"},
                                 {Rule::kFixturesOverlap, "fixtures_overlap"},
                                 {Rule::kTravelExceeded, "travel_exceeded"},
                                 {Rule::kDaylightExceeded, "daylight_exceeded"},
                                 {Rule::kSpeedNotOnMachine, "speed_not_on_machine"},
                                 {Rule::kFeedExceeded, "feed_exceeded"},
                                 {Rule::kCoordinatesDisagree, "coordinates_disagree"},
                                 {Rule::kDepthDisagrees, "depth_disagrees"},
                                 {Rule::kToolUnknown, "tool_unknown"},
                                 {Rule::kNoPath, "no_path"},
                                 {Rule::kPathImpossible, "path_impossible"},
                                 {Rule::kToolTooShort, "tool_too_short"},
                                 {Rule::kHolderCollision, "holder_collision"},
                                 {Rule::kSpindleCollision, "spindle_collision"},
                                 {Rule::kFixtureCut, "fixture_cut"},
                                 {Rule::kMateCut, "mate_cut"},
                                 {Rule::kNoMaterial, "no_material"},
                                 {Rule::kPartNotCut, "part_not_cut"},
                                 {Rule::kDrillWithoutStart, "drill_without_start"},
                                 {Rule::kNoHoleBefore, "no_hole_before"},
                                 {Rule::kTapHoleMissing, "tap_hole_missing"},
                                 {Rule::kBarTooSlender, "bar_too_slender"},
                                 {Rule::kWorkTooSlender, "work_too_slender"},
                                 {Rule::kBlankMissing, "blank_missing"},
                                 {Rule::kPlungeNotCentreCutting, "plunge_not_centre_cutting"},
                                 {Rule::kLoosePiece, "loose_piece"},
                                 {Rule::kStrokeEndsInside, "stroke_ends_inside"},
                                 {Rule::kNotMade, "not_made"},
                                 {Rule::kNotTapped, "not_tapped"},
                                 {Rule::kNotHoned, "not_honed"},
                                 {Rule::kNotThreaded, "not_threaded"},
                                 {Rule::kNotKnurled, "not_knurled"},
                                 {Rule::kAngleDisagrees, "angle_disagrees"},
                                 {Rule::kBlocksMissing, "blocks_missing"},
                                 {Rule::kAslantOfSlides, "aslant_of_slides"}});
};

namespace fitwright::replay {

// The figures that the rules use. "Opinion" where no standard and no common practice fixes them.
inline constexpr double kLeastGripDepth_mm = 3;  // hard floor, opinion; good practice is 5 or more
inline constexpr double kLeastJawArea_mm2 = 30;  // of each vise jaw, opinion
inline constexpr double kMostBarOut_diameters = 4;  // common practice for steel boring bars
inline constexpr double kMostStickOut_diameters = 3;  // of turned work, common practice
// On a centre a bar bends as a beam held fast at one end and carried at the other: at most
// 0.0098 F L^3 / (E I) against 1/3 F L^3 / (E I) of the free one (beam tables of engineering handbooks, from
// memory). Equal springing allows the cube root of their ratio in length.
inline constexpr double kCentredLonger = 3.24;
inline constexpr double kBetweenCentresLonger = 2.52;  // carried at both ends: 1/48 F L^3 / (E I), likewise
inline constexpr double kMostUnbalanced_rpm = 400;  // of a block off its middle in the lathe, opinion
inline constexpr double kBalanced_mm = 1;           // its middle this near to the spindle counts as balanced
inline constexpr double kTouch_mm = 0.02;           // nearer than this is touching
inline constexpr double kDatum_mm = 0.05;           // a datum point lies this near to its surface
inline constexpr double kDial_mm = 0.001;           // dial readings are printed to this
inline constexpr double kSheet_mm = 0.05;      // opening, grip and parallels are printed to a tenth
inline constexpr double kLeastTap = 0.74;      // tapping hole, share of the thread's outside ...
inline constexpr double kMostTap = 0.95;       // ... from coarse M2 (0.78) to fine and pipe (0.93)
inline constexpr double kMadeRelative = 1e-6;  // of the part's volume, and
inline constexpr double kMade_mm3 = 0.01;      // made = design below both

// One broken rule. part: whose report it stands in.
struct Finding {
  PartId part;
  StepId step;  // empty: the plan or the finished part as a whole; a setup's own id when it is the
                // setup
  Rule rule = Rule::kNotMade;
  std::string say;
};

}  // namespace fitwright::replay
