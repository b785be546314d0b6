#include "fitwright/reckon/dividing.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace fitwright::reckon {
namespace {

// Nearer than this two moves are equally near.
constexpr double kAlike_turns = 1e-12;

struct Circle {
  int holes = 0;
  int plate = 0;
};

// Smallest first, of those alike that of the earlier plate.
std::vector<Circle> CirclesOf(const Plates& plates) {
  std::vector<Circle> circles;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    for (const int holes : plates[i]) circles.push_back({holes, static_cast<int>(i) + 1});
  }
  std::stable_sort(circles.begin(), circles.end(),
                   [](const Circle& a, const Circle& b) { return a.holes < b.holes; });
  return circles;
}

PlainMove MoveOf(long holes, const Circle& circle) {
  return {static_cast<int>(holes / circle.holes), static_cast<int>(holes % circle.holes),
          circle.holes, circle.plate};
}

// Calls take(move) for every pair of circles of a plate and every count of holes in the first, with
// the second's count nearest to what is left.
template <typename Take>
void ForPairs(double crank_turns, const Plates& plates, const Take& take) {
  for (std::size_t i = 0; i < plates.size(); ++i) {
    for (const int first : plates[i]) {
      for (const int second : plates[i]) {
        if (first == second) continue;
        const long most = std::lround(std::floor(crank_turns)) + 1;
        for (long holes = 0; holes <= most * first; ++holes) {
          const double left = crank_turns - static_cast<double>(holes) / first;
          if (std::abs(left) >= 1) continue;
          const long second_holes = std::lround(left * second);
          if (second_holes == 0 || std::abs(second_holes) >= second) continue;
          take(CompoundMove{MoveOf(holes, {first, static_cast<int>(i) + 1}),
                            static_cast<int>(second_holes), second});
        }
      }
    }
  }
}

int HolesCounted(const CompoundMove& move) {
  return move.first.holes + std::abs(move.second_holes);
}

}  // namespace

double CompoundMove::Turns() const {
  const double second = second_circle == 0 ? 0 : static_cast<double>(second_holes) / second_circle;
  return first.turns + static_cast<double>(first.holes) / first.circle + second;
}

std::vector<PlainMove> PlainDividing(int ratio, int divisions, const Plates& plates) {
  std::vector<PlainMove> moves;
  for (const Circle& circle : CirclesOf(plates)) {
    const long holes = static_cast<long>(ratio) * circle.holes;
    if (holes % divisions == 0) moves.push_back(MoveOf(holes / divisions, circle));
  }
  return moves;
}

std::optional<CompoundMove> CompoundDividing(int ratio, int divisions, const Plates& plates) {
  std::optional<CompoundMove> best;
  ForPairs(static_cast<double>(ratio) / divisions, plates, [&](const CompoundMove& move) {
    const long a = move.first.circle;
    const long b = move.second_circle;
    const long holes = static_cast<long>(move.first.turns) * a + move.first.holes;
    if (divisions * (holes * b + move.second_holes * a) != ratio * a * b) return;
    if (!best || HolesCounted(move) < HolesCounted(*best)) best = move;
  });
  return best;
}

std::optional<PlainMove> NearestPlain(double crank_turns, const Plates& plates) {
  std::optional<PlainMove> best;
  double best_off = 0;
  for (const Circle& circle : CirclesOf(plates)) {
    const long holes = std::lround(crank_turns * circle.holes);
    if (holes < 1) continue;
    const double off = std::abs(static_cast<double>(holes) / circle.holes - crank_turns);
    if (best && off > best_off - kAlike_turns) continue;
    best = MoveOf(holes, circle);
    best_off = off;
  }
  return best;
}

std::optional<CompoundMove> NearestCompound(double crank_turns, const Plates& plates) {
  std::optional<CompoundMove> best;
  double best_off = 0;
  ForPairs(crank_turns, plates, [&](const CompoundMove& move) {
    if (move.Turns() <= 0) return;
    const double off = std::abs(move.Turns() - crank_turns);
    const bool nearer = !best || off < best_off - kAlike_turns;
    const bool alike = best && off < best_off + kAlike_turns;
    if (!nearer && !(alike && HolesCounted(move) < HolesCounted(*best))) return;
    best = move;
    best_off = off;
  });
  return best;
}

}  // namespace fitwright::reckon
