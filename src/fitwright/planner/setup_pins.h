// The builder's decisions about setups: on which machine, in what, which side is up, what is cut in one go.
#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/route.h"

namespace fitwright::planner {

// Of the kinds machine, holding and setup, and about a setup like this: its part, its part with that side up, or a
// feature that it cuts. A part that only stands on the one that is held is not meant.
bool ConcernsSetup(const Pin& pin, const SetupSketch& sketch);

// The setup by itself is as such pins ask. Bench work keeps a pin of a whole part, whatever its machine.
bool KeepsSetupPins(const std::vector<Pin>& pins, const SetupSketch& sketch);
// Features pinned into one setup, or into two, are so in the route. Those that it does not cut do not count.
bool KeepsRoutePins(const std::vector<Pin>& pins, const Route& route);

// FindRoutes, each setup held, sided and parted from others as the pins of the part want.
std::vector<Route> FindPinnedRoutes(const Part& part, const Shop& shop, const Deferred& deferred, const std::vector<Pin>& pins,
                                    std::vector<std::string>* why);

// Those of the pins that concern setups of the part's own.
std::vector<Pin> SetupPinsOf(const std::vector<Pin>& pins, const PartId& part);

// Sides that the tool may come from to the feature, of those only that the pins leave; all where they leave none.
std::vector<Vec3> PinnedSides(const Part& part, const FeatureId& feature, const std::vector<Pin>& pins);
// Of `cuts` those that a pin wants in another setup than another of them, with the chamfers on them.
std::vector<FeatureId> PinnedApart(const Part& part, const std::vector<FeatureId>& cuts, const std::vector<Pin>& pins);

// "machine block.bore = not mill; ..." of the pins that concern the setup; empty where none does.
std::string PinsAbout(const std::vector<Pin>& pins, const SetupSketch& sketch);

}  // namespace fitwright::planner
