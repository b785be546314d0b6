#include "fitwright/planner/lathe_order.h"

#include <algorithm>
#include <vector>

namespace fitwright::planner {
namespace {

constexpr double kThinRing = 0.85; // bore over outside, opinion

bool IsOutside(const Step& step) {
  return step.operation == Operation::kTurn || step.operation == Operation::kThread ||
         step.operation == Operation::kKnurl;
}

bool Drills(const Step& step) { return step.operation == Operation::kSpot || step.operation == Operation::kDrill; }

// Not the last before a hone: that one is bored when the outside no longer warms it.
bool RoughsInside(const Setup& setup, const Step& step) {
  if (Drills(step)) return true;
  if (step.operation != Operation::kBore || step.finishes) return false;
  const auto bored_again = [&](const Step& later) {
    return later.operation == Operation::kBore && !step.features.empty() &&
           std::find(later.features.begin(), later.features.end(), step.features.front()) != later.features.end();
  };
  const auto here = std::find_if(setup.steps.begin(), setup.steps.end(), [&](const Step& s) { return &s == &step; });
  return std::any_of(here + 1, setup.steps.end(), bored_again);
}

bool HasTailstock(const Setup& setup) {
  return std::any_of(setup.fixtures.begin(), setup.fixtures.end(),
                     [](const FixtureSolid& f) { return f.role == FixtureRole::kTailstock; });
}

bool LeavesThinRing(const Part& part, const Setup& setup) {
  double bore_mm = 0;
  double outside_mm = 1e9;
  for (const Step& step : setup.steps) {
    for (const FeatureRef& ref : step.features) {
      const Feature* feature = ref.part == part.name ? part.Find(ref.feature) : nullptr;
      if (feature == nullptr) continue;
      if (const auto* hole = std::get_if<Hole>(&feature->shape))
        bore_mm = std::max(bore_mm, hole->diameter.middle_mm());
      if (const auto* outer = std::get_if<OuterDiameter>(&feature->shape))
        outside_mm = std::min(outside_mm, outer->diameter.middle_mm());
    }
  }
  return bore_mm > kThinRing * outside_mm;
}

}  // namespace

void OrderInLathe(const Part& part, Setup& setup) {
  if (!HasTailstock(setup)) {
    const auto begin = std::find_if(setup.steps.begin(), setup.steps.end(), IsOutside);
    const bool thin = LeavesThinRing(part, setup);
    std::vector<Step> first;
    std::vector<Step> then;
    for (auto step = begin; step != setup.steps.end(); ++step) {
      const bool inside = thin ? Drills(*step) : RoughsInside(setup, *step);
      (inside ? first : then).push_back(*step);
    }
    std::move(then.begin(), then.end(), std::move(first.begin(), first.end(), begin));
  }
  std::stable_partition(setup.steps.begin(), setup.steps.end(), [](const Step& step) { return step.operation != Operation::kHone; });
}

}  // namespace fitwright::planner
