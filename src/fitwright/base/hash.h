// Stable 64-bit hash: the same text gives the same number on every machine and run.
#pragma once

#include <cstdint>
#include <string_view>

namespace fitwright {

// FNV-1a over the bytes, then the 64-bit finalizer of MurmurHash3 (public domain constants).
constexpr std::uint64_t StableHash(std::string_view bytes, std::uint64_t seed = 0) {
  std::uint64_t h = 0xcbf29ce484222325ULL ^ seed;
  for (const char c : bytes) {
    h ^= static_cast<unsigned char>(c);
    h *= 0x100000001b3ULL;
  }
  h ^= h >> 33;
  h *= 0xff51afd7ed558ccdULL;
  h ^= h >> 33;
  h *= 0xc4ceb9fe1a85ec53ULL;
  h ^= h >> 33;
  return h;
}

}  // namespace fitwright
