// Where one float comes to rest in one build, its limits known as numbers.
#pragma once

#include <array>
#include <span>

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/screws.h"

namespace fitwright::variation {

struct PlayCase {
  FloatKind kind = FloatKind::kChance;
  bool returns = false;
  bool random = true;  // false: everything at its middle (no spreads, or silenced)
  bool has_theta = true;
  bool has_residual = false;
  ScrewProblem limits;  // rooms already widened by the screws' rocking (rock_limit 0)
  Vec2 push = Vec2::Zero();
  PlanarMove residual = PlanarMove::Zero();
  PlanarMove before = PlanarMove::Zero();
  PlanarMove found = PlanarMove::Zero();  // chance: let in, or the best there is
  // Adjusted: targets value + factors . move -> 0, weighed by 1 / tolerance.
  std::vector<double> target_values;
  std::span<const std::array<double, 3>> target_factors;
  std::vector<double> target_tolerances;
  std::uint64_t stream = 0;
  std::uint64_t build = 0;
};

// Chance: anywhere that the limits let in, by a walk along random chords from the move found; that
// move itself where it is not let in. (Most rest where the first tries fall: stats/patterns.h.) Pushed: as far along the push as the limits let it. Adjusted: the best move for the
// targets, plus the residual, within the limits. Returning: where it was, plus the residual, within
// the limits. When the limits let nothing in, the move of least excess.
PlanarMove RestOf(const PlayCase& play);

}  // namespace fitwright::variation
