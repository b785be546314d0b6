#include "fitwright/reckon/triangle.h"

#include <algorithm>
#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

// Nearer to flat than this is flat.
constexpr double kFlat_rad = 1e-9;

Error NoTriangle(const char* why) {
  return {ErrorCode::kOutOfRange, why, "", "measure again: one of the three is wrong", {}};
}

std::size_t Next(std::size_t i) { return (i + 1) % 3; }

// By half angles, which stay exact in thin triangles where the law of cosines does not.
Result<Triangle> FromSides(const std::array<double, 3>& side) {
  Triangle t{side, {}};
  const double s = 0.5 * (side[0] + side[1] + side[2]);
  for (std::size_t i = 0; i < 3; ++i) {
    if (s - side[i] <= kFlat_rad * s) {
      return Unexpected(NoTriangle("two of the sides together are not longer than the third"));
    }
  }
  for (std::size_t i = 0; i < 3; ++i) {
    const double near = (s - side[Next(i)]) * (s - side[Next(Next(i))]);
    t.angle_rad[i] = 2 * std::atan2(std::sqrt(near), std::sqrt(s * (s - side[i])));
  }
  return t;
}

// The two missing sides by the law of sines, all angles known and side `at` too.
Triangle FromAngles(const std::array<double, 3>& angle, std::size_t at, double side_mm) {
  Triangle t{{}, angle};
  for (std::size_t i = 0; i < 3; ++i) {
    t.side_mm[i] = side_mm * std::sin(angle[i]) / std::sin(angle[at]);
  }
  t.side_mm[at] = side_mm;
  return t;
}

// Two sides and the angle opposite the first of them: none, one or two.
std::vector<Triangle> FromOpposite(std::size_t opposite, double side_mm, double angle_rad,
                                   std::size_t other, double other_mm) {
  std::vector<Triangle> found;
  const double sine = other_mm * std::sin(angle_rad) / side_mm;
  if (sine > 1 + kFlat_rad) return found;
  const double first = std::asin(std::min(1.0, sine));
  for (const double second : {first, kPi - first}) {
    const double third = kPi - angle_rad - second;
    if (third <= kFlat_rad) continue;
    if (!found.empty() && std::abs(second - first) < 1e-7) continue;  // square: both are one
    std::array<double, 3> angle{};
    angle[opposite] = angle_rad;
    angle[other] = second;
    angle[3 - opposite - other] = third;
    found.push_back(FromAngles(angle, opposite, side_mm));
  }
  return found;
}

Result<std::vector<Triangle>> TwoSides(const TriangleGiven& given) {
  std::size_t missing = 0;
  std::size_t angle = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    if (!given.side_mm[i]) missing = i;
    if (given.angle_rad[i]) angle = i;
  }
  if (angle == missing) {
    const double b = *given.side_mm[Next(missing)];
    const double c = *given.side_mm[Next(Next(missing))];
    const double half = 0.5 * *given.angle_rad[angle];
    std::array<double, 3> side{};
    side[missing] = std::hypot((b - c) * std::cos(half), (b + c) * std::sin(half));
    side[Next(missing)] = b;
    side[Next(Next(missing))] = c;
    const auto t = FromSides(side);
    if (!t) return Unexpected(t.error());
    return std::vector<Triangle>{*t};
  }
  const std::size_t other = 3 - angle - missing;
  auto found = FromOpposite(angle, *given.side_mm[angle], *given.angle_rad[angle], other,
                            *given.side_mm[other]);
  if (found.empty()) {
    return Unexpected(NoTriangle("the side opposite the angle is too short to reach"));
  }
  return found;
}

}  // namespace

Result<std::vector<Triangle>> SolveTriangle(const TriangleGiven& given) {
  const auto sides = std::count_if(given.side_mm.begin(), given.side_mm.end(),
                                   [](const auto& v) { return v.has_value(); });
  const auto angles = std::count_if(given.angle_rad.begin(), given.angle_rad.end(),
                                    [](const auto& v) { return v.has_value(); });
  if (sides + angles != 3 || sides == 0) {
    return Unexpected(Error{ErrorCode::kWrongCount,
                            "a triangle is fixed by three of its parts, one of them a side",
                            "",
                            "give three of a, b, c, A, B, C (A stands opposite a)",
                            {}});
  }
  if (sides == 3) {
    const auto t = FromSides({*given.side_mm[0], *given.side_mm[1], *given.side_mm[2]});
    if (!t) return Unexpected(t.error());
    return std::vector<Triangle>{*t};
  }
  if (sides == 2) return TwoSides(given);
  double sum = 0;
  std::array<double, 3> angle{};
  std::size_t at = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    sum += given.angle_rad[i].value_or(0);
    if (given.side_mm[i]) at = i;
  }
  if (sum >= kPi - kFlat_rad) {
    return Unexpected(NoTriangle("the two angles together are not under 180 deg"));
  }
  for (std::size_t i = 0; i < 3; ++i) angle[i] = given.angle_rad[i].value_or(kPi - sum);
  return std::vector<Triangle>{FromAngles(angle, at, *given.side_mm[at])};
}

double AreaOf_mm2(const Triangle& t) {
  return 0.5 * t.side_mm[0] * t.side_mm[1] * std::sin(t.angle_rad[2]);
}

}  // namespace fitwright::reckon
