// Holes of several pieces on the same lines, cut in one go. Private to process*.cc.
#pragma once

#include "fitwright/planner/process_common.h"

namespace fitwright::planner {

// The request asks for a hole that goes on from its first feature's part into the others'.
bool GoesThroughBoth(const CutRequest& request);

// All of them as one hole of the uppermost piece, entered from the spindle's side, down to the
// lowest floor; piece: that one with the room that all take up. Errors: kNoPlan: not on one line,
// not along the spindle, not equally wide.
struct JoinedHoles {
  Feature feature;
  PieceInSetup piece;
};
Result<JoinedHoles> JoinHoles(const CutContext& context, const CutRequest& request);

}  // namespace fitwright::planner
