#include "fitwright/trade/rings.h"

#include <cmath>
#include <numbers>

namespace fitwright::trade {

double ThreeForceLobes_mm_N(double outer_mm, double inner_mm, double length_mm, double modulus_MPa) {
  // Half the angle between two forces; deflection at a force inwards and half way between outwards, each in
  // W R^3 / (E I).
  const double a = std::numbers::pi / 3;
  const double s = std::sin(a);
  const double c = std::cos(a);
  const double at_force = 0.25 * ((a + s * c) / (s * s) - 2 / a);
  const double between = 0.25 * (2 / a - 1 / s - a * c / (s * s));
  const double radius = 0.25 * (outer_mm + inner_mm);
  const double wall = 0.5 * (outer_mm - inner_mm);
  const double second_moment_mm4 = length_mm * wall * wall * wall / 12;
  return (at_force + between) * radius * radius * radius / (modulus_MPa * second_moment_mm4);
}

}  // namespace fitwright::trade
