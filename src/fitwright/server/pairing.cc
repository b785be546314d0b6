#include "fitwright/server/pairing.h"

#include <algorithm>
#include <cctype>
#include <random>

#include "fitwright/server/guard.h"

namespace fitwright::server {
namespace {

constexpr std::string_view kLetters = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ";  // none like another
constexpr int kCodeLetters = 8;
constexpr int kMostWrong = 5;
constexpr std::chrono::minutes kCodeLasts{15};

// As keyed in: small letters and the stroke do not matter.
std::string Plain(std::string_view code) {
  std::string plain;
  for (const char c : code) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0)
      plain += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  return plain;
}

}  // namespace

Pairing::Pairing(Clock::time_point now) { Renew(now); }

void Pairing::Renew(Clock::time_point now) {
  std::random_device random;
  code_.clear();
  for (int i = 0; i < kCodeLetters; ++i) {
    if (i == kCodeLetters / 2) code_ += '-';
    code_ += kLetters[random() % kLetters.size()];
  }
  made_ = now;
  wrong_ = 0;
}

std::string Pairing::GetCode(Clock::time_point now) {
  const std::lock_guard lock(mutex_);
  if (now - made_ > kCodeLasts) Renew(now);
  return code_;
}

std::optional<std::string> Pairing::Redeem(std::string_view code, Clock::time_point now) {
  const std::lock_guard lock(mutex_);
  if (now - made_ > kCodeLasts) Renew(now);
  if (!SameSecret(Plain(code), Plain(code_))) {
    if (++wrong_ >= kMostWrong) Renew(now);
    return std::nullopt;
  }
  Renew(now);
  return *tokens_.insert(MakeSecret()).first;
}

bool Pairing::Knows(std::string_view token) const {
  const std::lock_guard lock(mutex_);
  return std::any_of(tokens_.begin(), tokens_.end(),
                     [&](const std::string& known) { return SameSecret(token, known); });
}

std::string_view FindCookie(std::string_view header, std::string_view name) {
  while (!header.empty()) {
    const std::size_t end = header.find(';');
    std::string_view one = header.substr(0, end);
    header.remove_prefix(end == std::string_view::npos ? header.size() : end + 1);
    one.remove_prefix(std::min(one.find_first_not_of(' '), one.size()));
    if (one.size() > name.size() && one.starts_with(name) && one[name.size()] == '=')
      return one.substr(name.size() + 1);
  }
  return {};
}

}  // namespace fitwright::server
