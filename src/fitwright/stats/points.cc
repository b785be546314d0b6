#include "fitwright/stats/points.h"

#include <utility>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

// The last counter word keeps these blocks apart from the ordinary draws of the same key.
constexpr std::uint32_t kPointsMark = 1;

PhiloxCounter PointBlock(std::uint64_t key, std::uint32_t i, std::uint32_t lane) {
  return Philox4x32({i, 0, lane, kPointsMark},
                    {static_cast<std::uint32_t>(key), static_cast<std::uint32_t>(key >> 32)});
}

std::uint64_t Word(std::uint32_t low, std::uint32_t high) {
  return static_cast<std::uint64_t>(high) << 32 | low;
}

}  // namespace

void FillLatinUniform(std::uint64_t key, std::span<double> out, std::uint32_t lane) {
  const auto n = static_cast<std::uint32_t>(out.size());
  FW_CHECK(n >= 1 && out.size() < 0xFFFFFFFFULL, out.size());
  for (std::uint32_t i = 0; i < n; ++i) {
    const PhiloxCounter block = PointBlock(key, i, lane);
    const double inside = (static_cast<double>(Word(block[0], block[1]) >> 12) + 0.5) * 0x1p-52;
    out[i] = (i + inside) / n;
    if (out[i] >= 1) out[i] = 1 - 0x1p-53;
    // Fisher and Yates from the front: value i goes to a place among the first i + 1.
    const std::uint64_t places = std::uint64_t{i} + 1;
    const auto place = static_cast<std::size_t>((Word(block[2], block[3]) >> 32) * places >> 32);
    std::swap(out[i], out[place]);
  }
}

void FillLatinNormal(std::uint64_t key, std::span<double> out, std::uint32_t lane) {
  FillLatinUniform(key, out, lane);
  for (double& value : out) value = InverseNormal(value);
}

std::vector<double> LatinUniform(std::uint64_t key, int n, std::uint32_t lane) {
  FW_CHECK(n >= 1, n);
  std::vector<double> column(static_cast<std::size_t>(n));
  FillLatinUniform(key, column, lane);
  return column;
}

std::vector<double> LatinNormal(std::uint64_t key, int n, std::uint32_t lane) {
  std::vector<double> column = LatinUniform(key, n, lane);
  for (double& value : column) value = InverseNormal(value);
  return column;
}

}  // namespace fitwright::stats
