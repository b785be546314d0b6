#include "fitwright/server/rate_limit.h"

#include <algorithm>

namespace fitwright::server {
namespace {

constexpr std::size_t kMostKnown = 1024;

}  // namespace

bool RateLimit::Take(const std::string& who, Clock::time_point now) {
  const std::lock_guard lock(mutex_);
  // Who has its whole share again needs no remembering.
  if (shares_.size() >= kMostKnown && shares_.count(who) == 0) {
    std::erase_if(shares_, [&](const auto& known) {
      const std::chrono::duration<double> since = now - known.second.at;
      return known.second.left + a_second_ * since.count() >= at_once_;
    });
    if (shares_.size() >= kMostKnown) return false;
  }
  Share& share = shares_.try_emplace(who, Share{at_once_, now}).first->second;
  const std::chrono::duration<double> since = now - share.at;
  share.left = std::min(at_once_, share.left + a_second_ * std::max(0.0, since.count()));
  share.at = now;
  if (share.left < 1) return false;
  share.left -= 1;
  return true;
}

}  // namespace fitwright::server
