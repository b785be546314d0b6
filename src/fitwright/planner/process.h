// How one feature is cut in a setup that is already chosen: its chain of steps, with tools from the
// shop's list, speeds on the machine's steps, depths, coordinates in the sense of the dials, aims,
// measure lines, minutes, and the exact path that the replay sweeps.
//
// Frames: P of each part, S of the setup (origin at the setup's zero, tools come from +z of S). mm,
// rad, min, rpm. Everything here is a pure function of its arguments: same input, same steps.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// A stretch of round work as the cut finds it: z in S, diameter.
struct RoundSpan {
  double low_mm = 0;
  double high_mm = 0;
  double diameter_mm = 0;
};

// One part standing in a setup, as the cut finds it.
struct PieceInSetup {
  const Part* part = nullptr;    // not owned
  Pose X_PS = Pose::Identity();  // S coordinates to P coordinates
  Box3 piece_S;                  // box in S of the material present now (stock or finished faces)
  double bar_diameter_mm = 0;    // lathe: outside of the material now; 0 = not round
  std::vector<RoundSpan> rounds_S = {};  // its outside stretch by stretch, where it stands along z
};

// Remembers cuts by everything they depend on, so that a search which asks the same again pays a
// look-up. Belongs to one shop and one set of parts (both known by name), and to one thread at a
// time.
class CutMemo {
 public:
  CutMemo();
  ~CutMemo();
  CutMemo(const CutMemo&) = delete;
  CutMemo& operator=(const CutMemo&) = delete;
  std::size_t size() const;

 private:
  friend class CutMemoAccess;
  struct Kept;
  std::unique_ptr<Kept> kept_;
};

// What stands about a piece in the vise, in S.
struct ViseRoom {
  double jaws_mm = 0;      // as high as this
  double bed_from_mm = 0;  // in x
  double bed_to_mm = 0;
};

struct CutContext {
  const Shop* shop = nullptr;            // not owned
  const MachineTool* machine = nullptr;  // not owned; a member of shop->machines
  HoldingKind holding = HoldingKind::kViseBedFirst;
  std::vector<PieceInSetup> pieces;              // the first is the one held
  const std::vector<FeatureId>* made = nullptr;  // features of pieces[0] already made; null = none
  double clearance_below_mm = 0;                 // room under the piece for a drill's run-out
  std::optional<double> jaws_S_mm;               // lathe: the jaws stand as high as this
  std::optional<ViseRoom> vise = std::nullopt;   // mill: the piece is held in one
  bool centred = false;                          // lathe: the far end stands on the tailstock's centre
  double set_over_mm = 0;                        // lathe: the tailstock's centre off the axis, + towards the operator
  std::optional<double> parted_S_mm = std::nullopt;  // lathe: the piece is parted off here in this setup
  CutMemo* memo = nullptr;                       // not owned; may be null
  double most_depth_mm = 0;                      // lathe: of one cut, as it is held; 0 = what tool and spindle bear
};

struct CutRequest {
  std::vector<FeatureRef> features;  // usually one; several for a face cut across parts
  std::vector<int> holes;            // indices into the pattern; empty = all
  AimKind aim = AimKind::kOneShot;
  std::optional<Aim> given_aim;  // a target set by the planner (a measured mate)
  std::optional<double> aimed_mm;    // the builder's own aim, inside the limits
  Technique technique = Technique::kByCoordinates;
  std::optional<FeatureRef> through;  // kSpotThrough: the mate's holes
  bool measure_finely = false;        // a mate is made to what is read, or this to a mate: the finest instrument
  double leave_mm = 0;                // on the surface, to be brought to size in a later setup
  bool true_first = false;            // lathe: a bar trues the drilled hole before it is reamed
};

struct CutResult {
  std::vector<Step> steps;       // without ids; the caller numbers them
  double minutes = 0;            // sum of the steps' time_min
  std::vector<BuyLine> missing;  // what would do better than the tool that was used
  std::vector<std::string> warnings;
};

// The place is taken from a mate that is off again when the hole is drilled.
constexpr bool FromMate(Technique technique) {
  return technique == Technique::kSpotThrough || technique == Technique::kTransferPunch || technique == Technique::kTransferScrews;
}

// The steps that make the requested features, in order. The last step of the chain has finishes set
// unless leave_mm > 0. With technique kSpotThrough the chain begins with a spot_through step in
// place of spotting by coordinates. With kTransferPunch that step is a punch's, and the marks are
// spotted after it; kTransferScrews with `through` makes the marks alone, without it spots on them
// and drills. With kDrillTogether, kReamDowels or kBoreInLine the features are holes of several
// pieces on the same lines, the uppermost first, and `made` is of that one's piece: they are cut as
// one hole. Preconditions (FW_CHECK): pointers set, at least one piece, each feature's part among
// the pieces. Errors: kUnknownFeature; kNoPlan with the reason and what would do when it cannot be
// made here (direction wrong, tool missing, too deep, bar more than 4 diameters out, no speed slow
// enough, ...).
Result<CutResult> MakeCut(const CutContext& context, const CutRequest& request);

// Whether kind and direction let the feature of pieces[0].part be cut in this setup; fills why_not
// (may be null) with one sentence when not. Cheaper than MakeCut and never says no where MakeCut
// succeeds; tools and depths are looked at by MakeCut alone.
bool CanCut(const CutContext& context, const Feature& feature, std::string* why_not);

// Parts the first piece off a bar in the lathe so that its end face towards the headstock stands at
// z_S_mm; kNoPlan when the tool does not reach the centre (or the bore).
Result<CutResult> MakePartOff(const CutContext& context, double z_S_mm);

// A centre in the end that faces the tailstock, for its point to stand in.
Result<CutResult> MakeCentre(const CutContext& context, const Tool& centre_drill);

// Readings in Step::coordinates are those of every point of the path, in order: hole numbers (from
// 1) name the points of plunges; two points of another path are "start" and "end", more are
// counted. Step::depth_mm is to the full diameter (drills: without the point) from the surface the
// hole is entered at, to the final level for milling, and the metal taken on the radius or the face
// for turning; levels_mm are on the same scale and end with it.

// What the dials read with the spindle's centre (lathe: the tool's reference point) at p_S_mm:
// senses of the axes and the lathe's diameter reading applied.
Coordinate DialReading(const MachineTool& machine, const Vec3& p_S_mm, std::string name);

}  // namespace fitwright::planner
