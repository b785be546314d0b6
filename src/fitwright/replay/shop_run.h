// All setups of a plan, those that do not wait for each other side by side.
#pragma once

#include <functional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/replay/replay.h"
#include "fitwright/replay/setup_run.h"

namespace fitwright::replay {

struct ShopRun {
  Pieces pieces;  // at the end; sheet names and copies that the plan names
  std::vector<std::vector<Finding>> findings;  // one list a setup, in the plan's order
};

struct ShopRunOptions {
  int threads = 1;
  const CancelFlag* cancel = nullptr;
  ProgressFn progress;
  Memo* memo = nullptr;
  bool stop_at_first = false;
};

// Raw pieces of every part used, and of every copy the plan names. Errors: as solid::MakeStock.
Result<Pieces> MakeRawPieces(const Machine& machine, const Plan& plan);

// Waves of setups: each setup is in the first wave after those before it that share a part with it.
std::vector<std::vector<std::size_t>> MakeWaves(const Plan& plan);

Result<ShopRun> RunPlan(const Machine& machine, const Shop& shop, const Plan& plan,
                        const ShopRunOptions& options);

// RunPlan and the judgement of what came out; with stop_at_first the report ends at the first wave
// that broke a rule. `made` (may be null) receives the pieces at the end.
Result<ReplayReport> RunAndJudge(const Machine& machine, const Shop& shop, const Plan& plan,
                                 const ShopRunOptions& options, Pieces* made = nullptr);

}  // namespace fitwright::replay
