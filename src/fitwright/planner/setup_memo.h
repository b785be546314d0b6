// Remembers setups as the search judges them. Private to build_plan.cc and who owns a memo.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/base/error.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/device_order.h"
#include "fitwright/planner/holding_memo.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/planner/route.h"
#include "fitwright/variation/setup_readings.h"

namespace fitwright::planner {

// A setup worked out, without what only people read, and the pieces as it leaves them.
struct MadeSetup {
  std::uint64_t id = 0;  // names this history of its pieces: from 1
  Setup setup;
  Setup outline;  // of the same: what tells setups apart in an order of work, and the minutes without its steps
  std::map<PartId, PieceState> after;
  std::optional<Error> error = {};  // it cannot be made
};

// By the outline of the setup and `before`: what its pieces have been through and what the strategy wants of
// them. Belongs to one shop and one set of parts; for many threads.
class SetupMemo {
 public:
  std::shared_ptr<const MadeSetup> Find(const std::string& before, const SetupSketch& sketch) const;
  // Gives `made` its id and keeps it; what another thread has kept for the same comes back instead.
  std::shared_ptr<const MadeSetup> Keep(const std::string& before, const SetupSketch& sketch, MadeSetup made);

  // Parts that stay on what they were cut with, joints that are pinned, when the whole machine is put together.
  using Before = std::pair<std::set<PartId>, std::set<JointId>>;
  // How it is put together then, made once for each; null where it is not.
  const Setup* WholeTrial(const Before& before, const std::function<std::optional<Setup>()>& make);

  HoldingMemo& holdings() { return holdings_; }
  DeviceOrderMemo& device_orders() { return device_orders_; }
  // By MadeSetup::id.
  variation::SetupReadings& readings() { return readings_; }

 private:
  using Entry = std::pair<SetupSketch, std::shared_ptr<const MadeSetup>>;
  mutable std::mutex mutex_;
  std::uint64_t kept_ = 0;
  std::map<std::string, std::vector<Entry>> entries_;
  std::map<Before, std::optional<Setup>> whole_trials_;
  HoldingMemo holdings_;
  DeviceOrderMemo device_orders_;
  variation::SetupReadings readings_;
};

}  // namespace fitwright::planner
