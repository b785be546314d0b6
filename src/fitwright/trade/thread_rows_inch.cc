#include <array>

#include "fitwright/trade/threads.h"
#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

using Series = ThreadSeries;

constexpr ThreadRow Inch(std::string_view designation, Series series, double major_in,
                         double per_inch, double drill_in) {
  return {designation,           series,  major_in * kMmPerInch, kMmPerInch / per_inch,
          drill_in * kMmPerInch, per_inch};
}

// The British series keep metric tap drills.
constexpr ThreadRow Whitworth(std::string_view designation, Series series, double major_in,
                              double per_inch, double drill_mm) {
  return {designation, series, major_in * kMmPerInch, kMmPerInch / per_inch, drill_mm, per_inch};
}

// ASME B1.1-2003, unified inch threads.
//   size, threads to the inch   UNC and UNF read (tests/reference/threads.h), UNEF from memory
//   tap drill, inch             common practice: about three quarters of a thread by the 3/4 H rule
//                               (tap_drills.h); each lies in the limits of the minor diameter,
//                               class 2B, but for 9/16-18 and 5/8-18, whose drill is 0.0006 and
//                               0.0001 in over. The comment names the drill. No inch drill lies in
//                               the limits of 9/16-24, 5/8-24 and 11/16-24: metric ones do.
// Left out: UNEF under 1/4 in and over 1 in, the constant-pitch series and UNS.
// clang-format off
constexpr auto kUnifiedRows = std::to_array<ThreadRow>({
    Inch("#1-64 UNC", Series::kUnc, 0.073, 64, 0.0595),  // #53
    Inch("#2-56 UNC", Series::kUnc, 0.086, 56, 0.07),  // #50
    Inch("#3-48 UNC", Series::kUnc, 0.099, 48, 0.0785),  // #47
    Inch("#4-40 UNC", Series::kUnc, 0.112, 40, 0.089),  // #43
    Inch("#5-40 UNC", Series::kUnc, 0.125, 40, 0.1015),  // #38
    Inch("#6-32 UNC", Series::kUnc, 0.138, 32, 0.1065),  // #36
    Inch("#8-32 UNC", Series::kUnc, 0.164, 32, 0.136),  // #29
    Inch("#10-24 UNC", Series::kUnc, 0.19, 24, 0.1495),  // #25
    Inch("#12-24 UNC", Series::kUnc, 0.216, 24, 0.177),  // #16
    Inch("1/4-20 UNC", Series::kUnc, 1.0 / 4, 20, 0.201),  // #7
    Inch("5/16-18 UNC", Series::kUnc, 5.0 / 16, 18, 0.257),  // F
    Inch("3/8-16 UNC", Series::kUnc, 3.0 / 8, 16, 5.0 / 16),  // 5/16
    Inch("7/16-14 UNC", Series::kUnc, 7.0 / 16, 14, 0.368),  // U
    Inch("1/2-13 UNC", Series::kUnc, 1.0 / 2, 13, 27.0 / 64),  // 27/64
    Inch("9/16-12 UNC", Series::kUnc, 9.0 / 16, 12, 31.0 / 64),  // 31/64
    Inch("5/8-11 UNC", Series::kUnc, 5.0 / 8, 11, 17.0 / 32),  // 17/32
    Inch("3/4-10 UNC", Series::kUnc, 3.0 / 4, 10, 21.0 / 32),  // 21/32
    Inch("7/8-9 UNC", Series::kUnc, 7.0 / 8, 9, 49.0 / 64),  // 49/64
    Inch("1-8 UNC", Series::kUnc, 1, 8, 7.0 / 8),  // 7/8
    Inch("#0-80 UNF", Series::kUnf, 0.06, 80, 3.0 / 64),  // 3/64
    Inch("#1-72 UNF", Series::kUnf, 0.073, 72, 0.0595),  // #53
    Inch("#2-64 UNF", Series::kUnf, 0.086, 64, 0.07),  // #50
    Inch("#3-56 UNF", Series::kUnf, 0.099, 56, 0.082),  // #45
    Inch("#4-48 UNF", Series::kUnf, 0.112, 48, 0.0935),  // #42
    Inch("#5-44 UNF", Series::kUnf, 0.125, 44, 0.104),  // #37
    Inch("#6-40 UNF", Series::kUnf, 0.138, 40, 0.113),  // #33
    Inch("#8-36 UNF", Series::kUnf, 0.164, 36, 0.136),  // #29
    Inch("#10-32 UNF", Series::kUnf, 0.19, 32, 0.159),  // #21
    Inch("#12-28 UNF", Series::kUnf, 0.216, 28, 0.182),  // #14
    Inch("1/4-28 UNF", Series::kUnf, 1.0 / 4, 28, 0.213),  // #3
    Inch("5/16-24 UNF", Series::kUnf, 5.0 / 16, 24, 0.272),  // I
    Inch("3/8-24 UNF", Series::kUnf, 3.0 / 8, 24, 0.332),  // Q
    Inch("7/16-20 UNF", Series::kUnf, 7.0 / 16, 20, 25.0 / 64),  // 25/64
    Inch("1/2-20 UNF", Series::kUnf, 1.0 / 2, 20, 29.0 / 64),  // 29/64
    Inch("9/16-18 UNF", Series::kUnf, 9.0 / 16, 18, 33.0 / 64),  // 33/64
    Inch("5/8-18 UNF", Series::kUnf, 5.0 / 8, 18, 37.0 / 64),  // 37/64
    Inch("3/4-16 UNF", Series::kUnf, 3.0 / 4, 16, 11.0 / 16),  // 11/16
    Inch("7/8-14 UNF", Series::kUnf, 7.0 / 8, 14, 13.0 / 16),  // 13/16
    Inch("1-12 UNF", Series::kUnf, 1, 12, 59.0 / 64),  // 59/64
    Inch("1/4-32 UNEF", Series::kUnef, 1.0 / 4, 32, 7.0 / 32),  // 7/32
    Inch("5/16-32 UNEF", Series::kUnef, 5.0 / 16, 32, 9.0 / 32),  // 9/32
    Inch("3/8-32 UNEF", Series::kUnef, 3.0 / 8, 32, 11.0 / 32),  // 11/32
    Inch("7/16-28 UNEF", Series::kUnef, 7.0 / 16, 28, 0.404),  // Y
    Inch("1/2-28 UNEF", Series::kUnef, 1.0 / 2, 28, 15.0 / 32),  // 15/32
    Inch("9/16-24 UNEF", Series::kUnef, 9.0 / 16, 24, 13.25 / kMmPerInch),  // 13.25 mm
    Inch("5/8-24 UNEF", Series::kUnef, 5.0 / 8, 24, 14.75 / kMmPerInch),  // 14.75 mm
    Inch("11/16-24 UNEF", Series::kUnef, 11.0 / 16, 24, 16.5 / kMmPerInch),  // 16.5 mm
    Inch("3/4-20 UNEF", Series::kUnef, 3.0 / 4, 20, 45.0 / 64),  // 45/64
    Inch("13/16-20 UNEF", Series::kUnef, 13.0 / 16, 20, 49.0 / 64),  // 49/64
    Inch("7/8-20 UNEF", Series::kUnef, 7.0 / 8, 20, 53.0 / 64),  // 53/64
    Inch("15/16-20 UNEF", Series::kUnef, 15.0 / 16, 20, 57.0 / 64),  // 57/64
    Inch("1-20 UNEF", Series::kUnef, 1, 20, 61.0 / 64),  // 61/64
});

// BS 93:1951, British Association, 47.5 degrees: pitch 0.9^n mm rounded to 0.01, major 6 p^1.2 of the
// unrounded p, rounded
// to two figures; read, and recomputed by a test. Tap drills: common practice, in the limits of the
// nut's minor diameter.
constexpr auto kBaRows = std::to_array<ThreadRow>({
    {"0 BA", Series::kBa, 6, 1, 5.1},
    {"1 BA", Series::kBa, 5.3, 0.9, 4.5},
    {"2 BA", Series::kBa, 4.7, 0.81, 4},
    {"3 BA", Series::kBa, 4.1, 0.73, 3.4},
    {"4 BA", Series::kBa, 3.6, 0.66, 3},
    {"5 BA", Series::kBa, 3.2, 0.59, 2.65},
    {"6 BA", Series::kBa, 2.8, 0.53, 2.3},
    {"7 BA", Series::kBa, 2.5, 0.48, 2.05},
    {"8 BA", Series::kBa, 2.2, 0.43, 1.8},
    {"9 BA", Series::kBa, 1.9, 0.39, 1.55},
    {"10 BA", Series::kBa, 1.7, 0.35, 1.4},
    {"11 BA", Series::kBa, 1.5, 0.31, 1.2},
    {"12 BA", Series::kBa, 1.3, 0.28, 1.05},
    {"13 BA", Series::kBa, 1.2, 0.25, 0.95},
    {"14 BA", Series::kBa, 1, 0.23, 0.8},
    {"15 BA", Series::kBa, 0.9, 0.21, 0.7},
    {"16 BA", Series::kBa, 0.79, 0.19, 0.6},
});

// 55 degrees. Sizes and threads to the inch of BSW and BSF: BS 84, from memory. The model maker's 40
// and 32 to the inch: common practice; no standard gives limits. Tap drills: the metric drill near
// four fifths of the full depth, common practice.
constexpr auto kWhitworthRows = std::to_array<ThreadRow>({
    Whitworth("1/8-40 BSW", Series::kBsw, 1.0 / 8, 40, 2.55),
    Whitworth("3/16-24 BSW", Series::kBsw, 3.0 / 16, 24, 3.7),
    Whitworth("1/4-20 BSW", Series::kBsw, 1.0 / 4, 20, 5.1),
    Whitworth("5/16-18 BSW", Series::kBsw, 5.0 / 16, 18, 6.5),
    Whitworth("3/8-16 BSW", Series::kBsw, 3.0 / 8, 16, 7.9),
    Whitworth("7/16-14 BSW", Series::kBsw, 7.0 / 16, 14, 9.25),
    Whitworth("1/2-12 BSW", Series::kBsw, 1.0 / 2, 12, 10.5),
    Whitworth("5/8-11 BSW", Series::kBsw, 5.0 / 8, 11, 13.5),
    Whitworth("3/4-10 BSW", Series::kBsw, 3.0 / 4, 10, 16.5),
    Whitworth("7/8-9 BSW", Series::kBsw, 7.0 / 8, 9, 19.5),
    Whitworth("1-8 BSW", Series::kBsw, 1, 8, 22),
    Whitworth("3/16-32 BSF", Series::kBsf, 3.0 / 16, 32, 4),
    Whitworth("1/4-26 BSF", Series::kBsf, 1.0 / 4, 26, 5.3),
    Whitworth("5/16-22 BSF", Series::kBsf, 5.0 / 16, 22, 6.8),
    Whitworth("3/8-20 BSF", Series::kBsf, 3.0 / 8, 20, 8.3),
    Whitworth("7/16-18 BSF", Series::kBsf, 7.0 / 16, 18, 9.7),
    Whitworth("1/2-16 BSF", Series::kBsf, 1.0 / 2, 16, 11.1),
    Whitworth("5/8-14 BSF", Series::kBsf, 5.0 / 8, 14, 14),
    Whitworth("3/4-12 BSF", Series::kBsf, 3.0 / 4, 12, 17),
    Whitworth("7/8-11 BSF", Series::kBsf, 7.0 / 8, 11, 20),
    Whitworth("1-10 BSF", Series::kBsf, 1, 10, 23),
    Whitworth("1/8x40 ME", Series::kModel, 1.0 / 8, 40, 2.5),
    Whitworth("5/32x40 ME", Series::kModel, 5.0 / 32, 40, 3.3),
    Whitworth("3/16x40 ME", Series::kModel, 3.0 / 16, 40, 4.1),
    Whitworth("7/32x40 ME", Series::kModel, 7.0 / 32, 40, 4.9),
    Whitworth("1/4x40 ME", Series::kModel, 1.0 / 4, 40, 5.7),
    Whitworth("9/32x40 ME", Series::kModel, 9.0 / 32, 40, 6.5),
    Whitworth("5/16x40 ME", Series::kModel, 5.0 / 16, 40, 7.3),
    Whitworth("3/8x40 ME", Series::kModel, 3.0 / 8, 40, 8.9),
    Whitworth("7/16x40 ME", Series::kModel, 7.0 / 16, 40, 10.5),
    Whitworth("1/2x40 ME", Series::kModel, 1.0 / 2, 40, 12),
    Whitworth("1/4x32 ME", Series::kModel, 1.0 / 4, 32, 5.5),
    Whitworth("9/32x32 ME", Series::kModel, 9.0 / 32, 32, 6.3),
    Whitworth("5/16x32 ME", Series::kModel, 5.0 / 16, 32, 7.1),
    Whitworth("3/8x32 ME", Series::kModel, 3.0 / 8, 32, 8.7),
    Whitworth("7/16x32 ME", Series::kModel, 7.0 / 16, 32, 10.3),
    Whitworth("1/2x32 ME", Series::kModel, 1.0 / 2, 32, 11.9),
});

// ISO 228-1:2000, parallel pipe threads: majors and threads to the inch, from memory; G1/8 and G1/4
// also read. Tap drills: common practice, in the limits of the internal minor diameter.
constexpr auto kPipeRows = std::to_array<ThreadRow>({
    {"G1/16", Series::kPipe, 7.723, kMmPerInch / 28, 6.8, 28},
    {"G1/8", Series::kPipe, 9.728, kMmPerInch / 28, 8.8, 28},
    {"G1/4", Series::kPipe, 13.157, kMmPerInch / 19, 11.8, 19},
    {"G3/8", Series::kPipe, 16.662, kMmPerInch / 19, 15.25, 19},
    {"G1/2", Series::kPipe, 20.955, kMmPerInch / 14, 19, 14},
});
// clang-format on

}  // namespace

std::span<const ThreadRow> UnifiedThreads() { return kUnifiedRows; }
std::span<const ThreadRow> BaThreads() { return kBaRows; }
std::span<const ThreadRow> WhitworthThreads() { return kWhitworthRows; }
std::span<const ThreadRow> PipeThreads() { return kPipeRows; }

}  // namespace fitwright::trade
