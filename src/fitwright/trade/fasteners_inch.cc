#include <array>

#include "fitwright/trade/fastener_tables.h"
#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

constexpr double In(double inch) { return inch * kMmPerInch; }

constexpr ScrewHead Head(double major, double diameter, double height, double key) {
  return {In(major), In(diameter), In(height), In(key)};
}
constexpr SetScrew Set(double major, double key) { return {In(major), In(key)}; }
constexpr HexNut Nut(double major, double flats, double height, double jam) {
  return {In(major), In(flats), In(height), In(jam)};
}
constexpr Washer Flat(double major, double bore, double outside, double thickness) {
  return {In(major), In(bore), In(outside), In(thickness)};
}

// ASME B18.3, all inch, all from memory: size, greatest head diameter (of a countersunk head, 82
// degrees, as if sharp), greatest height, key. Not there: #12 and 9/16; sockets' depths and points
// of set screws are left out, not sure from memory.
constexpr auto kSocketCap = std::to_array<ScrewHead>({
    Head(0.060, 0.096, 0.060, 0.050),
    Head(0.073, 0.118, 0.073, 1.0 / 16),
    Head(0.086, 0.140, 0.086, 5.0 / 64),
    Head(0.099, 0.161, 0.099, 5.0 / 64),
    Head(0.112, 0.183, 0.112, 3.0 / 32),
    Head(0.125, 0.205, 0.125, 3.0 / 32),
    Head(0.138, 0.226, 0.138, 7.0 / 64),
    Head(0.164, 0.270, 0.164, 9.0 / 64),
    Head(0.190, 0.312, 0.190, 5.0 / 32),
    Head(0.25, 0.375, 0.25, 3.0 / 16),
    Head(0.3125, 0.469, 0.312, 1.0 / 4),
    Head(0.375, 0.562, 0.375, 5.0 / 16),
    Head(0.4375, 0.656, 0.438, 3.0 / 8),
    Head(0.5, 0.75, 0.5, 3.0 / 8),
    Head(0.625, 0.938, 0.625, 1.0 / 2),
    Head(0.75, 1.125, 0.75, 5.0 / 8),
    Head(0.875, 1.312, 0.875, 3.0 / 4),
    Head(1, 1.5, 1, 3.0 / 4),
});
constexpr auto kButton = std::to_array<ScrewHead>({
    Head(0.060, 0.114, 0.032, 0.035),
    Head(0.073, 0.139, 0.039, 0.050),
    Head(0.086, 0.164, 0.046, 0.050),
    Head(0.099, 0.188, 0.052, 1.0 / 16),
    Head(0.112, 0.213, 0.059, 1.0 / 16),
    Head(0.125, 0.238, 0.066, 5.0 / 64),
    Head(0.138, 0.262, 0.073, 5.0 / 64),
    Head(0.164, 0.312, 0.087, 3.0 / 32),
    Head(0.190, 0.361, 0.101, 1.0 / 8),
    Head(0.25, 0.437, 0.132, 5.0 / 32),
    Head(0.3125, 0.547, 0.166, 3.0 / 16),
    Head(0.375, 0.656, 0.199, 7.0 / 32),
    Head(0.5, 0.875, 0.265, 5.0 / 16),
    Head(0.625, 1, 0.331, 3.0 / 8),
});
constexpr auto kCountersunk = std::to_array<ScrewHead>({
    Head(0.060, 0.138, 0.044, 0.035),
    Head(0.073, 0.168, 0.054, 0.050),
    Head(0.086, 0.197, 0.064, 0.050),
    Head(0.099, 0.226, 0.073, 1.0 / 16),
    Head(0.112, 0.255, 0.083, 1.0 / 16),
    Head(0.125, 0.281, 0.090, 5.0 / 64),
    Head(0.138, 0.307, 0.097, 5.0 / 64),
    Head(0.164, 0.359, 0.112, 3.0 / 32),
    Head(0.190, 0.411, 0.127, 1.0 / 8),
    Head(0.25, 0.531, 0.161, 5.0 / 32),
    Head(0.3125, 0.656, 0.198, 3.0 / 16),
    Head(0.375, 0.781, 0.234, 7.0 / 32),
    Head(0.4375, 0.844, 0.234, 1.0 / 4),
    Head(0.5, 0.938, 0.251, 5.0 / 16),
    Head(0.625, 1.188, 0.324, 3.0 / 8),
    Head(0.75, 1.438, 0.396, 1.0 / 2),
});
constexpr auto kSetScrews = std::to_array<SetScrew>({
    Set(0.060, 0.028),
    Set(0.073, 0.035),
    Set(0.086, 0.035),
    Set(0.099, 0.050),
    Set(0.112, 0.050),
    Set(0.125, 1.0 / 16),
    Set(0.138, 1.0 / 16),
    Set(0.164, 5.0 / 64),
    Set(0.190, 3.0 / 32),
    Set(0.25, 1.0 / 8),
    Set(0.3125, 5.0 / 32),
    Set(0.375, 3.0 / 16),
    Set(0.4375, 7.0 / 32),
    Set(0.5, 1.0 / 4),
    Set(0.625, 5.0 / 16),
    Set(0.75, 3.0 / 8),
    Set(0.875, 1.0 / 2),
    Set(1, 9.0 / 16),
});

// ASME B18.6.3 machine screw nuts to #10, ASME B18.2.2 from 1/4 in: across flats (nominal),
// greatest height, greatest height of the jam nut. From memory.
constexpr auto kNuts = std::to_array<HexNut>({
    Nut(0.060, 5.0 / 32, 0.050, 0),       Nut(0.073, 5.0 / 32, 0.050, 0),
    Nut(0.086, 3.0 / 16, 0.066, 0),       Nut(0.099, 3.0 / 16, 0.066, 0),
    Nut(0.112, 1.0 / 4, 0.098, 0),        Nut(0.125, 5.0 / 16, 0.114, 0),
    Nut(0.138, 5.0 / 16, 0.114, 0),       Nut(0.164, 11.0 / 32, 0.130, 0),
    Nut(0.190, 3.0 / 8, 0.130, 0),        Nut(0.25, 7.0 / 16, 0.226, 0.163),
    Nut(0.3125, 1.0 / 2, 0.273, 0.195),   Nut(0.375, 9.0 / 16, 0.337, 0.227),
    Nut(0.4375, 11.0 / 16, 0.385, 0.260), Nut(0.5, 3.0 / 4, 0.448, 0.323),
    Nut(0.5625, 7.0 / 8, 0.496, 0.324),   Nut(0.625, 15.0 / 16, 0.559, 0.387),
    Nut(0.75, 9.0 / 8, 0.665, 0.446),     Nut(0.875, 21.0 / 16, 0.776, 0.510),
    Nut(1, 3.0 / 2, 0.887, 0.575),
});

// ASME B18.21.1 (B18.22.1 once), type A plain, narrow: bore, outside, thickness, nominal. From
// memory.
constexpr auto kWashers = std::to_array<Washer>({
    Flat(0.138, 5.0 / 32, 3.0 / 8, 0.049),
    Flat(0.164, 3.0 / 16, 7.0 / 16, 0.049),
    Flat(0.190, 7.0 / 32, 1.0 / 2, 0.049),
    Flat(0.25, 9.0 / 32, 5.0 / 8, 0.065),
    Flat(0.3125, 11.0 / 32, 11.0 / 16, 0.065),
    Flat(0.375, 13.0 / 32, 13.0 / 16, 0.065),
    Flat(0.4375, 15.0 / 32, 59.0 / 64, 0.065),
    Flat(0.5, 17.0 / 32, 17.0 / 16, 0.095),
    Flat(0.5625, 19.0 / 32, 19.0 / 16, 0.095),
    Flat(0.625, 21.0 / 32, 21.0 / 16, 0.095),
    Flat(0.75, 13.0 / 16, 47.0 / 32, 0.134),
    Flat(0.875, 15.0 / 16, 7.0 / 4, 0.134),
    Flat(1, 17.0 / 16, 2, 0.134),
});

// Lengths as sold: common practice.
constexpr auto kLengths_mm = std::to_array<double>({
    In(1.0 / 8), In(3.0 / 16), In(1.0 / 4), In(5.0 / 16), In(3.0 / 8), In(7.0 / 16), In(1.0 / 2),
    In(5.0 / 8), In(3.0 / 4),  In(7.0 / 8), In(1),        In(1.25),    In(1.5),      In(1.75),
    In(2),       In(2.25),     In(2.5),     In(2.75),     In(3),       In(3.5),      In(4),
});

}  // namespace

std::span<const ScrewHead> InchHeads(HeadKind kind) {
  switch (kind) {
    case HeadKind::kSocketCap:
      return kSocketCap;
    case HeadKind::kButton:
      return kButton;
    case HeadKind::kCountersunk:
      return kCountersunk;
    case HeadKind::kHexagon:
      return {};
  }
  return {};
}
std::span<const SetScrew> InchSetScrews() { return kSetScrews; }
std::span<const HexNut> InchNuts() { return kNuts; }
std::span<const Washer> InchWashers() { return kWashers; }
std::span<const double> InchScrewLengths_mm() { return kLengths_mm; }

}  // namespace fitwright::trade
