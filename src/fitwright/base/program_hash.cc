#include "fitwright/base/program_hash.h"

#include <array>
#include <fstream>

#include "fitwright/base/hash.h"

namespace fitwright {

std::optional<std::uint64_t> ProgramHash() {
  std::ifstream in("/proc/self/exe", std::ios::binary);
  if (!in) return std::nullopt;
  std::uint64_t hash = 0;
  std::array<char, std::size_t{1} << 16> bytes;
  while (in.read(bytes.data(), bytes.size()) || in.gcount() > 0)
    hash = StableHash({bytes.data(), static_cast<std::size_t>(in.gcount())}, hash);
  if (in.bad()) return std::nullopt;
  return hash;
}

}  // namespace fitwright
