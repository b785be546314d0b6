// SHA-256 (FIPS 180-4) of a short text, as hex: splits sets of files the same way everywhere.
#pragma once

#include <fmt/format.h>

#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <string>

namespace fitwright::bench {

// The first 32 bits of the fractional parts of a root of the first primes.
template <std::size_t kCount>
std::array<std::uint32_t, kCount> RootsOfPrimes(double (*root)(double)) {
  std::array<std::uint32_t, kCount> found{};
  std::size_t count = 0;
  for (int n = 2; count < kCount; ++n) {
    bool prime = true;
    for (int d = 2; d * d <= n; ++d) prime &= n % d != 0;
    if (!prime) continue;
    const double r = root(n);
    found[count++] = static_cast<std::uint32_t>((r - std::floor(r)) * 4294967296.0);
  }
  return found;
}

inline void Sha256Block(const std::string& text, std::size_t from, std::array<std::uint32_t, 8>& state) {
  static const auto kRounds = RootsOfPrimes<64>(std::cbrt);
  std::array<std::uint32_t, 64> w{};
  for (std::size_t i = 0; i < 64; ++i) {
    if (i < 16) {
      for (std::size_t k = 0; k < 4; ++k) w[i] = w[i] << 8 | static_cast<unsigned char>(text[from + 4 * i + k]);
      continue;
    }
    const std::uint32_t a = w[i - 15];
    const std::uint32_t b = w[i - 2];
    w[i] = w[i - 16] + w[i - 7] + (std::rotr(a, 7) ^ std::rotr(a, 18) ^ a >> 3) + (std::rotr(b, 17) ^ std::rotr(b, 19) ^ b >> 10);
  }
  std::array<std::uint32_t, 8> s = state;
  for (std::size_t i = 0; i < 64; ++i) {
    const std::uint32_t one = s[7] + (std::rotr(s[4], 6) ^ std::rotr(s[4], 11) ^ std::rotr(s[4], 25)) + ((s[4] & s[5]) ^ (~s[4] & s[6])) + kRounds[i] + w[i];
    const std::uint32_t two = (std::rotr(s[0], 2) ^ std::rotr(s[0], 13) ^ std::rotr(s[0], 22)) + ((s[0] & s[1]) ^ (s[0] & s[2]) ^ (s[1] & s[2]));
    s = {one + two, s[0], s[1], s[2], s[3] + one, s[4], s[5], s[6]};
  }
  for (std::size_t i = 0; i < 8; ++i) state[i] += s[i];
}

inline std::string Sha256Hex(std::string text) {
  const std::uint64_t bits = 8 * text.size();
  text += static_cast<char>(0x80);
  while (text.size() % 64 != 56) text += '\0';
  for (int shift = 56; shift >= 0; shift -= 8) text += static_cast<char>(bits >> shift & 0xff);
  auto state = RootsOfPrimes<8>(std::sqrt);
  for (std::size_t from = 0; from < text.size(); from += 64) Sha256Block(text, from, state);
  std::string hex;
  for (const std::uint32_t word : state) hex += fmt::format("{:08x}", word);
  return hex;
}

}  // namespace fitwright::bench
