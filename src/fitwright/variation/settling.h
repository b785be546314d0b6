// What is set right by a look while it can still be changed: whatever brought it there drops out. What is left: anywhere within what
// the look lets pass (more than there is where nothing needed setting), and the difference of two readings over the length they
// are taken along.
#pragma once

#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/variation/assembly.h"
#include "fitwright/variation/setup_readings.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::variation {

struct SettledLean {
  const Requirement* requirement = nullptr;  // of the machine
  Settling how;
};

// Of parts that are bonded, in the order of the plan. `known` may be null.
std::vector<SettledLean> SettledWhileWet(const Machine& machine, const Plan& plan, const KnownSetups* known);

// A turn of the piece in its setup, t_P, until the bore that is cut next stands to `other` as the requirement has it; none
// where it stands better by itself. Returns the chance, 0..1, that the look finds more than it lets pass (by the lean's
// spread, as of a normal law). The spindle's own lean is not seen by the look, which runs along the table.
double SetBore(SourceTable& sources, const Figures& figures, const FeatureMap& features, const SettledLean& settled, const Feature& own,
               const FeatureRef& other, const Feature& other_feature, std::uint64_t key, Form6& t_P);

// Where a part is held while its adhesive is wet, and how far its play lets it be turned there.
struct WetJoint {
  Vec3 point_W = Vec3::Zero();
  double reach_rad = 0;
};

// A turn of the part, t_W, about where it is held until it stands to the other part of the requirement as that has it, where
// the other stands already. None where the play does not reach: what the pieces themselves lean, plays apart, must be less
// than it by twice its spread.
void SetJoined(const AssemblyInput& input, const Figures& figures, const PlacedMap& placed, const SettledLean& settled, const PartId& part,
               const WetJoint& joint, std::uint64_t key, Form6& t_W);

}  // namespace fitwright::variation
