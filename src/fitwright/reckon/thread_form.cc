#include "fitwright/reckon/thread_form.h"

#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

constexpr double kHeightPerPitch = 0.86602540378443864676;  // sharp 60 degree vee
constexpr double kWhitworthDepth = 0.640327;
constexpr double kBaDepth = 0.6;

double Csc(double angle) { return 1 / std::sin(angle); }
double Cot(double angle) { return 1 / std::tan(angle); }

}  // namespace

double ThreadShape::half_angle_rad() const {
  switch (form) {
    case ThreadForm::kIso:
      return 30 * kRadPerDeg;
    case ThreadForm::kWhitworth:
      return 27.5 * kRadPerDeg;
    case ThreadForm::kBa:
      return 23.75 * kRadPerDeg;
  }
  return 0;
}

double ThreadShape::depth_mm() const {
  switch (form) {
    case ThreadForm::kIso:
      return 0.625 * kHeightPerPitch * pitch_mm;
    case ThreadForm::kWhitworth:
      return kWhitworthDepth * pitch_mm;
    case ThreadForm::kBa:
      return kBaDepth * pitch_mm;
  }
  return 0;
}

double ThreadShape::pitch_diameter_mm() const {
  const double down = form == ThreadForm::kIso ? 0.75 * kHeightPerPitch * pitch_mm : depth_mm();
  return major_mm - down;
}

double ThreadShape::minor_mm() const { return major_mm - 2 * depth_mm(); }

double ThreadShape::lead_angle_rad() const {
  return std::atan2(pitch_mm, kPi * pitch_diameter_mm());
}

double BestWire_mm(const ThreadShape& thread) {
  return 0.5 * thread.pitch_mm / std::cos(thread.half_angle_rad());
}

// A wire in the vee has its middle w / 2 csc a above the vee's sharp root, and touches (w / 2) sin
// a below that. Proud: M over the major. Touching: below the crest.
WireRange UsableWires_mm(const ThreadShape& thread) {
  const double a = thread.half_angle_rad();
  const double room = thread.major_mm - thread.pitch_diameter_mm() + 0.5 * thread.pitch_mm * Cot(a);
  return {room / (1 + Csc(a)), room / (Csc(a) - std::sin(a))};
}

double OverWires_mm(const ThreadShape& thread, double pitch_diameter_mm, double wire_mm) {
  const double a = thread.half_angle_rad();
  return pitch_diameter_mm + wire_mm * (1 + Csc(a)) - 0.5 * thread.pitch_mm * Cot(a);
}

double PitchDiameterByWires_mm(const ThreadShape& thread, double over_mm, double wire_mm) {
  return over_mm - OverWires_mm(thread, 0, wire_mm);
}

double LeanOfWires_mm(const ThreadShape& thread, double wire_mm) {
  const double a = thread.half_angle_rad();
  return wire_mm * (std::hypot(Csc(a), Cot(a) * std::tan(thread.lead_angle_rad())) - Csc(a));
}

double FullThread_mm(const ThreadShape& thread, bool three_quarters) {
  if (three_quarters && thread.form == ThreadForm::kIso) {
    return 1.5 * kHeightPerPitch * thread.pitch_mm;
  }
  return 2 * thread.depth_mm();
}

}  // namespace fitwright::reckon
