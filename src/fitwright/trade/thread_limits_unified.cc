#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/trade/thread_limits_by_series.h"
#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

// ASME B1.1-2003, by its formulas (from memory; they give every limit of UNC and UNF in
// tests/reference/threads.h, those that were read and some eight hundred from memory). UNEF is
// computed by the formulas and not compared with the standard's table: the last digit may differ
// where the table rounds otherwise. All inch:
//   pitch diameter, 2A   Td2 = 0.0015 D^(1/3) + 0.0015 LE^(1/2) + 0.015 P^(2/3), to six places;
//                        LE = D of UNC and UNF, 9 P of UNEF; other classes the share below
//   allowance            0.3 Td2, of 1A and 2A
//   major, outside       0.060 P^(2/3), 1A 0.090 P^(2/3)
//   minor, inside        0.05 P^(2/3) + 0.03 P/D - 0.002, at most 0.394 P and at least
//                        0.25 P - 0.4 P^2 (3B: 0.23 P - 1.5 P^2, from 12 to the inch coarser
//                        0.120 P); 1B and 2B from 1/4 in up: 0.25 P - 0.4 P^2
// Diameters, allowance and tolerances are rounded to four places each, then added.
struct ClassRow {
  std::string_view name;
  double pitch_share;
  double major_factor;
};
constexpr auto kClasses = std::to_array<ClassRow>({{"1A", 1.5, 0.090},
                                                   {"2A", 1.0, 0.060},
                                                   {"3A", 0.75, 0.060},
                                                   {"1B", 1.95, 0},
                                                   {"2B", 1.3, 0},
                                                   {"3B", 0.975, 0}});

// Where the standard's tables depart from its formula the tables count (from memory, most of them
// from the editions worked out by hand): allowance and tolerance of the pitch diameter, 0.0001 in;
// 0 as by formula.
struct Departure {
  std::string_view designation;
  std::string_view klass;
  int allowance = 0;
  int pitch = 0;
};
constexpr auto kDepartures = std::to_array<Departure>({{"#6-32 UNC", "3B", 0, 27},
                                                       {"5/8-11 UNC", "1A", 16, 0},
                                                       {"5/8-11 UNC", "2A", 16, 0},
                                                       {"7/16-20 UNF", "1A", 0, 62}});

constexpr double kTenthousandth = 1e-4;
// Inside minor diameters of 1B and 2B are given to three places from #6 up.
constexpr double kThreePlacesFrom_in = 0.138;
constexpr double kQuarter_in = 0.25;
constexpr double kRounding_in = 1e-9;

// Half up; a half that the binary sum misses by a hair counts as one. Lengths are above 0.
double Rounded(double inch, double scale) {
  constexpr double kHair = 1e-7;
  return std::floor(inch * scale + 0.5 + kHair) / scale;
}
double SixPlaces(double inch) { return Rounded(inch, 1e6); }
double FourPlaces(double inch) { return Rounded(inch, 1e4); }
double ThreePlaces(double inch) { return Rounded(inch, 1e3); }

// Allowance and tolerance of the pitch diameter, inch.
struct PitchTolerance {
  double allowance = 0;
  double tolerance = 0;
};

PitchTolerance PitchToleranceOf(const ThreadRow& row, const ClassRow& klass) {
  const double d = row.major_mm / kMmPerInch;
  const double p = 1 / row.per_inch;
  const double engaged = row.series == ThreadSeries::kUnef ? 9 * p : d;
  const double of_2a =
      SixPlaces(0.0015 * std::cbrt(d) + 0.0015 * std::sqrt(engaged) + 0.015 * std::cbrt(p * p));
  PitchTolerance found;
  if (klass.name == "1A" || klass.name == "2A") found.allowance = FourPlaces(0.3 * of_2a);
  found.tolerance = FourPlaces(klass.pitch_share * of_2a);
  for (const Departure& departure : kDepartures) {
    if (departure.designation != row.designation || departure.klass != klass.name) continue;
    if (departure.allowance > 0) found.allowance = departure.allowance * kTenthousandth;
    if (departure.pitch > 0) found.tolerance = departure.pitch * kTenthousandth;
  }
  return found;
}

double MinorTolerance(const ThreadRow& row, std::string_view klass) {
  const double d = row.major_mm / kMmPerInch;
  const double p = 1 / row.per_inch;
  const double whole = 0.25 * p - 0.4 * p * p;
  const bool fine = klass == "3B";
  if (!fine && d > kQuarter_in - kRounding_in) return whole;
  const double by_size = 0.05 * std::cbrt(p * p) + 0.03 * p / d - 0.002;
  const double least = !fine ? whole : row.per_inch >= 13 ? 0.23 * p - 1.5 * p * p : 0.120 * p;
  return std::min(std::max(by_size, least), 0.394 * p);
}

Result<const ClassRow*> FindClass(const ThreadRow& row, std::string_view name) {
  const ClassRow* found = nullptr;
  for (const ClassRow& klass : kClasses) {
    if (klass.name == name) found = &klass;
  }
  FW_CHECK(found != nullptr, name);
  const bool small = row.major_mm / kMmPerInch < kQuarter_in - kRounding_in;
  if (name.front() == '1' && (small || row.series == ThreadSeries::kUnef)) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            "ASME B1.1 gives classes 1A and 1B for UNC and UNF from 1/4 in up",
                            std::string(name),
                            "take class 2 or 3",
                            {}});
  }
  return found;
}

SizeLimits InMm(double lower_in, double upper_in) {
  return {lower_in * kMmPerInch, upper_in * kMmPerInch};
}

double BasicPitch_in(const ThreadRow& row) {
  return FourPlaces(row.major_mm / kMmPerInch - SixPlaces(0.649519 / row.per_inch));
}

}  // namespace

Result<ExternalThreadLimits> UnifiedExternalLimits(const ThreadRow& row, std::string_view name) {
  const auto klass = FindClass(row, name);
  if (!klass) return Unexpected(klass.error());
  const PitchTolerance pitch = PitchToleranceOf(row, **klass);
  const double p = 1 / row.per_inch;
  const double major = FourPlaces(row.major_mm / kMmPerInch) - pitch.allowance;
  const double major_tolerance = FourPlaces((*klass)->major_factor * std::cbrt(p * p));
  const double pitch_in = BasicPitch_in(row) - pitch.allowance;
  return ExternalThreadLimits{InMm(FourPlaces(major - major_tolerance), FourPlaces(major)),
                              InMm(FourPlaces(pitch_in - pitch.tolerance), FourPlaces(pitch_in)),
                              std::nullopt};
}

Result<InternalThreadLimits> UnifiedInternalLimits(const ThreadRow& row, std::string_view name) {
  const auto klass = FindClass(row, name);
  if (!klass) return Unexpected(klass.error());
  const PitchTolerance pitch = PitchToleranceOf(row, **klass);
  const double d = row.major_mm / kMmPerInch;
  const double exact = d - SixPlaces(1.082532 / row.per_inch);
  const double greatest = FourPlaces(FourPlaces(exact) + FourPlaces(MinorTolerance(row, name)));
  const bool three = d > kThreePlacesFrom_in - kRounding_in;
  const double lower = three ? ThreePlaces(exact) : FourPlaces(exact);
  const double upper = three && name != "3B" ? ThreePlaces(greatest) : greatest;
  const double pitch_in = BasicPitch_in(row);
  return InternalThreadLimits{row.major_mm, InMm(pitch_in, FourPlaces(pitch_in + pitch.tolerance)),
                              InMm(lower, upper)};
}

}  // namespace fitwright::trade
