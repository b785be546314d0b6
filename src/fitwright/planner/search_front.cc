// What the search weighs, and what it has found besides the best.
#include <algorithm>

#include "fitwright/planner/search.h"

namespace fitwright::planner {

double CostOf(const Judged& judged, const Preference& preference) {
  constexpr double kMissingPoint_min = 6000;  // more than any plan of a small machine takes
  return judged.expected_min + judged.disturbance_min + (preference.remedies - 1) * (judged.expected_min - judged.minutes) + preference.each_setup_min * judged.setups +
         100 * kMissingPoint_min * std::max(0.0, preference.least_odds - judged.odds);
}

void Search::Prefer(const Preference& preference) {
  options_.preference = preference;
  tried_ = Tried(shop_.times.device_change);
  budget_ = judged_ + (options_.work.budget > 0 ? options_.work.budget : kDefaultBudget);
}

std::vector<std::pair<Strategy, Judged>> Search::Front() const {
  std::vector<std::pair<Strategy, Judged>> front;
  for (const auto& candidate : seen_) {
    const bool beaten = std::any_of(seen_.begin(), seen_.end(), [&](const auto& other) {
      const Judged& a = other.second;
      const Judged& b = candidate.second;
      return a.odds >= b.odds && a.expected_min <= b.expected_min && (a.odds > b.odds || a.expected_min < b.expected_min);
    });
    if (!beaten) front.push_back(candidate);
  }
  std::stable_sort(front.begin(), front.end(), [](const auto& a, const auto& b) { return a.second.expected_min < b.second.expected_min; });
  return front;
}

}  // namespace fitwright::planner
