// Fits for round joints whose sizes a model draws at their names.
#pragma once

#include <set>

#include "fitwright/recognize/assembly_reading.h"

namespace fitwright::recognize {

// Of the reading's spigots, sliders, running shafts, hubs and bearing seats: where both sizes carry no
// limits of their own and are drawn alike, or within the limits that the fit gives a whole half
// millimetre, the made ones get the usual fit, each said with its reason. Settled features stay as they
// are; a size that has a fit from another joint keeps it. Nothing is proposed where a clearance of its
// own is drawn.
void ProposeFits(const std::set<FeatureRef>& settled, AssemblyReading& reading);

}  // namespace fitwright::recognize
