#include "fitwright/trade/stock_lists.h"

#include <array>

#include "fitwright/trade/stock.h"

namespace fitwright::trade {
namespace {

constexpr double kSixteenth_mm = 25.4 / 16;

template <std::size_t N>
constexpr std::array<double, N> Sixteenths_mm(const int (&sixteenths)[N]) {
  std::array<double, N> sizes{};
  for (std::size_t i = 0; i < N; ++i) sizes[i] = sixteenths[i] * kSixteenth_mm;
  return sizes;
}

// Opinion, as all of these: what merchants for small shops usually keep. Hexagons are the across
// flats of ISO 272 nuts and screws that bar is drawn in.
constexpr auto kHexagons_mm =
    std::to_array<double>({3,  4,  5,  5.5, 6,  7,  8,  10, 11, 12, 13, 14, 15,
                           16, 17, 18, 19,  21, 22, 24, 27, 30, 32, 36, 41});
constexpr auto kPlates_mm =
    std::to_array<double>({1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 40, 50});

constexpr auto kRoundsInch_mm =
    Sixteenths_mm({1,  2,  3,  4,  5,  6,  7,  8,  9,  10, 11, 12, 13, 14, 15, 16, 18,
                   20, 22, 24, 26, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80});
constexpr auto kSquaresInch_mm =
    Sixteenths_mm({2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 28, 32, 40, 48});
constexpr auto kHexagonsInch_mm =
    Sixteenths_mm({3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 18, 20, 22, 24});
constexpr auto kFlatThicknessesInch_mm =
    Sixteenths_mm({1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32});
constexpr auto kFlatWidthsInch_mm =
    Sixteenths_mm({6, 8, 10, 12, 14, 16, 20, 24, 28, 32, 40, 48, 56, 64, 80, 96});
constexpr auto kPlatesInch_mm = Sixteenths_mm({1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32});

constexpr auto kTubes_mm = std::to_array<TubeSize>(
    {{6, 1},  {8, 1},  {10, 1}, {10, 2}, {12, 1}, {12, 2}, {15, 1}, {15, 2}, {16, 2},
     {20, 2}, {20, 3}, {22, 1}, {25, 2}, {25, 3}, {28, 1}, {30, 2}, {30, 3}, {30, 5},
     {35, 2}, {40, 2}, {40, 5}, {50, 3}, {50, 5}, {60, 3}, {60, 5}, {80, 5}, {100, 5}});

// From memory. All but silver steel were taken into EN 10278, which lets the buyer order a class.
constexpr auto kTolerances = std::to_array<BarTolerance>({{"bright round", "DIN 668", "h11"},
                                                          {"bright round, close", "DIN 671", "h9"},
                                                          {"shafting", "DIN 669", "h9"},
                                                          {"bright round, closer", "DIN 670", "h8"},
                                                          {"bright square", "DIN 178", "h11"},
                                                          {"bright hexagon", "DIN 176", "h11"},
                                                          {"bright flat", "DIN 174", "h11"},
                                                          {"silver steel", "DIN 175", "h9"}});

constexpr double kSlack_mm = 1e-9;

std::span<const double> Metric(StockShape shape) {
  switch (shape) {
    case StockShape::kRound:
      return RoundBars_mm();
    case StockShape::kSquare:
      return SquareBars_mm();
    case StockShape::kHexagon:
      return kHexagons_mm;
    case StockShape::kFlatThickness:
      return FlatThicknesses_mm();
    case StockShape::kFlatWidth:
      return FlatWidths_mm();
    case StockShape::kPlate:
      break;
  }
  return kPlates_mm;
}

std::span<const double> Inch(StockShape shape) {
  switch (shape) {
    case StockShape::kRound:
      return kRoundsInch_mm;
    case StockShape::kSquare:
      return kSquaresInch_mm;
    case StockShape::kHexagon:
      return kHexagonsInch_mm;
    case StockShape::kFlatThickness:
      return kFlatThicknessesInch_mm;
    case StockShape::kFlatWidth:
      return kFlatWidthsInch_mm;
    case StockShape::kPlate:
      break;
  }
  return kPlatesInch_mm;
}

}  // namespace

std::span<const double> StockSizes_mm(StockShape shape, StockSystem system) {
  return system == StockSystem::kMetric ? Metric(shape) : Inch(shape);
}

std::optional<double> NextStock_mm(StockShape shape, StockSystem system, double at_least_mm) {
  for (const double size : StockSizes_mm(shape, system)) {
    if (size >= at_least_mm - kSlack_mm) return size;
  }
  return std::nullopt;
}

std::span<const TubeSize> Tubes_mm() { return kTubes_mm; }
std::span<const BarTolerance> BarTolerances() { return kTolerances; }

}  // namespace fitwright::trade
