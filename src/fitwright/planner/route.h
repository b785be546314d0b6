// A part's way through the shop: setups in outline, before joints and techniques join the parts' ways
// into one plan. Outline = which way is up, in what it is held and on what, which features are cut.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/pieces.h"

namespace fitwright::planner {

// Where a setup's x and y zero is taken.
enum class ZeroFrom { kEdges, kBore, kOutside };

// One time in one holding device. All directions in the frame P of the part that is held.
struct SetupSketch {
  PartId part;
  MachineToolId machine;
  HoldingDeviceId device;
  HoldingKind holding = HoldingKind::kViseBedFirst;
  Vec3 up_P = Vec3::UnitZ();      // faces the spindle (mill) or the tailstock (lathe)
  Vec3 jaw_P = Vec3::UnitY();     // vise: outward normal of the side against the fixed jaw
  ZeroFrom zero = ZeroFrom::kEdges;
  std::optional<FeatureId> zero_on;        // the bore that kBore centres on
  std::optional<AngleBy> angle_by;         // slanting: how it is set; empty = the finest the shop has
  std::vector<FeatureId> cuts;             // in order
  std::map<FeatureId, double> leave_mm;    // features cut over size here, to be finished later
  std::optional<FeatureId> part_off;       // lathe: this far face is parted off last ...
  double part_off_leave_mm = 0;            // ... with this much left on it
  // Work across parts. Mates stand on the part, put there at the start of the setup.
  std::vector<PartId> mates;
  std::vector<JointId> joints;             // that hold the mates
  std::vector<FeatureRef> together;        // faces of part and mates cut by one step
  std::optional<FeatureRef> through;       // holes of the mate that cuts.front() is spotted through
  std::vector<FeatureRef> drilled;         // holes on the same lines, the upper part's first, cut in one go
  Technique way = Technique::kByCoordinates;  // how cuts that lean on a mate get their place
  std::optional<FeatureRef> marks;         // bench: the mate's holes that points in cuts' own threads mark
  bool on_marks = false;                   // the holes are drilled where a mate has marked them
  std::vector<PartId> on_already;          // mates that an earlier setup left on for good
  bool comes_bonded = false;               // the mates are bonded to the part when it comes
  bool take_apart = false;                 // the mates come off when the holes are cut
  double bare_mm = 0;                      // so much below the top stays free of jaws: a mate stands out there
  int first = 0;                           // holes spotted, drilled, tapped and screwed before the rest
  std::vector<FeatureId> bored_true;       // lathe: reamed bores that a bar trues before the reamer
  std::optional<ToolId> centre;            // lathe: a centre by this drill in the end that faces the tailstock ...
  std::optional<HoldingDeviceId> support;  // ... drilled here last or, with a support, where its point stands
  bool between_centres = false;            // the other end stands on one as well
  bool set_over = false;                   // ... and the tailstock off the axis, for the one cone that is cut
  // Bench work without a cut (bench_work.h): part and mates are what is bonded or put together.
  enum class Bench { kNone, kBond, kTrial };
  Bench bench = Bench::kNone;
  RequirementId measures = {};             // kTrial: the requirement whose stack is measured
  friend bool operator==(const SetupSketch&, const SetupSketch&) = default;
};

struct Route {
  std::vector<SetupSketch> setups;
  friend bool operator==(const Route&, const Route&) = default;
};

// Features that a technique across parts has taken out of the part's own route, and faces that must
// stay over size in it.
struct Deferred {
  std::vector<FeatureId> not_cut;
  std::map<FeatureId, double> leave_mm;
  friend bool operator==(const Deferred&, const Deferred&) = default;
};

// Candidate routes of one part, best guess first; each makes every feature that is not deferred. Empty
// with `why` filled when the shop cannot make it. Deterministic.
std::vector<Route> FindRoutes(const Part& part, const Shop& shop, const Deferred& deferred,
                              std::vector<std::string>* why);

// Fills machine, device, holding, jaw and zero of a sketch for the piece as it stands. False with
// `why` when nothing in the shop holds it that way.
bool ChooseHolding(SetupSketch& sketch, const PieceState& piece, const Shop& shop, std::string* why);

// Other ways to hold or zero the setup, itself left out.
std::vector<SetupSketch> Variants(const SetupSketch& sketch, const PieceState& piece, const Shop& shop);

}  // namespace fitwright::planner
