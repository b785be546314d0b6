#include "fitwright/reckon/slopes.h"

#include <fmt/format.h>

#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

Error NotTouching(std::string message, std::string remedy) {
  return {ErrorCode::kOutOfRange, std::move(message), "", std::move(remedy), {}};
}

}  // namespace

double HalfAngle_rad(double large_mm, double small_mm, double length_mm) {
  return std::atan2(0.5 * (large_mm - small_mm), length_mm);
}

double SetOver_mm(double between_mm, double half_angle_rad) {
  return between_mm * std::sin(half_angle_rad);
}

// The pin's middle lies on the corner's bisector, r / tan(half) out; its far side another r.
double PinReach_mm(double pin_mm, double angle_rad) {
  return 0.5 * pin_mm * (1 + 1 / std::tan(0.5 * angle_rad));
}

double PinTop_mm(double pin_mm, double included_rad) {
  return 0.5 * pin_mm * (1 + 1 / std::sin(0.5 * included_rad));
}

double VeeDepth_mm(double width_mm, double included_rad) {
  return 0.5 * width_mm / std::tan(0.5 * included_rad);
}

Result<double> BoreByBalls_mm(double lower_mm, double upper_mm, double height_mm) {
  const double radii = 0.5 * (lower_mm + upper_mm);
  const double up = height_mm - radii;  // from middle to middle
  if (up <= 0 || up >= radii) {
    return Unexpected(NotTouching(
        fmt::format("balls of {:.3f} and {:.3f} mm that touch each other and both walls reach over "
                    "{:.3f} and under {:.3f} mm",
                    lower_mm, upper_mm, radii, 2 * radii),
        "measure the height again, or use balls each over half the bore"));
  }
  return radii + std::sqrt(radii * radii - up * up);
}

Result<TaperBore> TaperByBalls(double large_mm, double large_depth_mm, double small_mm,
                               double small_depth_mm) {
  const double large_middle = large_depth_mm + 0.5 * large_mm;
  const double between = small_depth_mm + 0.5 * small_mm - large_middle;
  const double step = 0.5 * (large_mm - small_mm);
  if (step <= 0 || between <= step) {
    return Unexpected(NotTouching(
        "the smaller ball must lie deeper, its middle further than half the balls' difference",
        "measure both depths from the same face"));
  }
  TaperBore bore;
  bore.half_angle_rad = std::asin(step / between);
  bore.mouth_mm = 2 * (0.5 * large_mm / std::cos(bore.half_angle_rad) +
                       large_middle * std::tan(bore.half_angle_rad));
  return bore;
}

// Between the two readings the pins go up by the blocks and out by the taper.
TaperPlug TaperByPins(double pin_mm, double low_mm, double high_mm, double blocks_mm) {
  TaperPlug plug;
  plug.half_angle_rad = HalfAngle_rad(high_mm, low_mm, blocks_mm);
  // The flank leans out over the table: the corner that holds the pin is 90 deg less the half
  // angle.
  plug.small_mm = low_mm - 2 * PinReach_mm(pin_mm, 0.5 * kPi - plug.half_angle_rad);
  return plug;
}

}  // namespace fitwright::reckon
