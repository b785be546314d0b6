#include "tests/support/random_design.h"

#include <algorithm>

#include "tests/support/random_design_kinds.h"

namespace fitwright::testing {
namespace {

constexpr double kGap_mm = 0.6;
// Two rooms that overlap by less do not meet for certain.
constexpr double kOverlap_mm = 0.4;
// What reaches out of another room by less may not show.
constexpr double kShows_mm = 0.1;

bool AreApart(const Room& a, const Room& b, double gap_mm) {
  for (std::size_t i = 0; i < 3; ++i) {
    if (a.max[i] + gap_mm <= b.min[i] || b.max[i] + gap_mm <= a.min[i]) return true;
  }
  return false;
}

bool Holds(const Room& outer, const Room& inner) {
  for (std::size_t i = 0; i < 3; ++i) {
    if (inner.min[i] < outer.min[i] - kShows_mm || inner.max[i] > outer.max[i] + kShows_mm)
      return false;
  }
  return true;
}

}  // namespace

bool Rooms::IsFree(const Room& room) const {
  const auto misses = [&](const Room& other) { return AreApart(room, other, kGap_mm); };
  return std::all_of(taken_.begin(), taken_.end(), misses) &&
         std::all_of(alone_.begin(), alone_.end(), misses);
}

bool Rooms::Fits(const Room& room, bool must_meet) const {
  if (!crowded_) return IsFree(room);
  const auto misses = [&](const Room& other) { return AreApart(room, other, kGap_mm); };
  if (!std::all_of(alone_.begin(), alone_.end(), misses)) return false;
  const auto clashes = [&](const Room& other) { return Holds(room, other) || Holds(other, room); };
  const auto meets = [&](const Room& other) { return !AreApart(room, other, -kOverlap_mm); };
  if (std::any_of(taken_.begin(), taken_.end(), clashes)) return false;
  return !must_meet || std::any_of(taken_.begin(), taken_.end(), meets);
}

RandomDesign MakeRandomDesign(std::uint64_t seed, const RandomDesignWish& wish) {
  Dice dice(seed + (wish.crowded ? 0x70000000ULL : 0x60000000ULL));
  RandomDesign made;
  made.name = fmt::format("{}_{}", wish.crowded ? "crowded" : "apart", seed);
  if (dice.Chance(0.5)) {
    const std::array<double, 3> size = {dice.In(40, 120, 1), dice.In(30, 90, 1),
                                        dice.In(12, 50, 1)};
    SheetWriter sheet("aluminium",
                      fmt::format("block = {{ x = [0, {:g}], y = [0, {:g}], z = [0, {:g}] }}",
                                  size[0], size[1], size[2]));
    made.features = AddBlockDesign(dice, sheet, size, wish.crowded, wish.most);
    made.sheet = sheet.text();
  } else {
    SheetWriter sheet("steel", "turned = { axis = \"+z\", through = [0, 0, 0] }");
    made.features = AddTurnedDesign(dice, sheet, wish.crowded, wish.most);
    made.sheet = sheet.text();
  }
  return made;
}

}  // namespace fitwright::testing
