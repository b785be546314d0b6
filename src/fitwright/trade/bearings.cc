#include "fitwright/trade/bearings.h"

#include <array>
#include <cmath>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

struct Boundary {
  double bore_mm;
  double outside_mm;
  double width_mm;
};

// ISO 15 (read in an open parts data set and an open table of bearings, which agree).
constexpr auto kBoundaries = std::to_array<Boundary>(
    {{3, 10, 4},   {4, 13, 5},   {5, 16, 5},   {6, 19, 6},   {7, 19, 6},   {7, 22, 7},
     {8, 22, 7},   {9, 24, 7},   {9, 26, 8},   {10, 19, 5},  {10, 22, 6},  {10, 26, 8},
     {10, 30, 9},  {10, 35, 11}, {12, 28, 8},  {12, 32, 10}, {12, 37, 12}, {15, 32, 9},
     {15, 35, 11}, {15, 42, 13}, {17, 35, 10}, {17, 40, 12}, {17, 47, 14}, {20, 42, 12},
     {20, 47, 14}, {20, 52, 15}, {25, 47, 12}, {25, 52, 15}, {30, 55, 13}, {30, 62, 16}});

struct Row {
  double to_mm;  // including
  double figure_mm;
};

// ISO 492 Normal class, mean bore and mean outside diameter (read in makers' fit tables).
constexpr auto kBoreLow = std::to_array<Row>(
    {{10, -0.008}, {18, -0.008}, {30, -0.010}, {50, -0.012}, {80, -0.015}, {120, -0.020}});
constexpr auto kOutsideLow = std::to_array<Row>({{18, -0.008},
                                                 {30, -0.009},
                                                 {50, -0.011},
                                                 {80, -0.013},
                                                 {120, -0.015},
                                                 {150, -0.018},
                                                 {180, -0.025},
                                                 {250, -0.030}});
// ISO 492 Normal class, width, for bores over 2.5 up to 50 mm (from memory).
constexpr double kWidthLow_mm = -0.12;
// ISO 5753-1 group N, greatest radial play by bore (from memory).
constexpr auto kRadialPlay =
    std::to_array<Row>({{10, 0.013}, {18, 0.018}, {30, 0.020}, {40, 0.020}});

template <std::size_t N>
constexpr double FigureAt(const std::array<Row, N>& rows, double size_mm) {
  for (const Row& row : rows) {
    if (size_mm <= row.to_mm) return row.figure_mm;
  }
  return rows.back().figure_mm;
}

constexpr std::size_t kCount = kBoundaries.size();

constexpr std::array<Bearing, kCount> MakeRows() {
  std::array<Bearing, kCount> rows{};
  for (std::size_t i = 0; i < kCount; ++i) {
    const Boundary& b = kBoundaries[i];
    rows[i] = {b.bore_mm,
               b.outside_mm,
               b.width_mm,
               FigureAt(kBoreLow, b.bore_mm),
               FigureAt(kOutsideLow, b.outside_mm),
               kWidthLow_mm,
               FigureAt(kRadialPlay, b.bore_mm)};
  }
  return rows;
}
constexpr std::array<Bearing, kCount> kRows = MakeRows();

}  // namespace

std::span<const Bearing> Bearings() { return kRows; }

const Bearing* FindBearing(double bore_mm, double outside_mm, double width_mm) {
  constexpr double kSame_mm = 1e-6;
  for (const Bearing& row : kRows) {
    if (std::fabs(row.bore_mm - bore_mm) < kSame_mm &&
        std::fabs(row.outside_mm - outside_mm) < kSame_mm &&
        std::fabs(row.width_mm - width_mm) < kSame_mm) {
      return &row;
    }
  }
  return nullptr;
}

Result<double> NormalBoreLow_mm(double bore_mm) {
  constexpr double kOver_mm = 2.5;
  if (auto fault = RangeFault(bore_mm, kOver_mm, kBoreLow.back().to_mm, "a bearing's bore")) {
    return Unexpected(*std::move(fault));
  }
  return FigureAt(kBoreLow, bore_mm);
}

Result<double> NormalOutsideLow_mm(double outside_mm) {
  constexpr double kOver_mm = 6;
  if (auto fault =
          RangeFault(outside_mm, kOver_mm, kOutsideLow.back().to_mm, "a bearing's outside")) {
    return Unexpected(*std::move(fault));
  }
  return FigureAt(kOutsideLow, outside_mm);
}

Result<std::string_view> ShaftSeat(double bore_mm, ShaftLoad load) {
  constexpr double kTo_mm = 100;
  constexpr double kSmall_mm = 17;
  if (auto fault = RangeFault(bore_mm, 0, kTo_mm, "a bearing's seat on a shaft")) {
    return Unexpected(*std::move(fault));
  }
  switch (load) {
    case ShaftLoad::kStillMustSlide:
      return std::string_view("g6");
    case ShaftLoad::kStill:
      return std::string_view("h6");
    case ShaftLoad::kLight:
      return std::string_view("j6");
    case ShaftLoad::kNormal:
      break;
  }
  return std::string_view(bore_mm <= kSmall_mm ? "j5" : "k5");
}

std::string_view HousingSeat(HousingLoad load) {
  switch (load) {
    case HousingLoad::kStillSlides:
      return "H7";
    case HousingLoad::kStillUsuallySlides:
      return "J7";
    case HousingLoad::kUndecided:
      return "K7";
    case HousingLoad::kTurning:
      break;
  }
  return "N7";
}

}  // namespace fitwright::trade
