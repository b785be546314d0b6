// Devices of the network that may use this server: each shows once a code that stands on the
// terminal, and from then on a token of its own. Safe to use from several threads.
#pragma once

#include <chrono>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <string_view>

namespace fitwright::server {

class Pairing {
 public:
  using Clock = std::chrono::steady_clock;
  explicit Pairing(Clock::time_point now);

  // "K7QM-R2XD"; another one after each that was used, after five wrong ones and after fifteen
  // minutes.
  std::string GetCode(Clock::time_point now);
  // The device's token; nothing for a code that is not the one now.
  std::optional<std::string> Redeem(std::string_view code, Clock::time_point now);
  bool Knows(std::string_view token) const;

 private:
  void Renew(Clock::time_point now);

  mutable std::mutex mutex_;
  std::string code_;
  Clock::time_point made_;
  int wrong_ = 0;
  std::set<std::string, std::less<>> tokens_;
};

// The value of a cookie of this name in a Cookie header.
std::string_view FindCookie(std::string_view header, std::string_view name);

}  // namespace fitwright::server
