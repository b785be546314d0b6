// Slopes: tapers, tilted faces, and what is read over pins and balls. Closed forms. mm, rad.
#pragma once

#include "fitwright/base/result.h"

namespace fitwright::reckon {

// Half the included angle of a taper that runs from one diameter to another over a length.
double HalfAngle_rad(double large_mm, double small_mm, double length_mm);
// How far the tailstock goes over for work `between_mm` long between centres to be turned to that
// half angle: the centres' line is the long side of the triangle, so the sine rules.
double SetOver_mm(double between_mm, double half_angle_rad);

// A pin in the sharp corner of a dovetail of this angle reaches from the corner out to here.
double PinReach_mm(double pin_mm, double angle_rad);

// A pin (or ball) in a vee of this included angle: its top above the sharp corner.
double PinTop_mm(double pin_mm, double included_rad);
// From the sharp corner of a vee to where it is `width_mm` wide.
double VeeDepth_mm(double width_mm, double included_rad);

// A bore by two balls that lie in it one on the other, from the floor they lie on to the top of the
// upper. out_of_range when the balls would stand one above the other or lie side by side.
Result<double> BoreByBalls_mm(double lower_mm, double upper_mm, double height_mm);

// A taper bore by two balls; depths from its large face down to the top of each (negative: the ball
// stands proud).
struct TaperBore {
  double half_angle_rad = 0;
  double mouth_mm = 0;  // diameter at the face
};
Result<TaperBore> TaperByBalls(double large_mm, double large_depth_mm, double small_mm,
                               double small_depth_mm);

// A taper plug on its small face, over two pins of one size: on the table, and on blocks.
struct TaperPlug {
  double half_angle_rad = 0;
  double small_mm = 0;  // diameter at the small face
};
TaperPlug TaperByPins(double pin_mm, double low_mm, double high_mm, double blocks_mm);

}  // namespace fitwright::reckon
