// The frame that a part's sheet counts in, chosen from the part's own shape.
#pragma once

#include "fitwright/model/part.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/solid.h"

namespace fitwright::recognize {

// Turned work: z along the axis, from the low end up; x the way the most of what is not round looks or
// lies. A block: z square to the greatest share of plane area, x along the longer of the two others;
// its box stands about the middle of x and y, from z = 0 up. Which way an axis counts follows from how
// the edges lie about the middle. Nothing of the file's own frame goes in.
struct PartFrame {
  EnvelopeKind envelope = EnvelopeKind::kBlock;
  Pose X_PF = Pose::Identity();
  Box3 box_P;
};
PartFrame ChooseFrame(const solid::FaceGraph& graph, const solid::Solid& solid);

}  // namespace fitwright::recognize
