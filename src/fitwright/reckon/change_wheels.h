// Change wheels between spindle and leadscrew for a pitch.
#pragma once

#include <cstddef>
#include <vector>

namespace fitwright::reckon {

// Drivers over driven, first pair then second; a simple train has no second pair (0, 0).
struct WheelTrain {
  int first_driver = 0;
  int first_driven = 0;
  int second_driver = 0;
  int second_driven = 0;
  bool compound() const { return second_driver != 0; }
  double Ratio() const;
};

// Room by which wheels must clear the stud or shaft beside them, in teeth (common practice).
inline constexpr int kClearTeeth = 15;

// Trains of the wheels (each as often as listed) whose ratio is nearest to `ratio` (turns of the
// leadscrew for each of the spindle), at most `count`, nearest first; of those alike simple before
// compound, then the smallest wheels. Compound trains are only those in which the second driver
// clears the first stud and the first driven the last: first pair >= second driver + kClearTeeth,
// second pair >= first driven + kClearTeeth.
std::vector<WheelTrain> FindTrains(double ratio, const std::vector<int>& wheels, std::size_t count);

}  // namespace fitwright::reckon
