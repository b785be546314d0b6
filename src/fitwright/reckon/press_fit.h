// A press fit of two thick cylinders, elastic, of equal length. mm, N, MPa, K.
#pragma once

namespace fitwright::reckon {

struct PressMember {
  double modulus_MPa = 0;
  double poisson = 0;
};
struct PressJoint {
  double diameter_mm = 0;  // where they meet
  double bore_mm = 0;      // of the shaft; 0 solid
  double outside_mm = 0;   // of the hub, over diameter_mm
  double length_mm = 0;
  double friction = 0;
  PressMember shaft;
  PressMember hub;
};
struct Pressed {
  double pressure_MPa = 0;
  double hub_hoop_MPa = 0;        // at its bore, pulling
  double hub_equivalent_MPa = 0;  // there, by distortion energy
  double shaft_hoop_MPa = 0;      // greatest, pushing (negative)
  double force_N = 0;             // to press on or off
  double torque_Nm = 0;           // that it carries by friction
};

// Lame's formulas for the interference on the diameter (>= 0), plane stress, joint elastic
// throughout: p = delta / (d [(1/Eo)((do^2 + d^2)/(do^2 - d^2) + no) + (1/Ei)((d^2 + di^2)/(d^2 -
// di^2) - ni)]). Requires 0 <= bore < diameter < outside.
Pressed CalcPress(const PressJoint& joint, double interference_mm);

// By how much the hub must be warmer than the shaft for this room on the diameter.
double RiseForRoom_K(double diameter_mm, double interference_mm, double room_mm,
                     double expansion_per_K);

}  // namespace fitwright::reckon
