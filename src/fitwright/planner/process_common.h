// What the cutting of every kind of feature shares: the job, its steps, dials, minutes, aims and
// measure lines. Private to process*.cc.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/planner/process.h"
#include "fitwright/planner/tool_choice.h"
#include "fitwright/trade/materials.h"

namespace fitwright::planner {

inline constexpr double kApproach_mm = 2;          // above the material, where a cut begins
inline constexpr double kRunOut_mm = 1;            // beyond the far side of a through cut
inline constexpr double kDirection = 1e-6;         // two directions are the same within this
inline constexpr double kZone_mm = 1e-6;           // two computed places are the same within this
inline constexpr double kHoneAllowance_mm = 0.03;  // on the diameter, left for the hone (opinion)
inline constexpr double kHoneRunOut_mm = 12;       // stones run out about a third of their length

// One request in its context, and what has come of it so far.
struct Job {
  const CutContext& context;
  const CutRequest& request;
  const PieceInSetup& piece;
  const Feature& feature;
  FeatureRef ref;
  const trade::Material& material;
  Pose X_SP;
  CutResult result;

  const Shop& shop() const { return *context.shop; }
  const MachineTool& machine() const { return *context.machine; }
  const Part& part() const { return *piece.part; }
  bool lathe() const { return machine().kind == MachineToolKind::kLathe; }
  Vec3 ToS(const Vec3& p_P) const { return X_SP * p_P; }
  Vec3 DirToS(const Vec3& d_P) const { return X_SP.linear() * d_P; }
  bool IsMade(const FeatureId& id) const;
  // Top of the held piece, and of everything that stands in the setup.
  double top_S_mm() const { return piece.piece_S.max_mm.z(); }
  double highest_S_mm() const;
};

// Error kNoPlan: "body.crank_bore: <why>".
Unexpected NoPlan(const Job& job, const std::string& why, const std::string& remedy = {});

// "4.5", "40", "39.983": at most three decimals, no trailing zeros, no minus before zero.
std::string Num(double value);
// "the six", "the two", "the 14"; empty for one.
std::string CountWords(std::size_t count);
// The feature's name with spaces for underscores.
std::string NameWords(const FeatureId& id);
// "Measure the crank bore of the body first."
std::string MeasureFirstWords(const FeatureRef& mate);

// A step of this tool on the job's feature, put at the end of the chain.
Step& AddStep(Job& job, Operation operation, const Tool& tool, const CutSettings& settings);
// Speed and feed, or the reason why there is none.
Result<CutSettings> Settings(const Job& job, const Tool& tool, const CutWish& wish);

inline constexpr double kTurnTable_min = 0.7;  // crank a rotary table to an angle and lock it, opinion
// How far a rotary table turns, 0 to 360, until what looks towards n from its middle looks towards +x.
double TurnToFaceX_deg(const Vec2& n);
// On a rotary table: every place off its middle is turned under the spindle, which stays on x. Else nothing.
void TurnPlunges(const Job& job, PathPiece& piece);
// What the dials, and the rotary table, read at point i.
Coordinate PlaceReading(const Job& job, const PathPiece& piece, std::size_t i, std::string name);

// Appends a path piece and its dial readings (names by point; "start" and "end" for two). Gouges
// are looked for in every piece of the setup.
Status AddPath(Job& job, Step& step, const Tool& tool, PathPiece piece,
               const std::vector<std::string>& names = {});

void SetMinutes(const Job& job, Step& step, double cutting_min, double handling_min = 0);

// Which way a size can still be put right: a bore is aimed small, a shaft or thickness big.
enum class SafeSide { kSmall, kBig };

// Aim of the finishing step; nothing when the request leaves metal on.
std::optional<Aim> MakeAim(const Job& job, const Size& size, SafeSide side,
                           const std::string& spread_id);
// Spread of one shot at a size, mm; the fallback is the default shop's figure.
double SpreadOf(const Shop& shop, const std::string& id, double fallback_mm);
// The first of these instruments that is good to a quarter of the limits (where the cut is to be
// measured finely: the best of all), else the best, with a warning.
struct MeasureWish {
  std::vector<InstrumentKind> kinds;
  double size_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
  std::string where;  // "at two depths and in three directions"
  bool left_on = false;  // the limits count what is left on
  double down_mm = 0;    // inside a bore: how far below the top of the piece it is measured
};
void SetMeasure(Job& job, Step& step, const MeasureWish& wish);
// In the vise only from the bed up; elsewhere the piece is measured before it is clamped, and the
// readout set by that. A face that is left over size is measured too, for what the next setup finds.
void MeasureThickness(Job& job, Step& step, const PlanarFace& face);
// Marks the last step as the one that finishes the feature, unless metal is left on.
void Finish(Job& job);

// Depths of pecking for a hole deeper than three diameters, else the depth alone.
std::vector<double> PeckLevels(double depth_mm, double diameter_mm);

// ---- one kind of feature each; the chain is put into job.result
Status CutHole(Job& job);
Status CutMilledFace(Job& job);  // PlanarFace with its normal up, one or several parts
Status CutEdgeChamfer(Job& job);
Status CutSlot(Job& job);
Status CutPocket(Job& job);
Status CutStepCut(Job& job);
Status CutFlats(Job& job);
Status CutKeyway(Job& job);     // in a shaft
Status CutHubKeyway(Job& job);  // in a bore: by strokes of the lathe's saddle, or broached on the bench
Status CutTurnedFace(Job& job);
Status CutOuterDiameter(Job& job);
Status CutGroove(Job& job);
Status CutRoundChamfer(Job& job);
Status CutTaper(Job& job);
Status CutExternalThread(Job& job);
Status CutKnurl(Job& job);
struct HoleCut;
// A thread in a hole on the axis by single point, where no tap serves; false when no tool, wheels or room for it.
Result<bool> ThreadInside(Job& job, const HoleCut& cut);
Status CutSpotThrough(Job& job);  // the spot_through step alone
Status CutMarks(Job& job);        // the same with a transfer punch, or points in the mate's threads
Status CutByHand(Job& job);       // on the bench
Status CutPartOff(Job& job, double z_S_mm);
Status CutCentre(Job& job, const Tool& centre_drill);

// ---- holes
struct HolePlace {
  int index = 0;  // in the pattern
  Vec3 entry_S = Vec3::Zero();
};
struct HoleCut {
  const Hole* hole = nullptr;
  std::vector<HolePlace> places;  // in the order of visit
  double depth_mm = 0;
  double diameter_mm = 0;  // middle of the limits, less what is left on
  bool through = false;
  bool exits_below = false;  // through the underside of the piece
  bool blind_for_now = false;  // what it runs out into is not cut yet
  bool parted_open = false;    // parting off cuts it open
  double run_out_mm = 0;     // beyond the exit, for flat-ended tools; 0 for blind holes
  double entry_z_mm() const { return places.front().entry_S.z(); }
  double floor_z_mm() const { return entry_z_mm() - depth_mm; }
};
// How a hole comes to its size.
enum class HoleWay { kDrill, kReam, kFlatMill, kCounterboreTool, kBore };

// Places and depth as seen from +z; kNoPlan when the hole is not entered from there.
Result<HoleCut> ReadHole(const Job& job);
// A caution for cuts of this radius that run into holes made across them.
// Made holes across this one that a cut of this radius runs into: "cylinder bore"; empty where there is none.
std::string BreaksInto(const Job& job, const HoleCut& cut, double radius_mm);
void AddBreakIn(const Job& job, Step& step, const HoleCut& cut, double radius_mm);
// A caution where a drill leaves the metal on its way, into what is milled open already, and starts anew beyond.
void AddGaps(const Job& job, Step& step, const HoleCut& cut);
// How far below the exits the design leaves air over the whole hole, at most most_mm.
double AirBelow_mm(const Job& job, const HoleCut& cut, double most_mm);
// How much further a drill goes, in metal that goes later, than the reamer or bar after it: else that one's end meets the
// drill's shoulder, with the chips between. 0 where nothing is cut later below it.
double ChipRoom_mm(const Job& job, const HoleCut& cut, const Tool& drill);
// How deep, in words: "right through", "12 deep", or how deep until a later cut opens it.
std::string DepthWords(const HoleCut& cut, double depth_mm);
// Run-out beyond the exit of a through hole, and whether it is blind for now; kNoPlan when there is no room for it.
Status PlaceRunOut(const Job& job, HoleCut& cut);
HoleWay WayOf(const Job& job, const Feature& feature, const Hole& hole);
// Drill to make a hole of this size by drilling alone; null when there is none.
const Tool* FindSizeDrill(const Job& job, const Hole& hole, const Reach& reach);
// Reach of a tool whose full diameter goes tip_depth_mm below the entries.
Reach ReachFor(const Job& job, const HoleCut& cut, double tip_depth_mm);
// Tip below the entry of a drill of this diameter and point: full depth, point, run-out. kNoPlan
// when a through drill has no room below the piece.
Result<double> DrillTipDepth(const Job& job, const HoleCut& cut, double diameter_mm,
                             double point_deg);
// Hole by hole plunges with the tip at entry - tip_depth.
Status AddPlunges(Job& job, Step& step, const Tool& tool, const HoleCut& cut, double tip_depth_mm,
                  double set_diameter_mm = 0);
Status AddSpot(Job& job, const HoleCut& cut, double first_drill_mm);
// Step drills and the last drill, all to the same full depth.
Status AddDrills(Job& job, const HoleCut& cut, const Tool& last, double set_diameter_mm,
                 double tip_depth_mm);
// Widest round opening at the places that is there already over the whole depth; 0 = solid.
double OpenedDiameter(const Job& job, const HoleCut& cut);
Status CutByBoring(Job& job, const HoleCut& cut);
// A bar in the lathe opens a drilled hole from open_mm to to_mm and brings it true to the axis.
Status TrueBeforeReaming(Job& job, const HoleCut& cut, double open_mm, double to_mm);
// The bar leaves what a drill wandered behind: that much at least is left for it, on the diameter.
inline constexpr double kLeastBoring_mm = 0.5;
// "the six 3.2 holes", "the 40 bore".
std::string HolesWords(const Job& job, const HoleCut& cut);

// Whether the held part's design stands at a point of S.
bool DesignStands(const Job& job, const Vec3& p_S);

// Far reach of the material from the S axis in the xy plane: half the bar, or a block's far corner.
double OutsideRadius(const PieceInSetup& piece);
// The same of what stands above height z in S alone.
double OutsideRadiusAbove(const PieceInSetup& piece, double z_S_mm);
// Widest made round hole about the S axis that passes height z; 0 = solid.
double OpenRadiusAt(const Job& job, double z_S_mm);

}  // namespace fitwright::planner
