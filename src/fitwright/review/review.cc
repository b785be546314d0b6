#include "fitwright/review/review.h"

#include <fmt/format.h>

#include "fitwright/review/assembly_order.h"
#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

void ReviewOrder(const Machine& machine, std::vector<Finding>& findings) {
  const AssemblyOrder order = FindAssemblyOrder(machine);
  if (order.locked.empty()) return;
  std::string names;
  for (const PartId& part : order.locked) names += (names.empty() ? "" : ", ") + part.text();
  findings.push_back(
      {Rule::kNoWayTogether, order.locked.front().text(),
       fmt::format("no straight move along a joint takes any of these out of the rest, "
                   "so none goes in: {}",
                   names),
       "look at what stands in front of each, or split one of them"});
}

}  // namespace

std::vector<Finding> Review(const Machine& machine, const ReviewLimits& limits) {
  std::vector<Finding> findings;
  for (const Part& part : machine.parts) {
    ReviewWalls(part, limits, findings);
    ReviewThreads(part, findings);
    ReviewMirror(machine, part, findings);
  }
  for (const Joint& joint : machine.joints) {
    if (machine.Find(joint.fixed) == nullptr || machine.Find(joint.moving) == nullptr) continue;
    ReviewPlaces(machine, joint, findings);
    if (joint.kind == JointKind::kScrewedPattern) ReviewScrews(machine, joint, limits, findings);
  }
  ReviewRequirements(machine, findings);
  const std::vector<Piece> pieces = PiecesOf(machine);
  ReviewBearings(machine, pieces, findings);
  ReviewFouls(machine, pieces, findings);
  ReviewTurning(machine, pieces, findings);
  ReviewOrder(machine, findings);
  return findings;
}

}  // namespace fitwright::review
