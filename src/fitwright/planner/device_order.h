// Which setups are done while the same device stands on a machine, so that devices change as seldom as can be.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "fitwright/model/shop.h"

namespace fitwright::planner {

// A setup as far as devices are concerned. No device: nothing has to be put up for it.
struct Standing {
  MachineToolId machine;
  HoldingDeviceId device;
  std::vector<std::size_t> waits_for;
};

struct DeviceOrder {
  std::vector<std::size_t> turn;  // of each setup on its machine: those of one turn share a mounting; empty: a circle
  std::size_t mountings = 0;      // of devices, in all
  std::size_t fewest = 0;         // no order needs fewer
};

// By the sequence search (sequence_search.h), a mounting being what costs. Deterministic.
DeviceOrder FindDeviceOrder(const std::vector<Standing>& setups);

// Remembers them, for a search that asks the same many times. For many threads.
class DeviceOrderMemo {
 public:
  std::shared_ptr<const DeviceOrder> Find(const std::vector<Standing>& setups);

 private:
  std::mutex mutex_;
  std::map<std::string, std::shared_ptr<const DeviceOrder>> found_;
};

}  // namespace fitwright::planner
