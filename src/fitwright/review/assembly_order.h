// An order in which the machine's parts go together, each along a straight line.
#pragma once

#include <vector>

#include "fitwright/model/machine.h"

namespace fitwright::review {

// parts: moved in as one; when there are several, earlier steps have put them together.
// direction_W: the way they go in, unit. onto: what they come to stand on or in, among what is
// there.
struct AssemblyStep {
  std::vector<PartId> parts;
  Vec3 direction_W = Vec3::Zero();
  std::vector<PartId> onto;
};

struct AssemblyOrder {
  std::vector<PartId> first;        // what the rest is put onto: the first part of the machine file
  std::vector<AssemblyStep> steps;  // empty when parts are locked
  std::vector<PartId>
      locked;  // no straight way takes these apart; empty when the order is complete
};

// Found by taking the drawn machine apart: at each turn the smallest group that a straight move takes out of what is
// left, along an axis of the machine or an axis or face normal of its joints. While there is such a way nothing is left
// behind without what carries it (a shaft without its bearings, a piston without its bore), faces are lifted off each
// other rather than slid, what is bonded, pressed or sprung into a groove goes in as one, and no screw is turned with a
// part over its head. A ring goes into its bore by the end with the lead. Groups go on in the order that shows soonest
// whether requirements hold. Copies stand as "ring#2"; what is bought counts when it has a shape. Piston rings and
// circlips spring past edges. Metal is looked at on lines 1.5 mm apart. Deterministic; some 0.2 s for thirty parts.
AssemblyOrder FindAssemblyOrder(const Machine& machine);

}  // namespace fitwright::review
