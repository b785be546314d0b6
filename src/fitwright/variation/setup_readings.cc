#include "fitwright/variation/setup_readings.h"

namespace fitwright::variation {

std::shared_ptr<const SetupReading> SetupReadings::Find(std::uint64_t key, bool& worth_keeping) {
  const std::lock_guard lock(mutex_);
  const auto [at, is_new] = kept_.try_emplace(key);
  worth_keeping = !is_new;
  return at->second;
}

void SetupReadings::Keep(std::uint64_t key, SetupReading reading) {
  auto kept = std::make_shared<const SetupReading>(std::move(reading));
  const std::lock_guard lock(mutex_);
  kept_[key] = std::move(kept);
}

}  // namespace fitwright::variation
