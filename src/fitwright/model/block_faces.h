// The faces every block has, with the names that they carry until a sheet gives them others.
#pragma once

#include <array>
#include <string_view>

#include "fitwright/units/geometry.h"

namespace fitwright {

struct BlockFace {
  std::string_view name;
  std::string_view side;  // "+z"
  Vec3 normal() const { return (side[0] == '+' ? 1.0 : -1.0) * Vec3::Unit(side[1] - 'x'); }
};
inline constexpr auto kBlockFaces = std::to_array<BlockFace>({{"top", "+z"},
                                                              {"bottom", "-z"},
                                                              {"front", "+x"},
                                                              {"rear", "-x"},
                                                              {"left", "+y"},
                                                              {"right", "-y"}});

}  // namespace fitwright
