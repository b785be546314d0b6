// Whether one rigid move in the plane brings every screw inside its clearance: exact, convex.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::variation {

// |offset + t + theta * J q + arm * rock| <= room (+ excess, for screws). rock is the screw's own,
// |rock|
// <= rock_limit, one vector for all planes of the screw.
struct ScrewPlane {
  Vec2 offset = Vec2::Zero();
  Vec2 q = Vec2::Zero();
  double room = 0;
  double arm = 0;
  int screw = -1;  // -1: a spigot, a hard condition without excess
};

struct ScrewProblem {
  std::vector<ScrewPlane> planes;  // planes of one screw stand together
  double rock_limit = 0;           // rad
  bool may_turn = true;
};

// In-plane move: t and theta.
using PlanarMove = Eigen::Vector3d;

struct ScrewSolution {
  double excess =
      0;  // least over moves of the greatest |...| - room over the screws, mm; <= 0: all enter
  PlanarMove move = PlanarMove::Zero();
};

// Excess at a given move: greatest over the screws, each screw rocked to suit itself.
double ExcessAt(const ScrewProblem& problem, const PlanarMove& move);
// Smallest room left over of the spigots at the move; +inf without spigots.
double SpigotRoomAt(const ScrewProblem& problem, const PlanarMove& move);

// The least excess, within 1e-9 mm, by a primal barrier method with a proved gap. A spigot with
// negative room is taken as just entering (room 0): that it does not enter is another requirement's
// matter.
ScrewSolution SolveScrews(const ScrewProblem& problem);

enum class Settled { kEnters, kExcluded, kOpen };
// Quick tests: a least-squares move that satisfies all; two conditions that exclude each other; a
// move found by projecting onto one condition after the other. kOpen is decided by SolveScrews.
// `start` receives the least-squares move.
Settled SettleQuickly(const ScrewProblem& problem, PlanarMove* start);
// Exact answer, by the quick tests where they settle it.
bool ScrewsEnter(const ScrewProblem& problem);

}  // namespace fitwright::variation
