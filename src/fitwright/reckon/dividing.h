// Dividing with a worm head and hole plates: plain, compound, and the nearest where neither is
// exact.
#pragma once

#include <optional>
#include <vector>

namespace fitwright::reckon {

// Plates with their hole circles; compound dividing needs both circles on one plate.
using Plates = std::vector<std::vector<int>>;

// The crank goes round `turns` times and `holes` on in the circle.
struct PlainMove {
  int turns = 0;
  int holes = 0;
  int circle = 0;
  int plate = 1;  // counted from 1
};
// And, for compound dividing, the plate with the crank goes `second_holes` on in the second circle
// (back when negative). second_circle 0: plain.
struct CompoundMove {
  PlainMove first;
  int second_holes = 0;
  int second_circle = 0;
  double Turns() const;
};

// Every circle in which `divisions` come out exact with a worm of `ratio` to one; smallest first,
// of circles alike that of the earlier plate.
std::vector<PlainMove> PlainDividing(int ratio, int divisions, const Plates& plates);
// Exact by two circles of one plate, the fewest holes to count; none where there is no such pair.
std::optional<CompoundMove> CompoundDividing(int ratio, int divisions, const Plates& plates);
// Nearest by plain moves to this many turns of the crank, fewest holes of those equally near.
std::optional<PlainMove> NearestPlain(double crank_turns, const Plates& plates);
// Nearest by two circles of one plate.
std::optional<CompoundMove> NearestCompound(double crank_turns, const Plates& plates);

}  // namespace fitwright::reckon
