#include "fitwright/stats/random.h"

#include "fitwright/stats/lane_math.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

constexpr std::uint32_t kMultiplier0 = 0xD2511F53;
constexpr std::uint32_t kMultiplier1 = 0xCD9E8D57;
constexpr std::uint32_t kWeyl0 = 0x9E3779B9;
constexpr std::uint32_t kWeyl1 = 0xBB67AE85;
constexpr int kRounds = 10;

constexpr std::uint32_t Low(std::uint64_t x) { return static_cast<std::uint32_t>(x); }
constexpr std::uint32_t High(std::uint64_t x) { return static_cast<std::uint32_t>(x >> 32); }

PhiloxCounter Block(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  return Philox4x32({Low(index), High(index), lane, 0}, {Low(key), High(key)});
}

// The middle of one of 2^52 cells, so that the sum is exact and 0 and 1 never come.
double ToUniform(std::uint32_t low, std::uint32_t high) {
  const std::uint64_t bits = (static_cast<std::uint64_t>(high) << 32 | low) >> 12;
  return (static_cast<double>(bits) + 0.5) * 0x1p-52;
}

// Finalizer of a 64-bit hash by Stafford (variant 13), public domain constants.
std::uint64_t Mix(std::uint64_t x) {
  x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9ULL;
  x = (x ^ (x >> 27)) * 0x94D049BB133111EBULL;
  return x ^ (x >> 31);
}

}  // namespace

PhiloxCounter Philox4x32(PhiloxCounter c, PhiloxKey k) {
  for (int round = 0; round < kRounds; ++round) {
    const std::uint64_t product0 = std::uint64_t{kMultiplier0} * c[0];
    const std::uint64_t product1 = std::uint64_t{kMultiplier1} * c[2];
    c = {High(product1) ^ c[1] ^ k[0], Low(product1), High(product0) ^ c[3] ^ k[1], Low(product0)};
    k[0] += kWeyl0;
    k[1] += kWeyl1;
  }
  return c;
}

std::uint64_t StreamKey(std::uint64_t seed, std::uint64_t source_key) {
  constexpr std::uint64_t kGolden = 0x9E3779B97F4A7C15ULL;
  return Mix(Mix(seed + kGolden) ^ Mix(source_key + 2 * kGolden));
}

double Uniform(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  const PhiloxCounter block = Block(key, index, lane);
  return ToUniform(block[0], block[1]);
}

Pair UniformPair(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  const PhiloxCounter block = Block(key, index, lane);
  return {ToUniform(block[0], block[1]), ToUniform(block[2], block[3])};
}

double Normal(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  return InverseNormal(Uniform(key, index, lane));
}

Pair NormalPair(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  const Pair u = UniformPair(key, index, lane);
  return {InverseNormal(u.first), InverseNormal(u.second)};
}

void FillUniform(std::uint64_t key, std::uint64_t first_index, std::span<double> out,
                 std::uint32_t lane) {
  UniformNumbers(key, first_index, lane, out);
}

void FillNormal(std::uint64_t key, std::uint64_t first_index, std::span<double> out,
                std::uint32_t lane) {
  UniformNumbers(key, first_index, lane, out);
  NormalQuantiles(out, out);
}

}  // namespace fitwright::stats
