// So much at once and so much a second for each who asks.
#pragma once

#include <chrono>
#include <map>
#include <mutex>
#include <string>

namespace fitwright::server {

class RateLimit {
 public:
  using Clock = std::chrono::steady_clock;
  RateLimit(double at_once, double a_second) : at_once_(at_once), a_second_(a_second) {}
  // False when `who` has had its share. Safe to call from several threads.
  bool Take(const std::string& who, Clock::time_point now);

 private:
  struct Share {
    double left = 0;
    Clock::time_point at;
  };
  double at_once_;
  double a_second_;
  std::mutex mutex_;
  std::map<std::string, Share> shares_;
};

}  // namespace fitwright::server
