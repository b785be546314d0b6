// Which reading would be worth making next.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/rework/standing.h"

namespace fitwright::rework {

// A measurement that the plan has and the log has not, of a size that is cut already.
struct WorthReading {
  FeatureRef feature;
  const Setup* setup = nullptr;
  const Step* step = nullptr;
  FeatureRef for_size;   // still to be cut, and better aimed with it
  bool needed = false;   // it is made to suit this very size
  double saves_min = 0;  // expected minutes of remedies
};

// Needed ones first, then by what they save; those that save less than the measuring takes are left
// out. What a reading is worth: the size still to be cut is aimed at the middle of what each
// requirement then allows, with the spread that the reading leaves (normal). Errors: those of
// variation::Analyse.
Result<std::vector<WorthReading>> FindWorthReading(const Standing& standing);

}  // namespace fitwright::rework
