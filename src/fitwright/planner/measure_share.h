// What a requirement across parts leaves of one measured distance: its window, less what is bought or used as
// supplied, shared by the distances that are made. mm; W of the machine, P of the part.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/model/machine.h"

namespace fitwright::planner {

// What the requirement reads is the difference of two distances from one face, both of the same part.
struct ReadsBetween {
  FeatureId other;        // the one that the other distance goes to
  double between_mm = 0;  // as drawn; 0: two axes that meet
  double half_mm = 0;     // either side of it
};

struct DistanceShare {
  RequirementId requirement;
  double half_mm = 0;  // either side of the distance as drawn
  int others = 0;      // made distances that share the window with it
  std::optional<ReadsBetween> reads = {};
};

// The least share of the distance between the levels a_mm and b_mm along n_P (unit) of the part, over all
// requirements of a distance that read it; nothing where none does, or where a link of the chain from one
// face to the other has no place along it. The chain runs through face joints square to it, round joints
// across it and the gaps of an end float. Independent distances add by squares (common practice), so n
// made ones get sqrt(window^2 - bought^2) / sqrt(n) each; what has closer limits of its own keeps them and
// leaves the rest to the others. ShareOfDepth: the distance may be read as the difference of two depths from an
// end beyond it: a level then matches alone, gets 1 / sqrt(2) of the share and says what it is read with.
// Sheet and the like without limits of its own is in hand and measured: it takes nothing. `settled`:
// requirements that something is made to suit once the rest is measured; they ask nothing of a distance.
using Settled = std::vector<RequirementId>;
std::optional<DistanceShare> ShareOfDistance(const Machine& machine, const Part& part, const Vec3& n_P, double a_mm, double b_mm, const Settled& settled = {});
std::optional<DistanceShare> ShareOfDepth(const Machine& machine, const Part& part, const Vec3& n_P, double end_mm, double level_mm, const Settled& settled = {});

// One distance of a part that a requirement between two faces adds up from; as drawn, below 0 where it counts against.
struct DistanceTerm {
  FeatureRef from;
  FeatureRef to;
  double drawn_mm = 0;
  bool given = false;  // bought, or as supplied
};
// From one face to the other, whose distance as drawn is their sum; empty where it is no distance between faces of two
// parts, or where a link of the chain has no place along it.
std::vector<DistanceTerm> TermsOfDistance(const Machine& machine, const Requirement& requirement);

// Two bores of the part whose axes are to meet, both measured along n_P (square to both): half of what they
// may miss each other by, so that whatever is ticked meets.
std::optional<DistanceShare> ShareOfMeeting(const Machine& machine, const FeatureRef& bore, const Vec3& n_P);

}  // namespace fitwright::planner
