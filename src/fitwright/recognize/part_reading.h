// One solid read as a part's sheet: stock, envelope, features, with every face accounted for.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/solid.h"

namespace fitwright::recognize {

// Something that the file does not say and that was proposed, with its reason.
struct Inference {
  std::string where;  // a field's path, "features.hole_1.thread"
  std::string words;  // a sentence: what was taken and why
};

// Its faces are places in FaceGraph::faces.
using fitwright::UnreadRegion;

struct PartReading {
  Part part;                     // in frame P
  Pose X_PF = Pose::Identity();  // from the file's frame of the solid to the part's
  std::map<FeatureId, std::vector<std::size_t>>
      faces;  // of each feature; each face in one place or in one unread region
  std::vector<UnreadRegion> unread;
  std::vector<Inference> inferred;
};

struct PartReadingSettings {
  PartId name{"part"};
  std::string material;   // proposed where empty, and said
  WorkOptions work = {};  // budget: faces brought together in crossings of solids, and looks at what lies in air; cancel is heeded
};

// The same graph gives the same reading, and a moved, turned or scaled one the same but for the
// figures; faces are taken in no order of the file's. Bounded in work, whatever the file models:
// what the budget does not reach stays unread and is said. Errors: kKernel, kStopped (cancelled).
Result<PartReading> ReadPart(const solid::FaceGraph& graph, const solid::Solid& solid,
                             const PartReadingSettings& settings);

}  // namespace fitwright::recognize
