// The geometry of a single-start parallel screw thread: profile, wires, tap drill. mm, rad.
#pragma once

namespace fitwright::reckon {

enum class ThreadForm { kIso, kWhitworth, kBa };  // 60, 55, 47.5 degrees

// A symmetric profile by its included angle and basic depth (crest to root, one side).
struct ThreadShape {
  ThreadForm form = ThreadForm::kIso;
  double major_mm = 0;
  double pitch_mm = 0;
  double half_angle_rad() const;
  // ISO 68-1 and ASME B1.1 5/8 H = 0.541266 P; BS 84 and ISO 228-1 0.640327 P; BS 93 0.6 P.
  double depth_mm() const;
  double pitch_diameter_mm() const;  // 60 deg: d - 3/4 H; the others: d - depth
  double minor_mm() const;           // d - 2 depth
  double lead_angle_rad() const;     // at the pitch diameter
};

// The wire that touches the flanks at the pitch diameter: P / (2 cos(half angle)).
double BestWire_mm(const ThreadShape& thread);
// Wires that touch the flanks and stand proud of the crests: from, to.
struct WireRange {
  double least_mm = 0;
  double greatest_mm = 0;
};
WireRange UsableWires_mm(const ThreadShape& thread);
// Over three wires for a pitch diameter, and back: M = E + w (1 + 1 / sin a) - P / 2 cot a.
double OverWires_mm(const ThreadShape& thread, double pitch_diameter_mm, double wire_mm);
double PitchDiameterByWires_mm(const ThreadShape& thread, double over_mm, double wire_mm);
// What the lean of the wires in the thread adds to M: w (sqrt(csc^2 a + cot^2 a tan^2 lead) - csc
// a), the form of ASME B1.2 with the lead angle taken at the pitch diameter (from memory).
double LeanOfWires_mm(const ThreadShape& thread, double wire_mm);

// Full thread on the diameter by the basic profile, and by the older 3/4 H rule of handbooks'
// percentages (60 degrees only; the same as the first for the others).
double FullThread_mm(const ThreadShape& thread, bool three_quarters);

}  // namespace fitwright::reckon
