// Words to offer when one was not found.
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

namespace fitwright::trade {

// Letters to insert, delete, replace or swap with the neighbour, without regard to case.
std::size_t EditDistance(std::string_view a, std::string_view b);
// The `count` words of `known` nearest to `word`, nearest first, ties in the order given.
std::vector<std::string_view> NearestWords(std::string_view word,
                                           const std::vector<std::string_view>& known,
                                           std::size_t count);

}  // namespace fitwright::trade
