// Shared by the route units; not for other layers.
#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/route.h"

namespace fitwright::planner {

// What a route leaves out, and the builder's pins that each of its setups must keep.
struct RouteWanted : Deferred {
  std::vector<Pin> pins;
};

// Features of the part that need a cut of their own, by the side that the tool comes from.
struct SideGroup {
  Vec3 up_P;
  std::vector<FeatureId> cuts;
};

void SortCuts(const Part& part, std::vector<FeatureId>& cuts);
// By the sides that `pins` leave; what they want apart stands in a group of its own behind.
std::vector<SideGroup> GroupBySide(const Part& part, const std::vector<FeatureId>& ids, const std::vector<Pin>& pins);
// What is not deferred, not made with another cut and not as supplied.
std::vector<FeatureId> OwnCuts(const Part& part, const Deferred& deferred);
// Takes the features made on the bench out of `ids`.
std::vector<FeatureId> TakeHandWork(const Part& part, std::vector<FeatureId>& ids);
// Holds the sketch (in the wanted way, when one is named), applies its cuts to the piece and appends it;
// false with `why`.
bool AddSetup(Route& route, PieceState& piece, SetupSketch sketch, const Shop& shop, const RouteWanted& deferred,
              std::string* why, std::optional<HoldingKind> wanted = std::nullopt);
SetupSketch SketchFor(const Part& part, const SideGroup& group);

std::vector<Route> TurnedRoutes(const Part& part, const Shop& shop, const RouteWanted& deferred,
                                std::vector<std::string>* why);

}  // namespace fitwright::planner
