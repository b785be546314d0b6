// Screws, washers and clearance holes from outside, mm, each with how it was come by.
#pragma once

#include <array>
#include <string_view>

namespace fitwright::reference {

struct Columns {
  std::string_view size;
  double a, b, c, d = 0, e = 0;
};

// ISO 273:1979 fine, medium, coarse: from memory; fine and medium agree with washer bores read;
// M1.6 to M10 and M20 up read in an open table. (That table prints 14/16/18 and 15/17/19 for M12,
// M14, M16: not ISO 273.)
inline constexpr auto kIso273 = std::to_array<Columns>({
    {"M1.6", 1.7, 1.8, 2},
    {"M2", 2.2, 2.4, 2.6},
    {"M2.5", 2.7, 2.9, 3.1},
    {"M3", 3.2, 3.4, 3.6},
    {"M4", 4.3, 4.5, 4.8},
    {"M5", 5.3, 5.5, 5.8},
    {"M6", 6.4, 6.6, 7},
    {"M8", 8.4, 9, 10},
    {"M10", 10.5, 11, 12},
    {"M12", 13, 13.5, 14.5},
    {"M14", 15, 15.5, 16.5},
    {"M16", 17, 17.5, 18.5},
    {"M18", 19, 20, 21},
    {"M20", 21, 22, 24},
    {"M22", 23, 24, 26},
    {"M24", 25, 26, 28},
});

// ISO 4762: dk, k, s, b, least t; read (an open set of part data).
inline constexpr auto kIso4762 = std::to_array<Columns>({
    {"M1.6", 3, 1.6, 1.5, 15, 0.7},
    {"M2", 3.8, 2, 1.5, 16, 1},
    {"M2.5", 4.5, 2.5, 2, 17, 1.1},
    {"M3", 5.5, 3, 2.5, 18, 1.3},
    {"M4", 7, 4, 3, 20, 2},
    {"M5", 8.5, 5, 4, 22, 2.5},
    {"M6", 10, 6, 5, 24, 3},
    {"M8", 13, 8, 6, 28, 4},
    {"M10", 16, 10, 8, 32, 5},
    {"M12", 18, 12, 10, 36, 6},
    {"M14", 21, 14, 12, 40, 7},
    {"M16", 24, 16, 14, 44, 8},
    {"M20", 30, 20, 17, 52, 10},
    {"M24", 36, 24, 19, 60, 12},
});
// Greatest heads when knurled, from memory.
inline constexpr auto kIso4762Knurled = std::to_array<Columns>({
    {"M3", 5.68, 0, 0},
    {"M4", 7.22, 0, 0},
    {"M5", 8.72, 0, 0},
    {"M6", 10.22, 0, 0},
    {"M8", 13.27, 0, 0},
    {"M10", 16.27, 0, 0},
});

// DIN 7991 nominal dk, k, s; read. ISO 10642's theoretical heads are larger (M6 13.44); keys alike.
inline constexpr auto kDin7991 = std::to_array<Columns>({
    {"M3", 6, 1.7, 2},
    {"M4", 8, 2.3, 2.5},
    {"M5", 10, 2.8, 3},
    {"M6", 12, 3.3, 4},
    {"M8", 16, 4.4, 5},
    {"M10", 20, 5.5, 6},
    {"M12", 24, 6.5, 8},
});

// ISO 4026: flat point, t, s; read.
inline constexpr auto kIso4026 = std::to_array<Columns>({
    {"M3", 2, 1.2, 1.5},
    {"M4", 2.5, 1.5, 2},
    {"M5", 3.5, 2, 2.5},
    {"M6", 4, 2, 3},
    {"M8", 5.5, 3, 4},
    {"M10", 7, 4, 5},
});

// ISO 7089: d1, d2, h; read (the open set prints 10 for the bore of M10: wrong, 10.5).
inline constexpr auto kIso7089 = std::to_array<Columns>({
    {"M3", 3.2, 7, 0.5},
    {"M4", 4.3, 9, 0.8},
    {"M5", 5.3, 10, 1},
    {"M6", 6.4, 12, 1.6},
    {"M8", 8.4, 16, 1.6},
    {"M10", 10.5, 20, 2},
    {"M12", 13, 24, 2.5},
});

// ASME B18.2.8, the drills that the close, normal and loose holes are made with: from memory,
// another way than the decimals of the table.
struct InchHoles {
  std::string_view size, close, normal, loose;
};
inline constexpr auto kB1828Drills = std::to_array<InchHoles>({
    {"#0-80", "#51", "#48", "3/32"},
    {"#1-64", "#46", "#43", "#37"},
    {"#2-56", "3/32", "#38", "#32"},
    {"#3-48", "#36", "#32", "#30"},
    {"#4-40", "#31", "#30", "#27"},
    {"#5-40", "9/64", "5/32", "11/64"},
    {"#6-32", "#23", "#18", "#13"},
    {"#8-32", "#15", "#9", "#3"},
    {"#10-24", "#5", "#2", "B"},
    {"1/4-20", "17/64", "9/32", "19/64"},
    {"5/16-18", "21/64", "11/32", "23/64"},
    {"3/8-16", "25/64", "13/32", "27/64"},
    {"7/16-14", "29/64", "15/32", "31/64"},
    {"1/2-13", "17/32", "9/16", "39/64"},
    {"5/8-11", "21/32", "11/16", "47/64"},
    {"3/4-10", "25/32", "13/16", "29/32"},
});

}  // namespace fitwright::reference
