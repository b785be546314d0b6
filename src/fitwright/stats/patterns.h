// Plane moves held by discs, a block of trials at a time: whether one move suits all of them, and
// where a move left to chance comes to rest.
//
// A plane: |offset + t + theta * J q + arm * rock| <= room, J q = (-q_y, q_x); offset and room are
// numbers of the trial. Planes of one group have a rock of their own in common, a plane vector no
// longer than the pattern's rock. Planes without group are hard: room below 0 counts as 0.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/stats/vectors.h"

namespace fitwright::stats {

struct PatternPlane {
  double q_x = 0;
  double q_y = 0;
  double arm = 0;
  double widen = 0;  // added to the room of the trial
  int group = -1;    // planes of one group stand together
};

struct Pattern {
  std::vector<PatternPlane> planes;
  double rock = 0;
  bool may_turn = true;
};

// Offset x, y and room of one plane, kTrialsAtOnce numbers each, at the alignment of the widest
// vectors.
using PlaneNumbers = std::array<const double*, 3>;

// A bit a trial. What is in neither is not decided: within about 1e-6 mm of the border.
struct PatternAnswer {
  std::uint64_t suits = 0;
  std::uint64_t excluded = 0;
};

// Suits: a move was found that holds every condition as written, hard ones to a nanometre.
// Excluded: none can, by a bound from below on the sum of squares by which the conditions are
// missed, which is convex. The same bits at every width. Cost: about a microsecond a block where a
// plain best move settles it, a tenth of a microsecond a plane and trial where not.
PatternAnswer SettlePattern(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                            Vectors vectors = Vectors::kWidest);

// A move uniform over those that all planes let in (rooms widened, no rock): tried `tries` times
// within the range of turns that the planes leave in pairs and the disc of the tightest of them.
// Random numbers: UniformPair(key, trial, 2 k) and Uniform(key, trial, 2 k + 1) of random.h in the
// k-th try. Returns the trials in which a try was let in; x, y, theta of the others are not
// written.
struct ChanceMove {
  std::uint64_t key = 0;
  std::uint64_t first = 0;  // trial
  int tries = 24;
  bool turns = true;    // false: theta as it stands in `theta`
  double* x = nullptr;  // kTrialsAtOnce numbers each
  double* y = nullptr;
  double* theta = nullptr;
};
std::uint64_t MoveByChance(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                           const ChanceMove& move, Vectors vectors = Vectors::kWidest);

// For each of the trials asked for (a bit each) a move that holds every condition (rooms widened,
// no rock), or where none was found one by which the sum of squares of what is missed is about
// least. Returns the trials of the first kind; others than those asked for are not written.
struct FoundMove {
  std::uint64_t trials = 0;
  double* x = nullptr;  // kTrialsAtOnce numbers each
  double* y = nullptr;
  double* theta = nullptr;
};
std::uint64_t FindMove(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                       const FoundMove& found, Vectors vectors = Vectors::kWidest);

}  // namespace fitwright::stats
