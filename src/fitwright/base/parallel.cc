#include "fitwright/base/parallel.h"

#include <algorithm>
#include <atomic>
#include <thread>
#include <vector>

namespace fitwright {

void ParallelFor(std::size_t count, int threads, const std::function<void(std::size_t)>& body) {
  std::size_t wanted = threads > 0 ? static_cast<std::size_t>(threads)
                                   : std::max(1U, std::thread::hardware_concurrency());
  wanted = std::min(wanted, count);
  if (wanted <= 1) {
    for (std::size_t i = 0; i < count; ++i) body(i);
    return;
  }
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next.fetch_add(1); i < count; i = next.fetch_add(1)) body(i);
  };
  std::vector<std::jthread> workers;
  workers.reserve(wanted - 1);
  for (std::size_t t = 1; t < wanted; ++t) workers.emplace_back(work);
  work();
}

}  // namespace fitwright
