// What locates a part: contact equations solved once, nominally, with forms on the right-hand side.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/variation/form.h"

namespace fitwright::variation {

// One equation on the small displacement (w, d) of a part in a frame F, and on the shifts of its
// zero:
//   normal . (d + w x point) + normal . shift = move    (turn = false; shift only where !finder)
//   normal . w = move                                    (turn = true)
// A finder (edge found, bore centred, face touched off) reads where the part is against the zero; a
// support, jaw or stop holds the part where it is against the machine. Along an axis of F that has
// a finder, the zero moves with what was found: supports along it then give only differences.
struct LocatingRow {
  Vec3 point = Vec3::Zero();
  Vec3 normal = Vec3::UnitZ();
  Form move;
  bool finder = false;
  bool turn = false;
  bool may_repeat = false;  // dropped silently when the rows before it settle it
};

using Vec6 = Eigen::Matrix<double, 6, 1>;  // (w * kLever_mm, d)

struct Located {
  Form6 t;                 // of the part against the zero, in F
  std::vector<Vec6> free;  // motions that no row settles, orthonormal; t has no part along them
};

// Least displacement that satisfies the rows; rows are taken in order. Deterministic; cost of one
// factorisation of at most 9 unknowns.
// Errors: kNoPlan when a row that may not repeat depends on those before it (over-determined).
Result<Located> Locate(const std::vector<LocatingRow>& rows);

// Turns count as the move of a point this far off, when lengths and angles are weighed together.
inline constexpr double kLever_mm = 30;

}  // namespace fitwright::variation
