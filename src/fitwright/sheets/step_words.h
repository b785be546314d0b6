// A step's sentence in inches.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace fitwright::sheets {

// Of a planner's sentence about one step, whose lengths are in mm and mostly bare ("46.8 deep", "in 7 cuts of about 0.7 mm"): the
// lengths in inches, counts and angles as they are, a drill by its own mm, a fit ("30 H7"), a thread, a step's number, what stands
// between quotation marks and names in `kept` unchanged. Nothing where a number cannot be told to be the one or the other.
std::optional<std::string> StepSentenceInInches(std::string_view sentence, const std::vector<std::string>& kept);

}  // namespace fitwright::sheets
