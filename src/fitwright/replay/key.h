// Keys of remembered results: a hash of all that the result depends on.
#pragma once

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/units/geometry.h"

namespace fitwright::replay {

struct Key {
  std::uint64_t high = 0;
  std::uint64_t low = 0;
  friend auto operator<=>(const Key&, const Key&) = default;
  std::string Hex() const;  // 32 digits
};

// Collects bytes in a fixed order; equal values give equal bytes, -0 counts as 0.
class KeyMaker {
 public:
  KeyMaker& Add(std::string_view text);
  KeyMaker& Add(const char* text) { return Add(std::string_view(text)); }
  KeyMaker& Add(double number);
  KeyMaker& Add(std::int64_t number);
  KeyMaker& Add(int number) { return Add(static_cast<std::int64_t>(number)); }
  KeyMaker& Add(bool flag) { return Add(static_cast<std::int64_t>(flag)); }
  KeyMaker& Add(const Vec3& v);
  KeyMaker& Add(const Pose& pose);
  KeyMaker& Add(const Key& key);
  KeyMaker& Add(const Stock& stock);
  KeyMaker& Add(const MachineTool& machine);
  KeyMaker& Add(const HoldingDevice& device);
  KeyMaker& Add(const Tool& tool);
  KeyMaker& Add(const FixtureSolid& fixture);
  Key Get() const;

 private:
  std::string bytes_;
};

}  // namespace fitwright::replay
