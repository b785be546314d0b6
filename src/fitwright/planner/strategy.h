// What a plan decides, apart from arithmetic: techniques joint by joint, how sizes are brought in, each
// part's route. A strategy determines a plan completely (build_plan.h).
#pragma once

#include <map>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/route.h"
#include "fitwright/review/assembly_order.h"

namespace fitwright::planner {

// A screwed pattern with the part whose clearance holes the other's tapped holes can be taken from.
struct PatternJoint {
  JointId joint;
  FeatureRef clearance;
  FeatureRef tapped;
  int count = 0;
  bool located = false;  // a spigot also joins the two parts
};

// Two faces that must be flush, of parts that are screwed together.
struct FlushPair {
  RequirementId requirement;
  FeatureRef face;       // on the part that is brought to the other
  FeatureRef main_face;
  std::vector<JointId> joints;  // that hold them together
};

// A shaft in a bore, or a face whose height over another part's is asked for: `shaft` may be made to
// suit the measured `bore`.
struct SuitPair {
  RequirementId requirement;
  FeatureRef shaft;
  FeatureRef bore;
  double lower_mm = 0;   // clearance (or height) wanted
  double upper_mm = 0;
  bool faces = false;    // two planar faces: shaft stands above bore by lower..upper
  std::vector<FeatureRef> seats;  // faces: where the bore's part carries the shaft's, measured too
  // A length that closes the requirement's stack: shaft is a face of a distance piece, bore is nothing.
  // The stack is measured with `trial` put together and the piece left out (parts made and bought).
  bool closes = false;
  std::vector<PartId> trial = {};
};

// Holes of two parts on the same lines, which may be cut in one go: with a pin through each pair, or
// bores that a requirement wants in line.
struct SharedHoles {
  std::string subject;  // the joint's or the requirement's name
  FeatureRef fixed;
  FeatureRef moving;
  int count = 0;
  // kReamDowels where the parts are screwed together, kBoreInLine for bores.
  Technique together = Technique::kDrillTogether;
  bool stays = false;  // held by adhesive or a press fit: not taken apart again
};

struct Subjects {
  std::vector<PatternJoint> patterns;
  std::vector<FlushPair> flush;
  std::vector<SuitPair> suits;
  review::AssemblyOrder together;  // how the whole machine goes together at the end
  std::vector<SharedHoles> shared;
};
// What there is to decide about in a machine. Order as in the files.
Subjects FindSubjects(const Machine& machine);
// The same without how the machine goes together.
Subjects FindDecisions(const Machine& machine);

struct PatternChoice {
  Technique technique = Technique::kByCoordinates;
  int first = 0;
  friend bool operator==(const PatternChoice&, const PatternChoice&) = default;
};

// Limits to work a size to in place of the sheet's.
struct Window {
  double lower_mm = 0;
  double upper_mm = 0;
  friend bool operator==(const Window&, const Window&) = default;
};

// How the builder wants a size made: the way, a figure inside the limits, or both. With a window: what was
// read of other sizes wants it so.
struct OwnAim {
  std::optional<AimKind> kind;
  std::optional<double> size_mm;
  std::optional<Window> window = {};
  friend bool operator==(const OwnAim&, const OwnAim&) = default;
};

struct Strategy {
  std::map<JointId, PatternChoice> patterns;
  std::map<RequirementId, Technique> flush;   // kByCoordinates: each by itself; or kMachineTogether
  std::map<RequirementId, Technique> suits;   // kByCoordinates: one shot to the middle; kBringToSize; kFitToMeasured
  std::map<RequirementId, double> aim_share;  // suits fitted to measured: clearance aimed at, 0 = lower limit, 1 = upper; absent 0.5
  std::map<FeatureRef, OwnAim> own_aims;
  std::map<PartId, Route> routes;
  std::map<std::string, Technique> shared;  // kByCoordinates: in each part by itself; or the pair's `together`
  std::vector<SetupSketch> done;  // setups that work was begun on: the first of the plan, in this order, as they are
};

// Alike for aims that are alike.
std::string KeyOf(const FeatureRef& feature, const OwnAim& aim);

// Features that the strategy's techniques take out of a part's own route.
Deferred DeferredOf(const Machine& machine, const Subjects& subjects, const Strategy& strategy,
                    const PartId& part);

}  // namespace fitwright::planner
