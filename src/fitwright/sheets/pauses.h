// Where a builder may break off, and what can be done while something cures.
#pragma once

#include <vector>

#include "fitwright/model/plan.h"

namespace fitwright::sheets {

// A place to break off: behind `step`, the setup's last one when the piece is out by then.
struct Pause {
  SetupId setup;
  StepId step;
  bool piece_out = false;               // the setup ends here
  double worked_min = 0;                // since the pause before it
  std::vector<FeatureRef> half_done;    // begun in this setup and finished only behind the pause; the fewest there are
};

// Pauses at most `longest_min` apart wherever steps are short enough, the last setup's end left out. Between setups if it can be; else
// where nothing is half cut: a bore that is roughed today and finished tomorrow is another bore (common practice). Minutes without
// hands (Step::wait_min) are not counted. That nobody works well longer than 90 minutes is an opinion.
std::vector<Pause> FindPauses(const Plan& plan, double longest_min = 90);

// Setups behind `setup` that need nothing of it, neither its pieces nor what it holds them in, in the order of work: what can be done
// while a step of it waits.
std::vector<const Setup*> WorkBeside(const Plan& plan, const Setup& setup);

}  // namespace fitwright::sheets
