// What a file itself demands of faces, put on the features that these faces became.
#pragma once

#include <string>
#include <vector>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::recognize {

// `limits`: all of the solid that `graph` and `reading` are of. A diameter goes to the hole, outer
// diameter or groove that is drawn at it, a limit of form or place to the feature with that face.
// Returns a sentence for each that no feature takes, and for each that is stated of some holes of a
// pattern and taken for all.
std::vector<std::string> TakeStatedLimits(const solid::FaceGraph& graph,
                                          const std::vector<solid::StatedLimit>& limits,
                                          PartReading& reading);

}  // namespace fitwright::recognize
