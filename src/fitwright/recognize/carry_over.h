// A part read anew from a changed file, with what a person had confirmed of it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/part.h"
#include "fitwright/recognize/part_reading.h"

namespace fitwright::recognize {

enum class ChangeKind { kChanged, kNew, kGone };

struct FeatureChange {
  ChangeKind kind = ChangeKind::kChanged;
  FeatureId name;
  std::string words;  // "6 mm is 6.6 mm now"
};

struct CarriedPart {
  Part part;                         // in the confirmed sheet's frame A
  Pose X_AB = Pose::Identity();      // from the frame of what was read
  std::vector<FeatureChange> changes;
  std::vector<FeatureId> settled;    // features that were confirmed before
  std::vector<Inference> inferred;   // of the new features alone
};

// Features are matched by kind, way, size and place at the least sum of distances, none over a
// quarter of the part's length; a match that is drawn alike keeps everything of the confirmed one,
// a changed one its name, limits by their deviations, finish, note and, at an unchanged diameter,
// its thread. What takes no metal (outside threads, knurls, marking) stays while what bears it
// stands. New features get names that neither the sheet nor `gone` has. tried_X_AB: frames that
// the file's own places suggest; the quarter turns about the middle are tried as well. Nothing
// where the two are of different envelopes or have less than half of the confirmed features in
// common. Deterministic. Cost: a cube of the features for each frame.
std::optional<CarriedPart> CarryPart(const Part& confirmed, const PartReading& read,
                                     const std::vector<Pose>& tried_X_AB,
                                     const std::vector<std::string>& gone);

}  // namespace fitwright::recognize
