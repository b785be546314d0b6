// Small fixed sets of well-spread points, one column per source, keyed by the source: a Latin
// hypercube of any dimension in which adding or removing sources leaves the other columns as they
// are.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace fitwright::stats {

// `out.size()` = n values, one in each stratum (k / n, (k + 1) / n), in an order and at places that
// are a function of key (and lane) alone. Columns of different keys are independent. n >= 1.
void FillLatinUniform(std::uint64_t key, std::span<double> out, std::uint32_t lane = 0);
// The same through InverseNormal.
void FillLatinNormal(std::uint64_t key, std::span<double> out, std::uint32_t lane = 0);
std::vector<double> LatinUniform(std::uint64_t key, int n, std::uint32_t lane = 0);
std::vector<double> LatinNormal(std::uint64_t key, int n, std::uint32_t lane = 0);

}  // namespace fitwright::stats
