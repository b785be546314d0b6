// Counter-based random numbers: draw (key, index) is a pure function of key and index, so that
// results do not depend on order, threads, or on what else was drawn.
//
// Generator: Philox4x32-10 (Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as easy as 1, 2,
// 3", SC'11), key = the 64-bit stream key, counter = (index low, index high, lane, 0).
#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace fitwright::stats {

using PhiloxCounter = std::array<std::uint32_t, 4>;
using PhiloxKey = std::array<std::uint32_t, 2>;
PhiloxCounter Philox4x32(PhiloxCounter counter, PhiloxKey key);

// Stream key from a run's seed and a source's own key (its stable hash). Both fully mixed.
std::uint64_t StreamKey(std::uint64_t seed, std::uint64_t source_key);

struct Pair {
  double first = 0;
  double second = 0;
};

// In (0, 1), never 0 or 1, the middles of 2^52 equal cells. Lanes give further independent draws
// for the same (key, index).
double Uniform(std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);
Pair UniformPair(std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);
// Standard normal by the inverse distribution, so that Normal(k, i) = InverseNormal(Uniform(k, i)).
double Normal(std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);
Pair NormalPair(std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);

// out[j] = Uniform(key, first_index + j, lane), and the same for Normal.
void FillUniform(std::uint64_t key, std::uint64_t first_index, std::span<double> out,
                 std::uint32_t lane = 0);
void FillNormal(std::uint64_t key, std::uint64_t first_index, std::span<double> out,
                std::uint32_t lane = 0);

}  // namespace fitwright::stats
