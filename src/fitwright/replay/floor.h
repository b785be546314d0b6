// Pieces between setups, and pieces standing in one. Only what stock, cuts and hands have made of
// them is kept here; nothing of the design.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/replay/key.h"
#include "fitwright/replay/rules.h"
#include "fitwright/solid/solid.h"

namespace fitwright::replay {

// A hole that a tap went into, an outside that was threaded ("outside M8"), in or out by single point (PointThreadName), knurled
// ("knurl 0.8"), or a bore that a hone went over. Frame P, mm.
struct Thread {
  Vec3 entry_P_mm = Vec3::Zero();  // where the axis leaves the material
  Vec3 into_P = -Vec3::UnitZ();
  std::string designation;
  double depth_mm = 0;  // full thread below the entry
};
// What a single point of that angle leaves: "outside 8 x 1, 60 deg", "inside 1, 60 deg".
std::string PointThreadName(bool inside, double diameter_mm, double pitch_mm, double angle_deg);
struct Honed {
  Vec3 point_P_mm = Vec3::Zero();
  Vec3 into_P = -Vec3::UnitZ();
  double diameter_mm = 0;
};
// Another part that is on this one. X_PO takes its frame O to this part's.
struct JoinedPart {
  PartId part;
  Pose X_PO = Pose::Identity();
};

struct Piece {
  solid::Solid solid_P;
  Key key;  // of stock, cuts, threads and honing: pieces of one key are alike
  double volume_mm3 = 0;
  int steps = 0;  // that changed it
  std::vector<Thread> threads;
  std::vector<Honed> honed;
  std::vector<JoinedPart> joined;
};
using Pieces = std::map<PartId, Piece>;

// A piece in a setup. solid_S is in force while the setup lasts; piece.solid_P is as it came in.
struct Standing {
  PartId part;
  Pose X_PS = Pose::Identity();
  solid::Solid solid_S;
  Box3 box_S;
  double volume_mm3 = 0;
  bool present = false;
  bool parted_off = false;
  bool changed = false;
  std::optional<Box3> last_cut_S;  // box of what the step just done swept of this piece
  Piece piece;
};
using Floor = std::vector<Standing>;

// "ring#2" is a copy of "ring".
PartId SheetOf(const PartId& part);

// Boxes share more than `by_mm` along every axis.
bool Overlap(const Box3& a, const Box3& b, double by_mm = 0);
Box3 Grown(const Box3& box, double by_mm);
Box3 BoxOf(const FixtureSolid& fixture);
// Box around everything present; nothing when nothing is.
std::optional<Box3> BoxOf(const Floor& floor);

}  // namespace fitwright::replay
