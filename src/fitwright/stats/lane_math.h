// Elementary functions of many numbers at once, the same bits at every vector width and place: no
// result depends on its neighbours or on how many there are.
#pragma once

#include <cstdint>
#include <span>

#include "fitwright/stats/vectors.h"

namespace fitwright::stats {

// out[i] of x[i]; spans of one length, which may be the same span.
// Natural logarithm of positive normal numbers, under 1 ulp.
void Logarithms(std::span<const double> x, std::span<double> out,
                Vectors vectors = Vectors::kWidest);
// e^x for |x| <= 700 (held to that), under 1 ulp.
void Exponentials(std::span<const double> x, std::span<double> out,
                  Vectors vectors = Vectors::kWidest);
// Sine and cosine of 2 pi u, |u| <= 2^40, within 2.2e-16.
void SinesAndCosinesOfTurns(std::span<const double> u, std::span<double> sines,
                            std::span<double> cosines, Vectors vectors = Vectors::kWidest);
// Quantiles of the standard normal for 0 < p < 1 (Wichura, AS 241), about 1e-16 relative.
void NormalQuantiles(std::span<const double> p, std::span<double> out,
                     Vectors vectors = Vectors::kWidest);
// out[j] = Uniform(key, first_index + j, lane) of random.h.
void UniformNumbers(std::uint64_t key, std::uint64_t first_index, std::uint32_t lane,
                    std::span<double> out, Vectors vectors = Vectors::kWidest);

}  // namespace fitwright::stats
