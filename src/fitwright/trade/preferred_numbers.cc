#include "fitwright/trade/preferred_numbers.h"

#include <array>
#include <cmath>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

// ISO 3:1973, basic series R40, from memory; R20, R10, R5 are every second, fourth, eighth of it.
// The table rules, not 10^(n/40) rounded: 3.00 (2.985), 6.00 (5.957), 4.75 (4.732), 1.06 (1.059)
// and others lie up to 1.3 % off the theoretical value.
constexpr auto kR40 = std::to_array<double>(
    {1.00, 1.06, 1.12, 1.18, 1.25, 1.32, 1.40, 1.50, 1.60, 1.70, 1.80, 1.90, 2.00, 2.12,
     2.24, 2.36, 2.50, 2.65, 2.80, 3.00, 3.15, 3.35, 3.55, 3.75, 4.00, 4.25, 4.50, 4.75,
     5.00, 5.30, 5.60, 6.00, 6.30, 6.70, 7.10, 7.50, 8.00, 8.50, 9.00, 9.50});

// ISO 497:1973, first rounding (R'), from memory.
constexpr auto kRounded40 =
    std::to_array<double>({1.0, 1.05, 1.1, 1.2, 1.25, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.1,
                           2.2, 2.4,  2.5, 2.6, 2.8,  3.0, 3.2, 3.4, 3.6, 3.8, 4.0, 4.2, 4.5, 4.8,
                           5.0, 5.3,  5.6, 6.0, 6.3,  6.7, 7.1, 7.5, 8.0, 8.5, 9.0, 9.5});

template <std::size_t N>
constexpr std::array<double, N> EveryOf(const std::array<double, 40>& all) {
  std::array<double, N> some{};
  for (std::size_t i = 0; i < N; ++i) some[i] = all[i * (40 / N)];
  return some;
}

constexpr auto kR5 = EveryOf<5>(kR40);
constexpr auto kR10 = EveryOf<10>(kR40);
constexpr auto kR20 = EveryOf<20>(kR40);
constexpr auto kRounded10 = EveryOf<10>(kRounded40);
constexpr auto kRounded20 = EveryOf<20>(kRounded40);

constexpr double kSame = 1e-9;
constexpr int kDecades = 9;

struct Pair {
  double below = 0;  // at or below
  double above = 0;  // at or above
};

// decade is a power of ten: division keeps 0.25 the double nearest to 0.25, where a product with
// 0.1 would not.
double Scaled(double member, int decade) {
  return decade < 0 ? member / std::pow(10.0, -decade) : member * std::pow(10.0, decade);
}

Result<Pair> Around(PreferredSeries series, double value) {
  const auto members = PreferredNumbers(series);
  const std::string shown = fmt::format("{}", value);
  if (!std::isfinite(value)) {
    return Unexpected(Fault(ErrorCode::kNotFinite, shown, "a preferred number is finite",
                            "give a finite number"));
  }
  if (value <= 0) {
    return Unexpected(Fault(ErrorCode::kNotPositive, shown, "preferred numbers are above 0",
                            "give a number above 0"));
  }
  const int decade = static_cast<int>(std::floor(std::log10(value)));
  if (decade < -kDecades || decade >= kDecades) {
    return Unexpected(Fault(ErrorCode::kOutOfRange, shown,
                            "preferred numbers are given here from 1e-9 to 1e9",
                            "choose another unit"));
  }
  Pair pair{0, Scaled(1, decade + 2)};
  for (int d = decade - 1; d <= decade + 1; ++d) {
    for (const double member : members) {
      const double scaled = Scaled(member, d);
      if (scaled <= value * (1 + kSame)) pair.below = scaled;
      if (scaled >= value * (1 - kSame) && scaled < pair.above) pair.above = scaled;
    }
  }
  return pair;
}

}  // namespace

std::span<const double> PreferredNumbers(PreferredSeries series) {
  switch (series) {
    case PreferredSeries::kR5:
      return kR5;
    case PreferredSeries::kR10:
      return kR10;
    case PreferredSeries::kR20:
      return kR20;
    case PreferredSeries::kRounded10:
      return kRounded10;
    case PreferredSeries::kRounded20:
      return kRounded20;
    case PreferredSeries::kRounded40:
      return kRounded40;
    case PreferredSeries::kR40:
      break;
  }
  return kR40;
}

Result<double> PreferredAtOrBelow(PreferredSeries series, double value) {
  const auto pair = Around(series, value);
  if (!pair) return Unexpected(pair.error());
  return pair->below;
}

Result<double> PreferredAtOrAbove(PreferredSeries series, double value) {
  const auto pair = Around(series, value);
  if (!pair) return Unexpected(pair.error());
  return pair->above;
}

Result<double> NearestPreferred(PreferredSeries series, double value) {
  const auto pair = Around(series, value);
  if (!pair) return Unexpected(pair.error());
  return value / pair->below <= pair->above / value ? pair->below : pair->above;
}

}  // namespace fitwright::trade
