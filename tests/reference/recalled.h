// Values of standards and handbooks recalled (from memory), each table headed by its standard. Not
// copied from the tables under test; where one of the files beside this has the value read, it
// stands there.
#pragma once

#include <array>
#include <string_view>

namespace fitwright::reference {

// ISO 286-2:2010, from memory, um.
struct RecalledFit {
  double nominal_mm;
  std::string_view klass;
  double lower_um, upper_um;
};
inline constexpr auto kRecalledFits = std::to_array<RecalledFit>({
    // Holes.
    {25, "K7", -15, 6},
    {25, "M7", -21, 0},
    {25, "N7", -28, -7},
    {25, "P7", -35, -14},
    {8, "K7", -10, 5},
    {8, "N9", -36, 0},
    {12, "P7", -29, -11},
    {40, "R7", -50, -25},
    {300, "M6", -41, -9},
    {2, "N9", -29, -4},
    {2, "K7", -10, 0},
    {2, "P7", -16, -6},
    {25, "M8", -29, 4},
    {5, "P9", -42, -12},
    {25, "JS7", -10.5, 10.5},
    {15, "F8", 16, 43},
    {20, "E9", 40, 92},
    {25, "D10", 65, 149},
    {30, "H9", 0, 52},
    {50, "H8", 0, 39},
    {60, "H7", 0, 30},
    {6, "H7", 0, 12},
    {3, "H7", 0, 10},
    {10, "F7", 13, 28},
    {40, "N7", -33, -8},
    {50, "JS9", -31, 31},
    {30, "P9", -74, -22},
    // Shafts.
    {25, "js6", -6.5, 6.5},
    {25, "u6", 48, 61},
    {10, "k5", 1, 7},
    {10, "j5", -2, 4},
    {20, "x6", 54, 67},
    {20, "k8", 0, 33},
    {6, "ef7", -26, -14},
    {10, "p6", 15, 24},
    {16, "h6", -11, 0},
    {30, "k6", 2, 15},
    {80, "m6", 11, 30},
    {6, "m6", 4, 12},
    {8, "n6", 10, 19},
    {100, "h9", -87, 0},
    {18, "f7", -34, -16},
    {14, "r6", 23, 34},
    {4, "h11", -75, 0},
    {12, "u6", 33, 44},
    {50, "t6", 54, 70},
});

// ISO 2768-1:1989, tables 1 to 3, from memory: plus and minus for classes f, m, c, v; 0 none.
struct RecalledGeneral {
  double size_mm;
  double f, m, c, v;
};
inline constexpr auto kRecalledLinear_mm = std::to_array<RecalledGeneral>({
    {2, 0.05, 0.1, 0.2, 0},
    {5, 0.05, 0.1, 0.3, 0.5},
    {20, 0.1, 0.2, 0.5, 1},
    {100, 0.15, 0.3, 0.8, 1.5},
    {300, 0.2, 0.5, 1.2, 2.5},
    {800, 0.3, 0.8, 2, 4},
    {1500, 0.5, 1.2, 3, 6},
    {3000, 0, 2, 4, 8},
});
inline constexpr auto kRecalledEdges_mm = std::to_array<RecalledGeneral>({
    {2, 0.2, 0.2, 0.4, 0.4},
    {5, 0.5, 0.5, 1, 1},
    {10, 1, 1, 2, 2},
});
inline constexpr auto kRecalledAngles_min = std::to_array<RecalledGeneral>({
    {8, 60, 60, 90, 180},
    {40, 30, 30, 60, 120},
    {100, 20, 20, 30, 60},
    {300, 10, 10, 15, 30},
    {500, 5, 5, 10, 20},
});

// ISO 965-2, from memory: other classes, the smallest sizes and fine pitches. mm; 0 not given.
struct RecalledThread {
  std::string_view size, klass;
  double major_or_minor_least_mm, major_or_minor_most_mm;  // major outside, minor inside
  double pitch_least_mm, pitch_most_mm;
};
inline constexpr auto kRecalledIsoLimits = std::to_array<RecalledThread>({
    {"M6", "6e", 5.76, 5.94, 0, 0},
    {"M6", "4h", 0, 0, 5.279, 5.35},
    {"M10", "6h", 0, 0, 8.894, 9.026},
    {"M8x1", "6g", 0, 0, 7.212, 7.324},
    {"M10x1", "6g", 9.794, 9.974, 0, 0},
    {"M12x1.5", "6g", 0, 0, 10.854, 10.994},
    {"M1.6", "6g", 1.496, 1.581, 0, 0},
    {"M2", "6H", 1.567, 1.679, 0, 0},
    {"M4", "6H", 3.242, 3.422, 0, 0},
    {"M5", "6H", 4.134, 4.334, 0, 0},
    {"M6", "7H", 4.917, 5.217, 0, 0},
    {"M6", "5H", 0, 0, 5.35, 5.468},
    {"M8x1", "6H", 6.917, 7.153, 0, 0},
    {"M10x1.25", "6H", 0, 0, 9.188, 9.348},
    {"M12", "6H", 10.106, 10.441, 0, 0},
    {"M24", "6H", 0, 0, 22.051, 22.316},
    {"M36", "6H", 31.67, 32.27, 0, 0},
    {"M1", "5H", 0.729, 0.785, 0, 0},
});

// ASME B1.1, UNEF: sizes and threads to the inch, from memory.
struct RecalledSeries {
  double major_in;
  double per_inch;
};
inline constexpr auto kRecalledUnef = std::to_array<RecalledSeries>({
    {0.25, 32},
    {0.3125, 32},
    {0.375, 32},
    {0.4375, 28},
    {0.5, 28},
    {0.5625, 24},
    {0.625, 24},
    {0.6875, 24},
    {0.75, 20},
    {0.8125, 20},
    {0.875, 20},
    {0.9375, 20},
    {1, 20},
});

// ISO 4032 nuts (across flats, greatest height, least across corners) and ISO 4014 heads (nominal
// height), from memory, mm.
struct RecalledNut {
  std::string_view size;
  double flats, height, corners, head_height;
};
inline constexpr auto kRecalledNuts = std::to_array<RecalledNut>({
    {"M3", 5.5, 2.4, 6.01, 2},
    {"M4", 7, 3.2, 7.66, 2.8},
    {"M5", 8, 4.7, 8.79, 3.5},
    {"M6", 10, 5.2, 11.05, 4},
    {"M8", 13, 6.8, 14.38, 5.3},
    {"M10", 16, 8.4, 17.77, 6.4},
    {"M12", 18, 10.8, 20.03, 7.5},
    {"M16", 24, 14.8, 26.75, 10},
    {"M20", 30, 18, 32.95, 12.5},
    {"M24", 36, 21.5, 39.55, 15},
});

// ISO 7380-1 button heads: greatest diameter and height, key; from memory, mm.
struct RecalledHead {
  std::string_view size;
  double diameter, height, key;
};
inline constexpr auto kRecalledButtons = std::to_array<RecalledHead>({
    {"M3", 5.7, 1.65, 2},
    {"M4", 7.6, 2.2, 2.5},
    {"M5", 9.5, 2.75, 3},
    {"M6", 10.5, 3.3, 4},
    {"M8", 14, 4.4, 5},
    {"M10", 17.5, 5.5, 6},
    {"M12", 21, 6.6, 8},
});

// ASME B18.3 socket head cap screws: greatest diameter of the head and key; from memory, inch.
inline constexpr auto kRecalledInchCaps = std::to_array<RecalledHead>({
    {"#0-80", 0.096, 0.060, 0.050},
    {"#2-56", 0.140, 0.086, 5.0 / 64},
    {"#4-40", 0.183, 0.112, 3.0 / 32},
    {"#6-32", 0.226, 0.138, 7.0 / 64},
    {"#8-32", 0.270, 0.164, 9.0 / 64},
    {"#10-24", 0.312, 0.190, 5.0 / 32},
    {"1/4-20", 0.375, 0.250, 3.0 / 16},
    {"5/16-18", 0.469, 0.312, 1.0 / 4},
    {"3/8-16", 0.562, 0.375, 5.0 / 16},
    {"1/2-13", 0.750, 0.500, 3.0 / 8},
});

// ASME B18.2.2 machine-screw and hexagon nuts: across flats, from memory, inch.
struct RecalledFlats {
  std::string_view size;
  double flats_in;
};
inline constexpr auto kRecalledInchNuts = std::to_array<RecalledFlats>({
    {"#4-40", 1.0 / 4},
    {"#6-32", 5.0 / 16},
    {"#8-32", 11.0 / 32},
    {"#10-24", 3.0 / 8},
    {"1/4-20", 7.0 / 16},
    {"5/16-18", 1.0 / 2},
    {"3/8-16", 9.0 / 16},
    {"7/16-14", 11.0 / 16},
    {"1/2-13", 3.0 / 4},
    {"5/8-11", 15.0 / 16},
});

// AS568: dash number, inside in inch; from memory.
struct RecalledRing {
  int dash;
  double inside_in, section_in;
};
inline constexpr auto kRecalledRings = std::to_array<RecalledRing>({
    {6, 0.114, 0.070},
    {8, 0.176, 0.070},
    {10, 0.239, 0.070},
    {11, 0.301, 0.070},
    {12, 0.364, 0.070},
    {14, 0.489, 0.070},
    {16, 0.614, 0.070},
    {110, 0.362, 0.103},
    {112, 0.487, 0.103},
    {116, 0.737, 0.103},
    {210, 0.734, 0.139},
    {214, 0.984, 0.139},
    {222, 1.484, 0.139},
});

// ASME B17.1, square keys: shaft, side, S (keyway's bottom to the far side of the shaft), T (of the
// hub); as handbooks print them to 0.001 in, from memory.
struct RecalledKey {
  double shaft_in, side_in, s_in, t_in;
};
inline constexpr auto kRecalledKeys = std::to_array<RecalledKey>({
    {0.5, 0.125, 0.430, 0.560},
    {0.625, 0.1875, 0.517, 0.709},
    {0.75, 0.1875, 0.644, 0.837},
    {1.0, 0.25, 0.859, 1.114},
    {1.25, 0.25, 1.112, 1.367},
    {1.5, 0.375, 1.289, 1.669},
});

// Index tables of a head of 40 to 1: divisions, turns, holes and circle; from memory.
struct RecalledMove {
  int divisions, turns, holes, circle;
};
inline constexpr auto kRecalledMoves = std::to_array<RecalledMove>({
    {6, 6, 12, 18},
    {7, 5, 15, 21},
    {9, 4, 8, 18},
    {11, 3, 21, 33},
    {13, 3, 3, 39},
    {14, 2, 18, 21},
    {17, 2, 6, 17},
    {19, 2, 2, 19},
    {23, 1, 17, 23},
    {28, 1, 9, 21},
    {37, 1, 3, 37},
    {48, 0, 15, 18},
});

// Steel round bar as stockholders' tables print it, kg for a metre; from memory.
struct RecalledBar {
  double diameter_mm;
  double kg_m;
  double printed;  // half of its last place
};
inline constexpr auto kRecalledBars = std::to_array<RecalledBar>({
    {6, 0.222, 0.0005},
    {8, 0.395, 0.0005},
    {10, 0.617, 0.0005},
    {12, 0.888, 0.0005},
    {16, 1.58, 0.005},
    {20, 2.47, 0.005},
    {25, 3.85, 0.005},
    {50, 15.4, 0.05},
});

// Constants of a 5 in sine bar as tables print them to five places, inch; from memory.
struct RecalledSine {
  double deg, stack_in;
};
inline constexpr auto kRecalledSines = std::to_array<RecalledSine>({
    {5, 0.43578},
    {10, 0.86824},
    {15, 1.29410},
    {20, 1.71010},
    {30, 2.50000},
    {45, 3.53553},
});

}  // namespace fitwright::reference
