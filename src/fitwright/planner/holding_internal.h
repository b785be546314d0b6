// Shared by the holding units; not for other layers.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "fitwright/planner/holding.h"

namespace fitwright::planner {

// Work that stands further out of the jaws than this many diameters is turned with its end supported
// (common practice).
inline constexpr double kMostStickOut_diameters = 3;
// With its end on a centre the bar is a beam held fast at one end and carried at the other. It gives most
// under a load 0.414 of its length from the centre, by 0.0098 F L^3 / (E I), against 1/3 F L^3 / (E I) at
// the end of one that hangs free (beam tables of engineering handbooks, from memory): it springs no more
// than the free bar at the cube root of 34 = 3.24 times the length.
inline constexpr double kMostCentred_diameters = 3.24 * kMostStickOut_diameters;

// Between two centres it is carried at both ends: 1/48 F L^3 / (E I) under a load at its middle (the same
// tables), the cube root of 16 = 2.52 times the length.
inline constexpr double kMostBetweenCentres_diameters = 2.52 * kMostStickOut_diameters;
inline constexpr double kDog_mm = 12;        // of the bar that a driving dog takes, with its screw (opinion)
inline constexpr double kDogFromEnd_mm = 2;  // room for the centre's point beside it

// Blocks in the four-jaw are never quite balanced; faster the lathe walks (opinion).
inline constexpr double kMostUnbalanced_rpm = 400;

Unexpected NoHold(const std::string& message, const std::string& remedy);
const Feature& CutOf(const PieceState& piece, const FeatureId& id);
// Height along up_P, in P, of the uppermost face when the sketch's facing cuts are done.
double TopAfterCuts(const SetupSketch& sketch, const PieceState& piece);
// Some cut stands at a place in x and y, so that a zero is needed there.
bool NeedsPosition(const SetupSketch& sketch, const PieceState& piece);
// "+z", or the components of a slanting direction.
std::string SideWord(const Vec3& direction_P);

// Room that cuts coming out below want under the piece, whose underside stands at `bottom` along up_P,
// mm; 0 = none comes out.
double RoomBelow_mm(const SetupSketch& sketch, const PieceState& piece, double bottom);
// Depth below the finished top of the lowest cut that runs out sideways, mm.
double SidewaysDepth_mm(const SetupSketch& sketch, const PieceState& piece, double top);
// Plan positions and radii of what comes out below, in S.
std::vector<std::pair<Vec2, double>> ThroughPlaces(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS);
// A solid of the holding device that stands square in S.
FixtureSolid Block(FixtureRole role, const Vec3& low_S, const Vec3& high_S);
// The shop's edge finder; 10 when it has none.
double FinderDiameter_mm(const Shop& shop);

// Adds contacts given in S. A seat on raw stock becomes kRough; an edge is found on a raw side too, and a
// turn without a face is free.
struct ContactAdder {
  Setup& setup;
  const PieceState& piece;
  Pose X_PS;
  void Add(ContactKind kind, const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S) const;
};

Result<HeldPiece> HoldInVise(const SetupSketch& sketch, const PieceState& piece,
                             const MachineTool& machine, const HoldingDevice& vise, const Shop& shop);
// Clamped down at its rim on packing, clear of the cuts.
Result<HeldPiece> HoldOnTable(const SetupSketch& sketch, const PieceState& piece,
                              const MachineTool& machine, const HoldingDevice& clamps, const Shop& shop);
// Between a centre in the spindle and one in the tailstock, driven by a dog on the end below.
Result<HeldPiece> HoldBetweenCentres(const SetupSketch& sketch, const PieceState& piece,
                                     const MachineTool& machine, const HoldingDevice& plate, const Shop& shop);
// Stands the tailstock's centre in the end of what a chuck holds.
void AddCentre(HeldPiece& held, const SetupSketch& sketch, const Shop& shop);
// Round work lying in one V-block or a pair, each with its clamp.
Result<HeldPiece> HoldInVee(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                            const HoldingDevice& vee, const Shop& shop);
// Against an angle plate, a bar across the front.
Result<HeldPiece> HoldOnPlate(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                              const HoldingDevice& plate, const Shop& shop);
// Some flat, cut in the chuck as it stands, would run aslant of both slides.
bool NeedsTurning(const SetupSketch& sketch, const PieceState& piece);
// In the chuck on a rotary table, turned to each cut.
Result<HeldPiece> HoldOnRotary(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                               const HoldingDevice& rotary, const Shop& shop);
// Frame of a setup about the turning axis: z along up_P, zero where the top stands when its facing is done.
Pose TurningFrame(const SetupSketch& sketch, const PieceState& piece);
// Made bores about the axis that an indicator gets into from above.
std::vector<FeatureId> BoresFromAbove(const SetupSketch& sketch, const PieceState& piece);
Result<HeldPiece> HoldOnMandrel(const SetupSketch& sketch, const PieceState& piece,
                                const MachineTool& machine, const HoldingDevice& mandrel, const Shop& shop);
// A block, dialled in on a bore that is there or on the scribed centre of the one to be cut.
Result<HeldPiece> HoldInFourJaw(const SetupSketch& sketch, const PieceState& piece,
                                const MachineTool& machine, const HoldingDevice& chuck, const Shop& shop);
Result<HeldPiece> HoldInChuck(const SetupSketch& sketch, const PieceState& piece,
                              const MachineTool& machine, const HoldingDevice& chuck, const Shop& shop);

}  // namespace fitwright::planner
