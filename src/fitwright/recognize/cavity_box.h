// Private to the reading of cavities: the box that the walls of one cavity bound.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// Side 2 * axis bounds it below along that axis of P (its wall looks up), 2 * axis + 1 above.
using Sides = std::array<std::optional<double>, 6>;

struct Cavity {
  Sides walls;                    // none: open on that side
  std::array<Span, 3> reach;      // of its faces, along each axis
  std::optional<int> corner_axis; // along which its corners are rounded
  double corner_mm = 0;
  std::vector<std::size_t> faces;
  bool Closed(int side) const { return walls[static_cast<std::size_t>(side)].has_value(); }
  int CountOpen() const;
};

// Faces that hang together by inward bends and rounds. Those whose walls do not make one box are
// several cavities grown together: each pairing of their walls is given, those that most faces bear
// out first, then the widest. thorough: of groups with free faces only, with walls that are read
// already, with any one round of several, and open on any side too.
std::vector<Cavity> FindCavities(const Draft& draft, bool thorough);

// Whether some point of the part's faces or edges lies inside the box, so that metal does.
bool HoldsMetal(const PlacedGraph& graph, const Box3& box, const Cavity& cavity);

}  // namespace fitwright::recognize
