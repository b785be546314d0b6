#include <array>

#include "fitwright/trade/fastener_tables.h"

namespace fitwright::trade {
namespace {

// ISO 4762: greatest dk of a plain head, k, s, least t, greatest dk of a knurled head, b. Read,
// except M18 and M30 up, and all knurled heads, from memory.
constexpr auto kSocketCap = std::to_array<ScrewHead>({
    {1.6, 3, 1.6, 1.5, 0.7, 3.14, 15},
    {2, 3.8, 2, 1.5, 1, 3.98, 16},
    {2.5, 4.5, 2.5, 2, 1.1, 4.68, 17},
    {3, 5.5, 3, 2.5, 1.3, 5.68, 18},
    {4, 7, 4, 3, 2, 7.22, 20},
    {5, 8.5, 5, 4, 2.5, 8.72, 22},
    {6, 10, 6, 5, 3, 10.22, 24},
    {8, 13, 8, 6, 4, 13.27, 28},
    {10, 16, 10, 8, 5, 16.27, 32},
    {12, 18, 12, 10, 6, 18.27, 36},
    {14, 21, 14, 12, 7, 21.33, 40},
    {16, 24, 16, 14, 8, 24.33, 44},
    {18, 27, 18, 14, 9, 27.33, 48},
    {20, 30, 20, 17, 10, 30.33, 52},
    {24, 36, 24, 19, 12, 36.39, 60},
    {30, 45, 30, 22, 15.5, 45.39, 72},
    {36, 54, 36, 27, 19, 54.46, 84},
});

// ISO 7380-1: greatest dk, k, s, least t. From memory.
constexpr auto kButton = std::to_array<ScrewHead>({
    {3, 5.7, 1.65, 2, 1.04},
    {4, 7.6, 2.2, 2.5, 1.3},
    {5, 9.5, 2.75, 3, 1.56},
    {6, 10.5, 3.3, 4, 2.08},
    {8, 14, 4.4, 5, 2.6},
    {10, 17.5, 5.5, 6, 3.12},
    {12, 21, 6.6, 8, 4.16},
    {16, 28, 8.8, 10, 5.2},
});

// ISO 10642:2004: theoretical dk (sharp edge), greatest k, s, least t, and the least real dk. From
// memory. The nominal heads of DIN 7991 are smaller (M6: 12 for 13.44) and must not be taken for
// them; tests/reference/fasteners.h has those.
constexpr auto kCountersunk = std::to_array<ScrewHead>({
    {3, 6.72, 1.86, 2, 1.1, 0, 0, 5.54},
    {4, 8.96, 2.48, 2.5, 1.5, 0, 0, 7.53},
    {5, 11.2, 3.1, 3, 1.9, 0, 0, 9.43},
    {6, 13.44, 3.72, 4, 2.2, 0, 0, 11.34},
    {8, 17.92, 4.96, 5, 3, 0, 0, 15.24},
    {10, 22.4, 6.2, 6, 3.6, 0, 0, 19.22},
    {12, 26.88, 7.44, 8, 4.3, 0, 0, 23.12},
    {16, 33.6, 8.8, 10, 4.8, 0, 0, 29.01},
    {20, 40.32, 10.16, 12, 5.6, 0, 0, 36.05},
});

// ISO 4014 and ISO 4017: s, k (nominal), s. From memory.
constexpr auto kHexagon = std::to_array<ScrewHead>({
    {3, 5.5, 2, 5.5},
    {4, 7, 2.8, 7},
    {5, 8, 3.5, 8},
    {6, 10, 4, 10},
    {8, 13, 5.3, 13},
    {10, 16, 6.4, 16},
    {12, 18, 7.5, 18},
    {16, 24, 10, 24},
    {20, 30, 12.5, 30},
    {24, 36, 15, 36},
});

// ISO 4026 (flat point) to 4029 (cup point): s, greatest flat point, greatest cup point, least t of
// the short ones. M3 to M10 key, flat point and depth read, the others from memory.
constexpr auto kSetScrews = std::to_array<SetScrew>({
    {1.6, 0.7, 0.8},
    {2, 0.9, 1},
    {2.5, 1.3, 1.5},
    {3, 1.5, 2, 1.4, 1.2},
    {4, 2, 2.5, 2, 1.5},
    {5, 2.5, 3.5, 2.5, 2},
    {6, 3, 4, 3, 2},
    {8, 4, 5.5, 5, 3},
    {10, 5, 7, 6, 4},
    {12, 6, 8.5, 8, 4.8},
    {16, 8, 12},
    {20, 10, 15},
    {24, 12, 18},
});

// ISO 4032 (style 1) and ISO 4035 (thin): s, greatest m, greatest m of the thin nut, least e. From
// memory. DIN 934 is another: 17 across flats at M10, 19 at M12, 22 at M14, 32 at M22.
constexpr auto kNuts = std::to_array<HexNut>({
    {1.6, 3.2, 1.3, 1, 3.41},    {2, 4, 1.6, 1.2, 4.32},     {2.5, 5, 2, 1.6, 5.45},
    {3, 5.5, 2.4, 1.8, 6.01},    {4, 7, 3.2, 2.2, 7.66},     {5, 8, 4.7, 2.7, 8.79},
    {6, 10, 5.2, 3.2, 11.05},    {8, 13, 6.8, 4, 14.38},     {10, 16, 8.4, 5, 17.77},
    {12, 18, 10.8, 6, 20.03},    {14, 21, 12.8, 7, 23.36},   {16, 24, 14.8, 8, 26.75},
    {18, 27, 15.8, 9, 29.56},    {20, 30, 18, 10, 32.95},    {22, 34, 19.4, 11, 37.29},
    {24, 36, 21.5, 12, 39.55},   {27, 41, 23.8, 13.5, 45.2}, {30, 46, 25.6, 15, 50.85},
    {33, 50, 28.7, 16.5, 55.37}, {36, 55, 31, 18, 60.79},
});

// ISO 7089: d1, d2, h. M3 to M12 read, the others from memory.
constexpr auto kWashers = std::to_array<Washer>({
    {1.6, 1.7, 4, 0.3}, {2, 2.2, 5, 0.3},  {2.5, 2.7, 6, 0.5}, {3, 3.2, 7, 0.5},  {4, 4.3, 9, 0.8},
    {5, 5.3, 10, 1},    {6, 6.4, 12, 1.6}, {8, 8.4, 16, 1.6},  {10, 10.5, 20, 2}, {12, 13, 24, 2.5},
    {14, 15, 28, 2.5},  {16, 17, 30, 3},   {18, 19, 34, 3},    {20, 21, 37, 3},   {22, 23, 39, 3},
    {24, 25, 44, 4},    {27, 28, 50, 4},   {30, 31, 56, 4},    {33, 34, 60, 5},   {36, 37, 66, 5},
});

// ISO 888, the lengths that are commonly kept. From memory.
constexpr auto kLengths_mm = std::to_array<double>(
    {2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100});

// ISO 8734:1997 (hardened) and ISO 2338:1997 (unhardened): diameter, shortest and longest. From
// memory.
constexpr auto kHardenedPins = std::to_array<DowelPin>({
    {1, 3, 10},
    {1.5, 4, 16},
    {2, 5, 20},
    {2.5, 6, 24},
    {3, 8, 30},
    {4, 10, 40},
    {5, 12, 50},
    {6, 14, 60},
    {8, 18, 80},
    {10, 22, 100},
    {12, 26, 100},
    {16, 40, 100},
    {20, 50, 100},
});
constexpr auto kUnhardenedPins = std::to_array<DowelPin>({
    {0.6, 2, 6},
    {0.8, 2, 8},
    {1, 4, 10},
    {1.2, 4, 12},
    {1.5, 4, 16},
    {2, 6, 20},
    {2.5, 6, 24},
    {3, 8, 30},
    {4, 8, 40},
    {5, 10, 50},
    {6, 12, 60},
    {8, 14, 80},
    {10, 18, 95},
    {12, 22, 140},
    {16, 26, 180},
    {20, 35, 200},
});
constexpr auto kPinLengths_mm = std::to_array<double>(
    {2,  3,  4,  5,  6,  8,  10, 12, 14, 16, 18, 20, 22,  24,  26,  28,  30,  32, 35,
     40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 120, 140, 160, 180, 200});

}  // namespace

std::span<const ScrewHead> MetricHeads(HeadKind kind) {
  switch (kind) {
    case HeadKind::kSocketCap:
      return kSocketCap;
    case HeadKind::kButton:
      return kButton;
    case HeadKind::kCountersunk:
      return kCountersunk;
    case HeadKind::kHexagon:
      return kHexagon;
  }
  return {};
}
std::span<const SetScrew> MetricSetScrews() { return kSetScrews; }
std::span<const HexNut> MetricNuts() { return kNuts; }
std::span<const Washer> MetricWashers() { return kWashers; }
std::span<const double> MetricScrewLengths_mm() { return kLengths_mm; }
std::span<const double> PinLengths_mm() { return kPinLengths_mm; }
std::span<const DowelPin> DowelPins(PinKind kind) {
  if (kind == PinKind::kHardened) return kHardenedPins;
  return kUnhardenedPins;
}

}  // namespace fitwright::trade
