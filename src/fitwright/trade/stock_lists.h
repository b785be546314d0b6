// Stock as sold beyond the metric bars of stock.h: hexagons, tube and plate, and the inch lists;
// the tolerances of bright bar. Usual merchants' lists (opinion); what one's own merchant keeps
// differs.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "fitwright/base/words.h"

namespace fitwright::trade {

enum class StockShape { kRound, kSquare, kHexagon, kFlatThickness, kFlatWidth, kPlate };
enum class StockSystem { kMetric, kInch };

// Diameters, sides, across flats, thicknesses or widths, mm, ascending; inch sizes are exact
// multiples of 1/16 in.
std::span<const double> StockSizes_mm(StockShape shape, StockSystem system);
// Smallest of the list not under the size; none over the greatest.
std::optional<double> NextStock_mm(StockShape shape, StockSystem system, double at_least_mm);

struct TubeSize {
  double outside_mm = 0;
  double wall_mm = 0;
};
std::span<const TubeSize> Tubes_mm();

// Tolerance classes of ISO 286 that bright steel bar is sold to, with the standard it was drawn to.
struct BarTolerance {
  std::string_view bar;
  std::string_view standard;
  std::string_view fit;  // of the diameter, the side or across the flats
};
std::span<const BarTolerance> BarTolerances();

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::StockShape> {
  using S = trade::StockShape;
  static constexpr auto kAll = std::to_array<Word<S>>({{S::kRound, "round"},
                                                       {S::kSquare, "square"},
                                                       {S::kHexagon, "hexagon"},
                                                       {S::kFlatThickness, "flat_thickness"},
                                                       {S::kFlatWidth, "flat_width"},
                                                       {S::kPlate, "plate"}});
};
template <>
struct WordsOf<trade::StockSystem> {
  using S = trade::StockSystem;
  static constexpr auto kAll = std::to_array<Word<S>>({{S::kMetric, "metric"}, {S::kInch, "inch"}});
};
}  // namespace fitwright
