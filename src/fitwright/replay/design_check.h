// The one place where the design is looked at: what came out against what was drawn.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/replay/floor.h"
#include "fitwright/replay/memo.h"

namespace fitwright::replay {

// Volumes of the piece and of the design, and of their difference; not_made, not_tapped and
// not_honed in the violations. Volumes are rounded to 1e-6 mm3, the difference too. `memo` may be
// null. A design that has no solid is an error: kOutOfRange and the like as the solids give it, or
// kKernel.
Result<ReplayPart> JudgePart(const Part& part, const PartId& name, const Piece& piece,
                             const Memo* memo);

}  // namespace fitwright::replay
