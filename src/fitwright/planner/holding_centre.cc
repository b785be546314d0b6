// The tailstock's centre in the end of a bar that a chuck holds by the other.
#include "fitwright/base/check.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/tool_choice.h"

namespace fitwright::planner {
namespace {

constexpr double kPointOut_mm = 16;  // of the centre's point before its body, room for the tool (opinion)
constexpr double kAboveCone_mm = 0.3;
constexpr double kBringUp_min = 3;   // oil, bring it up, lock the quill (opinion)
constexpr double kDrillCone = 0.3;   // of the diameter: a 118 degree point's length

FixtureSolid Round(double from_mm, double to_mm, double outer_mm) {
  FixtureCylinder round;
  round.from_mm = from_mm;
  round.to_mm = to_mm;
  round.outer_mm = outer_mm;
  FixtureSolid solid;
  solid.role = FixtureRole::kTailstock;
  solid.shape = round;
  return solid;
}

}  // namespace

// The point stands for the cone: as thick as the pilot that the centre drill made, whose wall it touches.
void AddCentre(HeldPiece& held, const SetupSketch& sketch, const Shop& shop) {
  const HoldingDevice* centre = shop.Find(*sketch.support);
  const Tool* drill = shop.Find(*sketch.centre);
  FW_CHECK(centre != nullptr && drill != nullptr, sketch.part.text());
  const double in = CentreDepth_mm(*drill) - kDrillCone * drill->diameter_mm - kAboveCone_mm;
  FixtureSolid point = Round(-in, kPointOut_mm, drill->diameter_mm);
  point.supports = true;
  held.setup.fixtures.push_back(point);
  held.setup.fixtures.push_back(Round(kPointOut_mm, kPointOut_mm + centre->body_length_mm, centre->body_diameter_mm));
  held.setup.hold_words += fmt::format(" Its end on the {}: oil in the centre, the quill short and locked, brought up until it turns "
                                       "with the work and no harder; look again when the bar has warmed.",
                                       centre->words);
  held.setup.zero.routine = "z is 0 at the end as it stands now; x from a trial cut, measured.";
  held.setup.reasons.push_back("So far out of the jaws the bar would spring from the tool: the centre carries its end. Set the tailstock "
                               "over the spindle first: mike the trial cut at both ends, they must read alike.");
  held.seat_min += kBringUp_min;
}

}  // namespace fitwright::planner
