#include "fitwright/reckon/press_fit.h"

#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {

Pressed CalcPress(const PressJoint& joint, double interference_mm) {
  const double d = joint.diameter_mm;
  const double inner = joint.bore_mm;
  const double outer = joint.outside_mm;
  FW_CHECK(inner >= 0 && inner < d && d < outer, inner, d, outer);
  const double hub = (outer * outer + d * d) / (outer * outer - d * d);
  const double shaft = (d * d + inner * inner) / (d * d - inner * inner);
  Pressed pressed;
  pressed.pressure_MPa =
      interference_mm / (d * ((hub + joint.hub.poisson) / joint.hub.modulus_MPa +
                              (shaft - joint.shaft.poisson) / joint.shaft.modulus_MPa));
  const double p = pressed.pressure_MPa;
  pressed.hub_hoop_MPa = p * hub;
  pressed.hub_equivalent_MPa = p * std::sqrt(hub * hub + hub + 1);
  pressed.shaft_hoop_MPa = inner > 0 ? -2 * p * d * d / (d * d - inner * inner) : -p;
  pressed.force_N = joint.friction * p * kPi * d * joint.length_mm;
  pressed.torque_Nm = pressed.force_N * 0.5 * d / 1000;
  return pressed;
}

double RiseForRoom_K(double diameter_mm, double interference_mm, double room_mm,
                     double expansion_per_K) {
  return (interference_mm + room_mm) / (expansion_per_K * diameter_mm);
}

}  // namespace fitwright::reckon
