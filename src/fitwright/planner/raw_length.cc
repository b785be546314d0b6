#include "fitwright/planner/raw_length.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/model/faces.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/pieces.h"

namespace fitwright::planner {
namespace {

constexpr double kSawnOff_mm = 0.1;  // out of square over the width, so much still goes (opinion)

bool IsVise(HoldingKind kind) { return kind == HoldingKind::kViseBedFirst || kind == HoldingKind::kViseJawFirst; }

// Place in the plan of the setup that finishes the part's outermost face on that side.
std::optional<std::size_t> FinishedIn(const Plan& plan, const Part& part, const Vec3& normal_P) {
  const Feature* face = OutermostFace(part, normal_P);
  if (face == nullptr) return std::nullopt;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    for (const Step& step : plan.setups[i].steps) {
      const bool makes = step.finishes && std::find(step.features.begin(), step.features.end(), FeatureRef{part.name, face->name}) != step.features.end();
      if (makes) return i;
    }
  }
  return std::nullopt;
}

// axis: 0 x, 1 y of the setup. Empty when the side that the zero stands on is the one that the rest counts from.
std::string LengthWords(const Plan& plan, const Part& part, const Setup& setup, int axis, double sense) {
  const Pose& X_PS = setup.parts.front().X_PS;
  const PieceState raw = RawPiece(part);
  const Box3 box_S = BoxInSetup(raw, X_PS);
  const double side = box_S.centre_mm()[axis] < 0 ? 1 : -1;  // the zero stands at this end
  const Vec3 out_P = X_PS.linear().col(axis) * side;
  const auto own = FinishedIn(plan, part, out_P);
  const auto other = FinishedIn(plan, part, -out_P);
  const auto here = static_cast<std::size_t>(setup.number - 1);
  if (!own || !other || *own <= here || *other <= here || *own > *other) return {};
  const double length = box_S.size_mm()[axis];
  const char name = "xy"[axis];
  return fmt::format(
      " What is cut here is to stand right to the other raw side, from which the rest counts: measure the raw length along {0} with the caliper, half way up at both edges: ________; what it is over "
      "{1:.3f} mm goes {2} the {0} that is set here, what it is under the other way: set {0} to ________. Where the edges differ by more than {3:.1f} mm "
      "square that side up with a file or the mill first.",
      name, length, side * sense > 0 ? "onto" : "off", kSawnOff_mm);
}

}  // namespace

void SayRawLengths(const Machine& machine, const Shop& shop, Plan& plan) {
  for (Setup& setup : plan.setups) {
    const MachineTool* tool = shop.Find(setup.machine);
    if (tool == nullptr || !IsVise(setup.holding) || setup.parts.size() != 1 || setup.zero.x_from.part.empty()) continue;
    const Part* part = machine.FindPart(setup.parts.front().part);
    if (part == nullptr || part->envelope != EnvelopeKind::kBlock) continue;
    std::string words;
    if (setup.zero.x_from.feature.empty()) words += LengthWords(plan, *part, setup, 0, tool->x_sense);
    if (setup.zero.y_from.feature.empty()) words += LengthWords(plan, *part, setup, 1, tool->y_sense);
    if (words.empty()) continue;
    setup.zero.routine += words;
    setup.time_min += shop.times.measure;
    plan.hours_cutting += shop.times.measure / 60;
  }
}

}  // namespace fitwright::planner
