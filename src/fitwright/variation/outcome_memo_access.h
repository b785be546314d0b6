// The inside of OutcomeMemo; private to this layer.
#pragma once

#include <map>
#include <memory>
#include <mutex>

#include "fitwright/variation/outcomes.h"

namespace fitwright::variation {

template <typename T>
struct KeptOutcome {
  std::shared_ptr<const T> outcome;
  bool used = true;
};
template <typename T>
using KeptOutcomes = std::map<Fingerprint, KeptOutcome<T>>;

struct OutcomeMemo::Kept {
  std::mutex mutex;
  KeptOutcomes<Outcome> requirements;
  KeptOutcomes<WorkedOutcomes> worked;
};

class OutcomeMemoAccess {
 public:
  explicit OutcomeMemoAccess(OutcomeMemo& memo) : kept_(*memo.kept_) {}

  std::shared_ptr<const Outcome> Find(const Fingerprint& print) {
    return Find(kept_.requirements, print);
  }
  std::shared_ptr<const WorkedOutcomes> FindWorked(const Fingerprint& print) {
    return Find(kept_.worked, print);
  }
  std::shared_ptr<const Outcome> Keep(const Fingerprint& print, Outcome outcome) {
    return Keep(kept_.requirements, print, std::move(outcome));
  }
  std::shared_ptr<const WorkedOutcomes> Keep(const Fingerprint& print, WorkedOutcomes outcome) {
    return Keep(kept_.worked, print, std::move(outcome));
  }

 private:
  template <typename T>
  std::shared_ptr<const T> Find(KeptOutcomes<T>& among, const Fingerprint& print) {
    const std::lock_guard lock(kept_.mutex);
    const auto found = among.find(print);
    if (found == among.end()) return nullptr;
    found->second.used = true;
    return found->second.outcome;
  }
  template <typename T>
  std::shared_ptr<const T> Keep(KeptOutcomes<T>& among, const Fingerprint& print, T outcome) {
    auto kept = std::make_shared<const T>(std::move(outcome));
    const std::lock_guard lock(kept_.mutex);
    return among.try_emplace(print, KeptOutcome<T>{std::move(kept), true})
        .first->second.outcome;
  }

  OutcomeMemo::Kept& kept_;
};

}  // namespace fitwright::variation
