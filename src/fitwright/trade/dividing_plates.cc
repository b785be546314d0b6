#include "fitwright/trade/dividing_plates.h"

#include <array>

namespace fitwright::trade {
namespace {

// Common practice, from memory: plates as delivered with heads of each kind for a century. A head
// at hand may have others: count its holes.
constexpr auto kFirst = std::to_array<int>({15, 16, 17, 18, 19, 20});
constexpr auto kSecond = std::to_array<int>({21, 23, 27, 29, 31, 33});
constexpr auto kThird = std::to_array<int>({37, 39, 41, 43, 47, 49});
constexpr auto kOneSide = std::to_array<int>({24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43});
constexpr auto kOtherSide = std::to_array<int>({46, 47, 49, 51, 53, 54, 57, 58, 59, 62, 66});
constexpr auto kThreePlates = std::to_array<HoleCircles>({kFirst, kSecond, kThird});
constexpr auto kTwoSides = std::to_array<HoleCircles>({kOneSide, kOtherSide});

constexpr auto kSets = std::to_array<DividingSet>({
    {"head_40", "head 40:1, three plates", 40, kThreePlates},
    {"head_40_two_sides", "head 40:1, one plate with two sides", 40, kTwoSides},
    {"head_60", "head 60:1, three plates", 60, kThreePlates},
    {"table_72", "rotary table 72:1, three plates", 72, kThreePlates},
    {"table_90", "rotary table 90:1, three plates", 90, kThreePlates},
});

}  // namespace

std::span<const DividingSet> DividingSets() { return kSets; }

const DividingSet* FindDividingSet(std::string_view name) {
  for (const DividingSet& set : kSets) {
    if (set.name == name) return &set;
  }
  return nullptr;
}

}  // namespace fitwright::trade
