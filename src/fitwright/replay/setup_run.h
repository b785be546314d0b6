// One setup, step by step.
#pragma once

#include <functional>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/replay/floor.h"
#include "fitwright/replay/memo.h"
#include "fitwright/replay/setup_view.h"

namespace fitwright::replay {

struct RunOptions {
  const CancelFlag* cancel = nullptr;  // not owned, may be null
  Memo* memo = nullptr;                // not owned, may be null
  bool stop_at_first = false;          // the rest of the setup is left out after a finding
};

// Pieces before the setup in, after it out; only the setup's own parts are changed. `after` is
// called behind each step with the floor as it stands; it may be empty. Errors: kKernel, kStopped.
using AfterStep = std::function<void(const Step&, const Floor&)>;
Result<std::vector<Finding>> RunSetup(const Shop& shop, const Setup& setup, Pieces& pieces,
                                      const RunOptions& options, const AfterStep& after = {});

}  // namespace fitwright::replay
