// Independent proof that a build plan makes the parts: the cuts are replayed on solids.
#pragma once

#include <cstdint>
#include <filesystem>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::replay {

struct ReplayOptions {
  int threads = 1;                     // 0 = one a core; the report does not depend on it
  const CancelFlag* cancel = nullptr;  // not owned, may be null
  ProgressFn progress;                 // may be empty; called once a setup
  // Folder that keeps pieces between runs, by hash of all that made them; empty = keep nothing.
  // Safe to delete at any time; the oldest files go when it holds more than cache_bytes_most.
  std::filesystem::path cache_dir;
  std::int64_t cache_bytes_most = 200'000'000;
};

// Replays every setup of `plan` in order and says of each part what was made and which rules were
// broken.
//
// Inputs: of the machine only each part's name, quantity and Stock are read (mm, part frame P), and
// its design once, at the end; of the shop the sizes of machines, holding devices and tools; of the
// plan the setups' poses, fixtures, contacts, and each step's tool, path, coordinates and depth.
// What a step says it is for is never read: a cut is what its cutter sweeps. Output: one ReplayPart
// for each part that the machine uses (and for each copy, "ring#2", that the plan names), in the
// machine's order. Violations are in the order of work; rules are the words of replay/rules.h. A
// violation that concerns several parts stands under the first of its setup. made = design when the
// volume of their symmetric difference is under 1e-6 of the part's volume and under 0.01 mm3, both
// at the middle of limits; threads and marks remove nothing. ok = every part is made and no rule is
// broken. Errors: kKernel when solids cannot be computed, kStopped when cancelled. A bad plan is no
// error. Deterministic: the same bytes for any thread count, with or without a cache. Cost: about
// 10-30 ms for each cutting step that is not remembered.
Result<ReplayReport> Replay(const Machine& machine, const Shop& shop, const Plan& plan,
                            const ReplayOptions& options = {});

}  // namespace fitwright::replay
