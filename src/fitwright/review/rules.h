// The groups of rules that Review runs; private to this layer.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/review/metal.h"
#include "fitwright/review/review.h"

namespace fitwright::review {

inline constexpr double kNoise_mm = 1e-6;
inline constexpr double kDrawnAlike = 1e-4;  // of unit vectors: drawn as one direction

// A planar face as placed in the machine.
struct FaceAt {
  Vec3 point_W_mm;
  Vec3 normal_W;
};
std::optional<FaceAt> PlaceOfFace(const Machine& machine, const FeatureRef& ref);

void ReviewWalls(const Part& part, const ReviewLimits& limits, std::vector<Finding>& findings);
void ReviewThreads(const Part& part, std::vector<Finding>& findings);
void ReviewMirror(const Machine& machine, const Part& part, std::vector<Finding>& findings);
void ReviewScrews(const Machine& machine, const Joint& joint, const ReviewLimits& limits,
                  std::vector<Finding>& findings);
void ReviewPlaces(const Machine& machine, const Joint& joint, std::vector<Finding>& findings);
void ReviewRequirements(const Machine& machine, std::vector<Finding>& findings);
void ReviewBearings(const Machine& machine, const std::vector<Piece>& pieces,
                    std::vector<Finding>& findings);
void ReviewFouls(const Machine& machine, const std::vector<Piece>& pieces,
                 std::vector<Finding>& findings);
void ReviewTurning(const Machine& machine, const std::vector<Piece>& pieces,
                   std::vector<Finding>& findings);

}  // namespace fitwright::review
