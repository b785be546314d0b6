// The outside of turned work about P's z: outer diameters, grooves, tapers, chamfers and rounds of rims,
// the two ends, flats and a hub's keyway.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// The turning axis is P's z through the origin.
void ReadOuterProfile(Draft& draft);

// Planes along the axis that nothing else bounds: flats. After the profile.
void ReadFlats(Draft& draft);
// A straight groove along a bore.
void ReadHubKeyways(Draft& draft);

}  // namespace fitwright::recognize
