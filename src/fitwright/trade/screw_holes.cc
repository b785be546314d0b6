#include "fitwright/trade/screw_holes.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

// Size of the screw, then hole close, normal, loose.
struct HoleRow {
  double size;
  double hole[3];
};

// ISO 273:1979, fine, medium, coarse, mm. M1.6 to M24 checked against tests/reference/fasteners.h
// (from memory there too, M1.6 to M10 and M20 up read); the others from memory.
constexpr auto kMetric_mm = std::to_array<HoleRow>({
    {1, {1.1, 1.2, 1.3}},     {1.2, {1.3, 1.4, 1.5}},   {1.4, {1.5, 1.6, 1.8}},
    {1.6, {1.7, 1.8, 2.0}},   {2, {2.2, 2.4, 2.6}},     {2.5, {2.7, 2.9, 3.1}},
    {3, {3.2, 3.4, 3.6}},     {3.5, {3.7, 3.9, 4.2}},   {4, {4.3, 4.5, 4.8}},
    {4.5, {4.8, 5.0, 5.3}},   {5, {5.3, 5.5, 5.8}},     {6, {6.4, 6.6, 7.0}},
    {7, {7.4, 7.6, 8.0}},     {8, {8.4, 9.0, 10.0}},    {10, {10.5, 11.0, 12.0}},
    {12, {13.0, 13.5, 14.5}}, {14, {15.0, 15.5, 16.5}}, {16, {17.0, 17.5, 18.5}},
    {18, {19, 20, 21}},       {20, {21, 22, 24}},       {22, {23, 24, 26}},
    {24, {25, 26, 28}},       {27, {28, 30, 32}},       {30, {31, 33, 35}},
    {33, {34, 36, 38}},       {36, {37, 39, 42}},
});

// ASME B18.2.8-1999, close, normal, loose, inch: number, letter and 64th drills, printed to 0.001.
// From memory.
constexpr auto kUnified_in = std::to_array<HoleRow>({
    {0.060, {0.067, 0.076, 0.094}},
    {0.073, {0.081, 0.089, 0.104}},
    {0.086, {0.094, 0.102, 0.116}},
    {0.099, {0.106, 0.116, 0.128}},
    {0.112, {0.120, 0.128, 0.144}},
    {0.125, {0.141, 0.156, 0.172}},
    {0.138, {0.154, 0.170, 0.185}},
    {0.164, {0.180, 0.196, 0.213}},
    {0.190, {0.206, 0.221, 0.238}},
    {0.250, {0.266, 0.281, 0.297}},
    {0.3125, {0.328, 0.344, 0.359}},
    {0.375, {0.391, 0.406, 0.422}},
    {0.4375, {0.453, 0.469, 0.484}},
    {0.500, {0.531, 0.562, 0.609}},
    {0.625, {0.656, 0.688, 0.734}},
    {0.750, {0.781, 0.812, 0.906}},
    {0.875, {0.906, 0.938, 1.031}},
    {1.000, {1.031, 1.094, 1.156}},
});

constexpr double kSame = 1e-6;

const HoleRow* FindRow(std::span<const HoleRow> rows, double size) {
  for (const HoleRow& row : rows) {
    if (std::abs(row.size - size) < kSame) return &row;
  }
  return nullptr;
}

}  // namespace

Result<double> ClearanceHole_mm(const ThreadRow& row, ClearanceFit fit) {
  const auto column = static_cast<std::size_t>(fit);
  if (IsMetric(row.series)) {
    const HoleRow* found = FindRow(kMetric_mm, row.major_mm);
    if (found != nullptr) return found->hole[column];
  }
  if (IsUnified(row.series)) {
    const HoleRow* found = FindRow(kUnified_in, row.major_mm / kMmPerInch);
    if (found != nullptr) return found->hole[column] * kMmPerInch;
  }
  return Unexpected(Error{ErrorCode::kOutOfRange,
                          "no standard clearance hole is known for it",
                          std::string(row.designation),
                          "known: M1 to M36 (ISO 273), #0 to 1 in unified (ASME B18.2.8); else "
                          "drill over the screw's greatest outside by eye",
                          {}});
}

}  // namespace fitwright::trade
