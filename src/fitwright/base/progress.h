// Counted work, cancelling and progress for anything that may take long.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <string_view>

namespace fitwright {

// Shared by the asker and the worker; Cancel() may come from a signal handler.
class CancelFlag {
 public:
  void Cancel() { cancelled_.store(true, std::memory_order_relaxed); }
  bool cancelled() const { return cancelled_.load(std::memory_order_relaxed); }

 private:
  std::atomic<bool> cancelled_{false};
};

// Called from the calling thread only; fraction in 0..1.
using ProgressFn = std::function<void(std::string_view what, double fraction)>;

struct WorkOptions {
  std::int64_t budget = 0;              // counted units of work; 0 = the callee's default
  const CancelFlag* cancel = nullptr;   // not owned, may be null
  ProgressFn progress;                  // may be empty
  bool cancelled() const { return cancel != nullptr && cancel->cancelled(); }
  void Report(std::string_view what, double fraction) const {
    if (progress) progress(what, fraction);
  }
};

}  // namespace fitwright
