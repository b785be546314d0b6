// The parallels under work in the vise: where they stand across the jaws.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "fitwright/model/shop.h"
#include "fitwright/planner/pieces.h"

namespace fitwright::planner {

// A box in S less what steps took from the underside along a whole jaw.
Box3 BesideSteps(Box3 rest_S, const PieceState& piece, const Pose& X_PS);

struct Strips {
  std::vector<double> places;  // their lower edges in y of S
  double thickness_mm = 0;
};

// How far beside the strips the worst of what presses down stands, mm; 0 = all between or over them.
double BesideStrips_mm(const Strips& strips, const std::vector<double>& presses_y);

// The strips at hand that stand on both sides of what is drilled, the stout ones first, under `rest_S` and clear of
// the through holes (middle in x and y of S, radius). Where none do, the ones that it presses least beside, if the jaws
// hold the piece over twice as much; else none.
std::optional<Strips> ChooseStrips(const HoldingDevice& vise, const Box3& rest_S, const std::vector<std::pair<Vec2, double>>& holes,
                                   const std::vector<double>& presses_y, double grip_mm);

}  // namespace fitwright::planner
