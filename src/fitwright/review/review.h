// Design checks in closed form: what a machinist would ask about before cutting anything.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/model/machine.h"

namespace fitwright::review {

enum class Rule {
  kWallThin,        // metal left between a hole and a face, or between two holes
  kEdgeNear,        // a screw's hole too near an edge
  kPointBreaksOut,  // a drill's point, or a bore's end, comes out where it should not
  kScrewTooShort,   // too little thread in mesh
  kScrewTooLong,    // the screw bottoms in its hole before the head is down
  kThreadTooDeep,   // full thread asked for closer to the bottom than a plug tap cuts it
  kLengthNotSold,   // a screw's length that is not in the series
  kStackUnclear,    // what the screws pass as placed is not what the joint names
  kHeadOverlaps,    // a screw's head or washer fouls a wall, its neighbour or the edge of its seat
  kNoKeyRoom,       // screw and key do not come down to the seat
  kPatternsDoNotLineUp,  // drawn axes of a screwed joint do not coincide
  kHoleTooSmall,         // a clearance hole that the screw does not pass
  kSpigotTooBig,         // a spigot drawn bigger than its bore
  kLooseFit,             // a press fit drawn with clearance
  kFitMissing,           // a mating size with nothing but the general tolerance
  kNoRelief,             // neither undercut nor lead where a flange should seat
  kFacesApart,           // joint faces do not touch as placed
  kAxesApart,            // spigot and bore do not share an axis as placed
  kBearingNotHeld,       // nothing behind a bearing's outer ring on one side
  kWheelFouls,           // a pulley or a crank that turns into another part
  kGapTooSmall,          // a part thicker than the gap that it lies in may be
  kChamberClosed,        // a pocket under a gasket that nothing leads into
  kWasherTooSmall,       // a washer that what it keeps on slips over
  kNotAsDrawn,           // a requirement that the drawn sizes themselves break
  kNoWayTogether,        // no order of straight moves puts the parts together
  kNotAMirror,           // called a mirror part, yet the same either way
  kPartsOverlap,         // two parts share space (on solids)
  kNotOnePiece           // what is drawn falls apart or holds no metal (on solids)
};

struct Finding {
  Rule rule = Rule::kWallThin;
  std::string where;   // "block.top_holes", "joint bush_screws"
  std::string say;     // one sentence with the numbers, mm
  std::string remedy;  // what would do
  // Where it stands in the project's text; filled by the service, 0 = not known.
  std::string file = {};
  int line = 0;
};

// Least walls and distances, mm or in diameters of the thread; opinion, to be replaced by the
// shop's own.
struct ReviewLimits {
  double wall_mm = 1.0;                // between a hole and a face or another hole, any size
  double ring_wall_mm = 0.5;           // round a hole on the axis of round work: a ring, a tube
  double tapped_edge_diameters = 1.5;  // centre of a tapped hole to an edge
  double clearance_edge_diameters =
      1.1;  // centre of a screw's hole to an edge or an opening beside it
  // Metal round a thread that no screw's pull bursts open sideways: on the axis of round work, and
  // a pipe thread, whose fitting is only screwed up to its seal.
  double tapped_wall_diameters = 0.5;
  double engagement_diameters = 1.0;       // least thread in mesh: steel, iron, bronze, brass
  double engagement_soft_diameters = 1.5;  // aluminium
};

// All findings, by part in the sheet's order, then joints. Drawn sizes at the middle of their
// limits. Deterministic; some 0.1 s for a machine of thirty pieces. What is not closed form (odd
// shapes meeting) is left to the check on solids.
std::vector<Finding> Review(const Machine& machine, const ReviewLimits& limits = {});

}  // namespace fitwright::review

template <>
struct fitwright::WordsOf<fitwright::review::Rule> {
  using R = fitwright::review::Rule;
  static constexpr auto kAll =
      std::to_array<fitwright::Word<R>>({{R::kWallThin, "wall_thin"},
                                         {R::kEdgeNear, "edge_near"},
                                         {R::kPointBreaksOut, "point_breaks_out"},
                                         {R::kScrewTooShort, "screw_too_short"},
                                         {R::kScrewTooLong, "screw_too_long"},
                                         {R::kThreadTooDeep, "thread_too_deep"},
                                         {R::kLengthNotSold, "length_not_sold"},
                                         {R::kStackUnclear, "stack_unclear"},
                                         {R::kHeadOverlaps, "head_overlaps"},
                                         {R::kNoKeyRoom, "no_key_room"},
                                         {R::kPatternsDoNotLineUp, "patterns_do_not_line_up"},
                                         {R::kHoleTooSmall, "hole_too_small"},
                                         {R::kSpigotTooBig, "spigot_too_big"},
                                         {R::kLooseFit, "loose_fit"},
                                         {R::kFitMissing, "fit_missing"},
                                         {R::kNoRelief, "no_relief"},
                                         {R::kFacesApart, "faces_apart"},
                                         {R::kAxesApart, "axes_apart"},
                                         {R::kBearingNotHeld, "bearing_not_held"},
                                         {R::kWheelFouls, "wheel_fouls"},
                                         {R::kGapTooSmall, "gap_too_small"},
                                         {R::kChamberClosed, "chamber_closed"},
                                         {R::kWasherTooSmall, "washer_too_small"},
                                         {R::kNotAsDrawn, "not_as_drawn"},
                                         {R::kNoWayTogether, "no_way_together"},
                                         {R::kNotAMirror, "not_a_mirror"},
                                         {R::kPartsOverlap, "parts_overlap"},
                                         {R::kNotOnePiece, "not_one_piece"}});
};
