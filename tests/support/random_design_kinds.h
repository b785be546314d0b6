// The two families of designs to be read back; internal to random_design.cc.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "tests/support/dice.h"
#include "tests/support/sheet_writer.h"

namespace fitwright::testing {

// The box round a feature, far out where its tool comes from.
struct Room {
  std::array<double, 3> min{};
  std::array<double, 3> max{};
};

// Rooms taken so far. Apart: a new one misses all by a gap. Crowded: it may lie over others, but
// neither inside one nor round one.
class Rooms {
 public:
  explicit Rooms(bool crowded) : crowded_(crowded) {}
  // must_meet: only where it lies over another one.
  bool Fits(const Room& room, bool must_meet) const;
  bool IsFree(const Room& room) const;  // misses all by a gap
  void Take(const Room& room, bool alone = false) { (alone ? alone_ : taken_).push_back(room); }
  bool crowded() const { return crowded_; }
  bool empty() const { return taken_.empty() && alone_.empty(); }

 private:
  bool crowded_;
  std::vector<Room> taken_;
  std::vector<Room> alone_;
};

// Each returns how many features it wrote.
int AddBlockDesign(Dice& dice, SheetWriter& sheet, const std::array<double, 3>& size, bool crowded,
                   int most);
int AddTurnedDesign(Dice& dice, SheetWriter& sheet, bool crowded, int most);

}  // namespace fitwright::testing
