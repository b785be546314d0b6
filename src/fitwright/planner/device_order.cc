#include "fitwright/planner/device_order.h"

#include "fitwright/planner/sequence_search.h"

namespace fitwright::planner {
namespace {

// A place says what stands on each machine, written as one number: a digit for each machine.
class MountingPolicy {
 public:
  explicit MountingPolicy(const std::vector<Standing>& setups) : setups_(setups) {
    std::map<MachineToolId, std::map<HoldingDeviceId, std::size_t>> devices;
    for (const Standing& s : setups) {
      auto& on = devices[s.machine];
      if (!s.device.empty()) on.try_emplace(s.device, on.size() + 1);
    }
    SequencePlace digit = 1;
    std::uint32_t first = 0;
    for (const auto& [name, on] : devices) {
      FW_CHECK(digit <= std::numeric_limits<SequencePlace>::max() / (on.size() + 1), on.size());
      machines_.push_back({digit, on.size() + 1, first});
      digit *= on.size() + 1;
      first += static_cast<std::uint32_t>(on.size());
    }
    resources_ = first;
    for (const Standing& s : setups) {
      const auto machine = static_cast<std::size_t>(std::distance(devices.begin(), devices.find(s.machine)));
      const std::size_t device = s.device.empty() ? 0 : devices.at(s.machine).at(s.device);
      stands_.push_back({machine, device, {}});
      if (device > 0) stands_.back().uses.push_back(machines_[machine].first + static_cast<std::uint32_t>(device - 1));
    }
  }

  std::size_t operations() const { return setups_.size(); }
  const std::vector<std::size_t>& before(std::size_t o) const { return setups_[o].waits_for; }
  std::size_t ways(std::size_t) const { return 1; }
  SequenceCost Work(std::size_t, std::size_t) const { return 0; }
  SequencePlace start() const { return 0; }
  SequencePlace After(SequencePlace at, std::size_t o, std::size_t) const {
    const Stands& s = stands_[o];
    if (s.device == 0) return at;
    const Column& column = machines_[s.machine];
    return at + (s.device - column.Of(at)) * column.digit;
  }
  SequenceCost Change(SequencePlace from, SequencePlace to) const {
    SequenceCost changes = 0;
    for (const Column& column : machines_) changes += column.Of(from) != column.Of(to) ? 1 : 0;
    return changes;
  }
  std::size_t resources() const { return resources_; }
  SequenceCost Fee(std::uint32_t) const { return 1; }
  const std::vector<std::uint32_t>& Uses(std::size_t o, std::size_t) const { return stands_[o].uses; }
  std::vector<std::uint32_t> Held(SequencePlace at) const {
    std::vector<std::uint32_t> held;
    for (const Column& column : machines_) {
      const std::size_t device = column.Of(at);
      if (device > 0) held.push_back(column.first + static_cast<std::uint32_t>(device - 1));
    }
    return held;
  }
  bool Keeps(std::size_t o, std::size_t, std::uint32_t r) const {
    const Stands& s = stands_[o];
    const Column& column = machines_[s.machine];
    const bool elsewhere = r < column.first || r >= column.first + column.states - 1;
    return elsewhere || s.device == 0 || s.uses.front() == r;
  }
  SequenceCost Forgiven(SequencePlace) const { return 0; }

  std::size_t machines() const { return machines_.size(); }
  std::size_t MachineOf(std::size_t o) const { return stands_[o].machine; }

 private:
  struct Column {
    SequencePlace digit = 1;
    std::size_t states = 1;
    std::uint32_t first = 0;  // resource of its first device
    std::size_t Of(SequencePlace at) const { return at / digit % states; }
  };
  struct Stands {
    std::size_t machine = 0;
    std::size_t device = 0;
    std::vector<std::uint32_t> uses;
  };

  const std::vector<Standing>& setups_;
  std::vector<Column> machines_;
  std::vector<Stands> stands_;
  std::size_t resources_ = 0;
};

std::string KeyOf(const std::vector<Standing>& setups) {
  std::string key;
  for (const Standing& s : setups) {
    key.append(s.machine.text()).append("|").append(s.device.text()).append("|");
    for (const std::size_t w : s.waits_for) key.append(std::to_string(w)).append(" ");
    key += '\n';
  }
  return key;
}

}  // namespace

DeviceOrder FindDeviceOrder(const std::vector<Standing>& setups) {
  constexpr std::int64_t kBudget = 400;
  const MountingPolicy policy(setups);
  SequenceOptions options;
  options.work.budget = kBudget;
  const SequenceResult found = SequenceSearch(policy, options).Run();
  DeviceOrder order;
  if (found.steps.empty()) return order;
  order.turn.resize(setups.size());
  order.mountings = static_cast<std::size_t>(found.cost);
  order.fewest = static_cast<std::size_t>(found.bound);
  std::vector<std::size_t> turns(policy.machines(), 0);
  SequencePlace at = policy.start();
  for (const SequenceStep& step : found.steps) {
    const SequencePlace to = policy.After(at, step.operation, step.way);
    std::size_t& turn = turns[policy.MachineOf(step.operation)];
    if (to != at) ++turn;
    order.turn[step.operation] = turn;
    at = to;
  }
  return order;
}

std::shared_ptr<const DeviceOrder> DeviceOrderMemo::Find(const std::vector<Standing>& setups) {
  const std::string key = KeyOf(setups);
  {
    const std::lock_guard lock(mutex_);
    if (const auto known = found_.find(key); known != found_.end()) return known->second;
  }
  auto order = std::make_shared<const DeviceOrder>(FindDeviceOrder(setups));
  const std::lock_guard lock(mutex_);
  return found_.try_emplace(key, std::move(order)).first->second;
}

}  // namespace fitwright::planner
