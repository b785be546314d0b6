// Pieces as they stand in the shop, for drawings and for STEP of half-made parts.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/replay/replay.h"
#include "fitwright/solid/solid.h"

namespace fitwright::replay {

struct InProcessPiece {
  PartId part;
  Pose X_PS = Pose::Identity();
  solid::Solid solid_P;  // frame P, mm
  bool present = true;   // false: comes in by a later step
};

// What stands in a setup when it begins and when it ends.
struct SetupPieces {
  SetupId setup;
  std::vector<InProcessPiece> before;
  std::vector<InProcessPiece> after;
};

// One entry for each setup, in the plan's order. Broken rules are no error: the pieces are what the
// cuts make of them. Options and errors as Replay.
Result<std::vector<SetupPieces>> MakeSetupPieces(const Machine& machine, const Shop& shop,
                                                 const Plan& plan,
                                                 const ReplayOptions& options = {});

// The pieces of the step's setup right behind the step. kNoPlan when the plan has no such step.
Result<std::vector<InProcessPiece>> MakePiecesAfter(const Machine& machine, const Shop& shop,
                                                    const Plan& plan, const StepId& step,
                                                    const ReplayOptions& options = {});

}  // namespace fitwright::replay
