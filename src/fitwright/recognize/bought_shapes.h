// Parts that are bought: known by their shape and the sizes that standards give them.
#pragma once

#include <optional>
#include <string>

#include "fitwright/model/machine.h"
#include "fitwright/recognize/joint_reading.h"

namespace fitwright::recognize {

struct BoughtShape {
  BoughtKind kind = BoughtKind::kItem;
  std::string name;              // a stem for its name: "bearing", "socket_screw"
  std::string what;              // "socket cap screw M3 x 16 (ISO 4762)"
  std::string why;               // how it was known
  BoughtPart part;               // of a kind with a shape: about its own z axis, name left empty
  Pose X_PB = Pose::Identity();  // from that axis to the part's frame
  std::optional<PlacedScrew> screw;  // of screws, in the part's frame instead of W
};

// Socket cap, button, countersunk and hexagon screws, set screws, hexagon nuts, washers, deep
// groove ball bearings and dowel pins of trade's tables, by their greatest sizes within 2 %; a body
// with any feature that such a part has not (a cross hole, a keyway) is made. Nothing where no
// table has it.
std::optional<BoughtShape> FindBoughtShape(const Part& part);

// A ring in a groove that a circlip's standard gives for the shaft or bore that the groove is cut
// into. thickness_mm and the ring's other sizes are its part's own.
std::optional<BoughtShape> FindCirclip(const Part& ring, const Groove& groove, double surface_mm);

}  // namespace fitwright::recognize
