// Where in a project's text the things stand that a finding speaks of.
#pragma once

#include <filesystem>
#include <vector>

#include "fitwright/review/review.h"

namespace fitwright::service {

// Fills file and line of each finding that has none: of the feature in its sheet, of the joint or
// bought part in machine.toml, of a sheet's first line where it has no table of that name (a mirror
// part's feature). Of two parts, the first. Reads the files anew; what cannot be read stays without
// a place.
void FillPlaces(const std::filesystem::path& dir, std::vector<review::Finding>& findings);

}  // namespace fitwright::service
