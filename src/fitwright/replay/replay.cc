#include "fitwright/replay/replay.h"

#include "fitwright/replay/memo.h"
#include "fitwright/replay/shop_run.h"

namespace fitwright::replay {

Result<ReplayReport> Replay(const Machine& machine, const Shop& shop, const Plan& plan,
                            const ReplayOptions& options) {
  Memo memo(options.cache_dir, options.cache_bytes_most);
  ShopRunOptions run;
  run.threads = options.threads;
  run.cancel = options.cancel;
  run.progress = options.progress;
  run.memo = &memo;
  auto report = RunAndJudge(machine, shop, plan, run);
  memo.Trim();
  return report;
}

}  // namespace fitwright::replay
