// The pieces as they stand in the shop while the plan is carried out, for drawings and for STEP.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/solid/solid.h"

namespace fitwright::service {

struct PieceInWork {
  PartId part;
  solid::Solid before_P;  // as it comes into the setup
  solid::Solid after_P;   // as it leaves it
};

struct SetupPieces {
  SetupId setup;
  std::vector<PieceInWork> pieces;  // as Setup::parts
};

struct PiecesOptions {
  std::optional<StepId> until;  // stop after this step; the last setup then ends there
  WorkOptions work;
};

// Cuts every step's swept cutter from the stock, in the plan's order; rules are the replay's business.
// Errors: kUnknownFeature (a step with a tool or part that shop or machine do not know; `until` not in
// the plan), kKernel, kStopped.
Result<std::vector<SetupPieces>> MakePieces(const Machine& machine, const Shop& shop,
                                            const Plan& plan, const PiecesOptions& options);

}  // namespace fitwright::service
