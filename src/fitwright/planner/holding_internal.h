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

// Where a fixed steady's fingers run, as lengths along up_P.
struct SteadyPlace {
  double from = 0;
  double to = 0;
  double diameter_mm = 0;
  FeatureId band;
  double middle() const { return 0.5 * (from + to); }
};
bool IsSteady(const std::optional<HoldingDeviceId>& support, const Shop& shop);
std::optional<HoldingDeviceId> SteadyOf(const MachineToolId& lathe, const Shop& shop);
// Held fast in the jaws and resting in the steady between_mm further, the end beyond_mm past that gives under
// its load by F b^2 (3 a + 4 b) / (12 E I) (beam with an overhang, tables of engineering handbooks, from
// memory): as much as a free bar of the length returned, by F L^3 / (3 E I).
double AsFreeInSteady_mm(double between_mm, double beyond_mm);
// On the round band nearest to the end, clear of the jaws and below lowest_cut. Errors: kNoPlan.
Result<SteadyPlace> FindSteadyPlace(const SetupSketch& sketch, const PieceState& piece, const Shop& shop, double jaws, double lowest_cut);
void AddSteady(HeldPiece& held, const SteadyPlace& place, const PieceState& piece, const HoldingDevice& steady);

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
// The same, asked only whether it can be done.
bool IsHeldInVise(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& vise, const Shop& shop);
// A clamp at the rim: its footprint on the piece, in S, and the way that its bar goes on beyond it.
struct ClampPlace {
  Vec2 low = Vec2::Zero();
  Vec2 high = Vec2::Zero();
  Vec2 outward = Vec2::UnitX();
};
// On two opposite edges, clear of what the cuts sweep; empty where they leave no rim.
std::vector<ClampPlace> FindClampPlaces(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS, double wide_mm);
// The clamp and, where pack_mm is not 0, the packing under it.
void AddClamp(Setup& setup, const Box3& box, const ClampPlace& place, double pack_mm);
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
// Holes on a circle about the axis that the slides do not reach all of; that they could be divided by a rotary
// table instead, where hand dials would place them.
bool IsBeyondTravel(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine);
bool MayDivide(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine);
// In the chuck on a rotary table, turned to each cut.
Result<HeldPiece> HoldOnRotary(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                               const HoldingDevice& rotary, const Shop& shop);
// Frame of a setup about the turning axis: z along up_P, zero where the top stands when its facing is done.
Pose TurningFrame(const SetupSketch& sketch, const PieceState& piece);
// Made bores about the axis that an indicator gets into from above.
std::vector<FeatureId> BoresFromAbove(const SetupSketch& sketch, const PieceState& piece);
Result<HeldPiece> HoldOnMandrel(const SetupSketch& sketch, const PieceState& piece,
                                const MachineTool& machine, const HoldingDevice& mandrel, const Shop& shop);
// The axis that all bores of the sketch stand on.
struct BlockAxis {
  Vec3 on_axis_P = Vec3::Zero();  // a point of it; it turns with the spindle
  std::optional<FeatureId> bore;  // made already: it is clocked
  double through_mm = 0;          // widest hole that runs out towards the headstock
};
// Errors: kNoPlan, the reason worded for what holds it ("in the four-jaw"). Faces alone turn about the middle.
Result<BlockAxis> FindBlockAxis(const SetupSketch& sketch, const PieceState& piece, const std::string& where);
// Frame about that axis, zero where the top stands after its cuts.
Pose BlockFrame(const SetupSketch& sketch, const PieceState& piece, const Vec3& on_axis_P);
// A finished back and two finished sides square to each other.
bool HasSidesToScribeFrom(const SetupSketch& sketch, const PieceState& piece);
// Across the axis the bore that is clocked, else the sides that the centre was scribed from.
void AddBlockAxisContacts(Setup& setup, const PieceState& piece, const BlockAxis& axis);
// How its axis is brought to the spindle's.
void SayBlockAxis(Setup& setup, const BlockAxis& axis, const Box3& box);
// Clamped to the faceplate, its back on it or on packing.
Result<HeldPiece> HoldOnFaceplate(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                                  const HoldingDevice& plate, const Shop& shop);
inline constexpr double kMarkOut_min = 5;  // scribing and punching a centre, opinion
inline constexpr double kClampThick_mm = 10;  // opinion
inline constexpr double kKeepOff_mm = 3;      // between a cut and a clamp
inline constexpr double kBoreRoom_mm = 2;     // of a tool that comes out, inside the bore of what holds
// A block, dialled in on a bore that is there or on the scribed centre of the one to be cut.
Result<HeldPiece> HoldInFourJaw(const SetupSketch& sketch, const PieceState& piece,
                                const MachineTool& machine, const HoldingDevice& chuck, const Shop& shop);
Result<HeldPiece> HoldInChuck(const SetupSketch& sketch, const PieceState& piece,
                              const MachineTool& machine, const HoldingDevice& chuck, const Shop& shop);

}  // namespace fitwright::planner
