// How wide the vector code runs. Every width gives the same bits: all steps are correctly rounded
// (add, multiply, divide, square root) or fused by intent, and none depends on the width.
#pragma once

#include <cstdint>
#include <vector>

namespace fitwright::stats {

enum class Vectors : std::uint8_t {
  kWidest,    // what this processor has
  kPortable,  // plain code
  k256,       // AVX2 with FMA
  k512        // AVX-512
};

// Those that this processor can run, kPortable first, without kWidest.
std::vector<Vectors> VectorsHere();

}  // namespace fitwright::stats
