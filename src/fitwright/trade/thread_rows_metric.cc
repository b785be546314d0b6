#include <array>

#include "fitwright/trade/threads.h"

namespace fitwright::trade {
namespace {

using Series = ThreadSeries;

// Columns, by standard and how come by:
//   size, pitch   ISO 261:1998, all first and second choices of the coarse series to M36, and the
//   fine
//                 pitches in use; from memory; M1.6 to M24 coarse also in the tables of
//                 tests/reference/threads.h
//   tap drill     ISO 2306:1972, from memory (M2 to M12 coarse also read). It is size less pitch,
//   but
//                 0.05 more or less where that is no drill: 0.8 off the size for a pitch of
//                 0.75, 1.2 for 1.25. Every one lies in the limits of the minor diameter, class 6H
//                 or finest.
// Left out: constant-pitch sizes over M36, M3.5x0.35, M5.5x0.5, M6x0.5 and whatever ISO 261 puts in
// brackets for special uses, because they are not sure from memory or not on sale.
// clang-format off
constexpr auto kRows = std::to_array<ThreadRow>({
    {"M1", Series::kIsoCoarse, 1, 0.25, 0.75},
    {"M1.1", Series::kIsoCoarse, 1.1, 0.25, 0.85},
    {"M1.2", Series::kIsoCoarse, 1.2, 0.25, 0.95},
    {"M1.4", Series::kIsoCoarse, 1.4, 0.3, 1.1},
    {"M1.6", Series::kIsoCoarse, 1.6, 0.35, 1.25},
    {"M1.8", Series::kIsoCoarse, 1.8, 0.35, 1.45},
    {"M2", Series::kIsoCoarse, 2, 0.4, 1.6},
    {"M2.2", Series::kIsoCoarse, 2.2, 0.45, 1.75},
    {"M2.5", Series::kIsoCoarse, 2.5, 0.45, 2.05},
    {"M3", Series::kIsoCoarse, 3, 0.5, 2.5},
    {"M3.5", Series::kIsoCoarse, 3.5, 0.6, 2.9},
    {"M4", Series::kIsoCoarse, 4, 0.7, 3.3},
    {"M4.5", Series::kIsoCoarse, 4.5, 0.75, 3.7},
    {"M5", Series::kIsoCoarse, 5, 0.8, 4.2},
    {"M6", Series::kIsoCoarse, 6, 1, 5},
    {"M7", Series::kIsoCoarse, 7, 1, 6},
    {"M8", Series::kIsoCoarse, 8, 1.25, 6.8},
    {"M9", Series::kIsoCoarse, 9, 1.25, 7.8},
    {"M10", Series::kIsoCoarse, 10, 1.5, 8.5},
    {"M11", Series::kIsoCoarse, 11, 1.5, 9.5},
    {"M12", Series::kIsoCoarse, 12, 1.75, 10.2},
    {"M14", Series::kIsoCoarse, 14, 2, 12},
    {"M16", Series::kIsoCoarse, 16, 2, 14},
    {"M18", Series::kIsoCoarse, 18, 2.5, 15.5},
    {"M20", Series::kIsoCoarse, 20, 2.5, 17.5},
    {"M22", Series::kIsoCoarse, 22, 2.5, 19.5},
    {"M24", Series::kIsoCoarse, 24, 3, 21},
    {"M27", Series::kIsoCoarse, 27, 3, 24},
    {"M30", Series::kIsoCoarse, 30, 3.5, 26.5},
    {"M33", Series::kIsoCoarse, 33, 3.5, 29.5},
    {"M36", Series::kIsoCoarse, 36, 4, 32},
    {"M1.6x0.2", Series::kIsoFine, 1.6, 0.2, 1.4},
    {"M2x0.25", Series::kIsoFine, 2, 0.25, 1.75},
    {"M2.5x0.35", Series::kIsoFine, 2.5, 0.35, 2.15},
    {"M3x0.35", Series::kIsoFine, 3, 0.35, 2.65},
    {"M4x0.5", Series::kIsoFine, 4, 0.5, 3.5},
    {"M5x0.5", Series::kIsoFine, 5, 0.5, 4.5},
    {"M6x0.75", Series::kIsoFine, 6, 0.75, 5.2},
    {"M7x0.75", Series::kIsoFine, 7, 0.75, 6.2},
    {"M8x1", Series::kIsoFine, 8, 1, 7},
    {"M8x0.75", Series::kIsoFine, 8, 0.75, 7.2},
    {"M9x1", Series::kIsoFine, 9, 1, 8},
    {"M9x0.75", Series::kIsoFine, 9, 0.75, 8.2},
    {"M10x1.25", Series::kIsoFine, 10, 1.25, 8.8},
    {"M10x1", Series::kIsoFine, 10, 1, 9},
    {"M10x0.75", Series::kIsoFine, 10, 0.75, 9.2},
    {"M11x1", Series::kIsoFine, 11, 1, 10},
    {"M11x0.75", Series::kIsoFine, 11, 0.75, 10.2},
    {"M12x1.5", Series::kIsoFine, 12, 1.5, 10.5},
    {"M12x1.25", Series::kIsoFine, 12, 1.25, 10.8},
    {"M12x1", Series::kIsoFine, 12, 1, 11},
    {"M14x1.5", Series::kIsoFine, 14, 1.5, 12.5},
    {"M14x1.25", Series::kIsoFine, 14, 1.25, 12.8},
    {"M14x1", Series::kIsoFine, 14, 1, 13},
    {"M15x1.5", Series::kIsoFine, 15, 1.5, 13.5},
    {"M15x1", Series::kIsoFine, 15, 1, 14},
    {"M16x1.5", Series::kIsoFine, 16, 1.5, 14.5},
    {"M16x1", Series::kIsoFine, 16, 1, 15},
    {"M17x1.5", Series::kIsoFine, 17, 1.5, 15.5},
    {"M17x1", Series::kIsoFine, 17, 1, 16},
    {"M18x2", Series::kIsoFine, 18, 2, 16},
    {"M18x1.5", Series::kIsoFine, 18, 1.5, 16.5},
    {"M18x1", Series::kIsoFine, 18, 1, 17},
    {"M20x2", Series::kIsoFine, 20, 2, 18},
    {"M20x1.5", Series::kIsoFine, 20, 1.5, 18.5},
    {"M20x1", Series::kIsoFine, 20, 1, 19},
    {"M22x2", Series::kIsoFine, 22, 2, 20},
    {"M22x1.5", Series::kIsoFine, 22, 1.5, 20.5},
    {"M22x1", Series::kIsoFine, 22, 1, 21},
    {"M24x2", Series::kIsoFine, 24, 2, 22},
    {"M24x1.5", Series::kIsoFine, 24, 1.5, 22.5},
    {"M24x1", Series::kIsoFine, 24, 1, 23},
    {"M25x2", Series::kIsoFine, 25, 2, 23},
    {"M25x1.5", Series::kIsoFine, 25, 1.5, 23.5},
    {"M25x1", Series::kIsoFine, 25, 1, 24},
    {"M27x2", Series::kIsoFine, 27, 2, 25},
    {"M27x1.5", Series::kIsoFine, 27, 1.5, 25.5},
    {"M27x1", Series::kIsoFine, 27, 1, 26},
    {"M28x2", Series::kIsoFine, 28, 2, 26},
    {"M28x1.5", Series::kIsoFine, 28, 1.5, 26.5},
    {"M28x1", Series::kIsoFine, 28, 1, 27},
    {"M30x2", Series::kIsoFine, 30, 2, 28},
    {"M30x1.5", Series::kIsoFine, 30, 1.5, 28.5},
    {"M30x1", Series::kIsoFine, 30, 1, 29},
    {"M32x2", Series::kIsoFine, 32, 2, 30},
    {"M32x1.5", Series::kIsoFine, 32, 1.5, 30.5},
    {"M33x2", Series::kIsoFine, 33, 2, 31},
    {"M33x1.5", Series::kIsoFine, 33, 1.5, 31.5},
    {"M35x1.5", Series::kIsoFine, 35, 1.5, 33.5},
    {"M36x3", Series::kIsoFine, 36, 3, 33},
    {"M36x2", Series::kIsoFine, 36, 2, 34},
    {"M36x1.5", Series::kIsoFine, 36, 1.5, 34.5},
});
// clang-format on

}  // namespace

std::span<const ThreadRow> MetricThreads() { return kRows; }

}  // namespace fitwright::trade
