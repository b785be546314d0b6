// Gauge blocks wrung to a height, and the heights that set a sine bar.
#pragma once

#include <vector>

namespace fitwright::trade {

// Blocks of `set_mm` (each there once) whose sum comes nearest to height_mm: of those that come
// equally near (within 1e-6 mm) the fewest, at most four; then the largest first. Empty for heights
// that no block or sum of blocks comes nearer to than none at all. mm; deterministic.
std::vector<double> ChooseBlocks(double height_mm, const std::vector<double>& set_mm);
double SumOf(const std::vector<double>& blocks_mm);

// Height under the roll of a sine bar with rolls centres_mm apart that stands at angle_rad to the
// plate: centres * sin(angle), by the triangle that bar, plate and stack make.
double SineStack_mm(double centres_mm, double angle_rad);
// The angle that a stack gives.
double SineAngle_rad(double centres_mm, double stack_mm);

}  // namespace fitwright::trade
