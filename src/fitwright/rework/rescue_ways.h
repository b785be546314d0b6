// What a piece allows by its shape alone. Private to the rescue list.
#pragma once

#include <optional>

#include "fitwright/model/machine.h"
#include "fitwright/model/shop.h"

namespace fitwright::rework {

// Least metal round a hole of a part, as drawn: to faces along it, to the outside, to other holes.
// nullopt: nothing is near.
std::optional<double> WallRound_mm(const Part& part, const Feature& hole);

// A pattern of holes that screws pass or are tapped into.
struct ScrewHoles {
  const Joint* joint = nullptr;
  bool tapped = false;
  int count = 0;
  double now_mm = 0;
  std::optional<double> wider_mm;     // clearance: the next series
  const char* next_thread = nullptr;  // tapped: the next size of the same kind
};
std::optional<ScrewHoles> FindScrewHoles(const Machine& machine, const FeatureRef& feature);

}  // namespace fitwright::rework
