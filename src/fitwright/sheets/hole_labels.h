// How the places of a setup are numbered, alike on paper and in the report.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/plan.h"

namespace fitwright::sheets {

// Steps that work one after the other on the same places: spot, drill, tap.
struct PlaceGroup {
  std::vector<const Step*> steps;
  std::vector<std::string> labels;  // one for each of the coordinates; "b3" when a setup has several patterns
};

// Groups of the setup's steps that have coordinates, in order. Holes of one pattern keep their label in
// every group. The pointers go into `setup`.
std::vector<PlaceGroup> FindPlaceGroups(const Setup& setup);

// Holes rather than the ends of a milled or turned cut.
bool IsHoleGroup(const PlaceGroup& group);

}  // namespace fitwright::sheets
