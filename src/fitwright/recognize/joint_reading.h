// Joints and requirements proposed for parts in place, from their features alone.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/recognize/part_reading.h"

namespace fitwright::recognize {

// A screw found in the file among the placed solids.
struct PlacedScrew {
  Axis3 axis_W;          // from the seat of its head along the shank
  double length_mm = 0;  // under the head
  double major_mm = 0;
  std::string what;  // "socket cap screw M3 x 16 (ISO 4762)"
};

// A hole that screws go into and that no thread is stated of: it must have one for the joint to be
// sound.
struct ProposedThread {
  FeatureRef hole;
  InternalThread thread;
  std::string why;
};

struct JointReading {
  std::vector<Joint> joints;
  std::vector<Requirement> requirements;
  std::vector<BoughtPart> bought;  // belts that the grooves call for
  std::vector<ProposedThread> threads;
  std::vector<Inference> inferred;  // of "joints.NAME", "requirements.NAME", "bought.NAME"
};

// The machine's own joints and requirements do not count. fixed is the part nearer to the one that
// most others meet. Nothing here is certain: a drawing does not say what turns, slides or is held
// by an adhesive.
//   screwed_pattern  holes of one part with a thread, or at a tap drill's size, under clearance
//   holes of
//                    others on the same lines; size, standard length
//   pinned           plain holes of one size on one line across two parts, with no shaft through
//   them ring_in_groove, belt round joints     an outer diameter in a hole about one axis, alike or
//   within a fit: bearing seats by
//                    the bearing, press fits by their limits, hubs by a grub screw, key or pin,
//                    spigots by a face or screws between the same two, sliders and pivots by how
//                    far they reach; bonded where nothing else holds
//   face joints      faces that touch
// Requirements: flush faces, axes that cross or run alike in one part, run-out, small steps and
// gaps. Cost: all pairs of features; sampled areas for pairs of faces in one plane. Deterministic.
JointReading ReadJoints(const Machine& machine, const std::vector<PlacedScrew>& screws = {});

}  // namespace fitwright::recognize
