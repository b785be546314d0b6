#include "fitwright/review/review.h"

#include "fitwright/review/rules.h"

namespace fitwright::review {

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
  const std::vector<Piece> pieces = PiecesOf(machine);
  ReviewBearings(machine, pieces, findings);
  ReviewFouls(machine, pieces, findings);
  return findings;
}

}  // namespace fitwright::review
