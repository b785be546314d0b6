#include "fitwright/trade/drills.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>

#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

// Metric twist drills, hundredths of a mm: a selection after ISO 235 as sets and merchants usually
// have them, from memory: 0.5-3 by 0.05, 3-14 by 0.1 with the quarters, 14-16 by 0.25, 16-32 by
// 0.5.
constexpr bool IsDrill(int hundredths) {
  if (hundredths < 50 || hundredths > 3200) return false;
  if (hundredths <= 300) return hundredths % 5 == 0;
  if (hundredths <= 1400) return hundredths % 10 == 0 || hundredths % 50 == 25;
  if (hundredths <= 1600) return hundredths % 25 == 0;
  return hundredths % 50 == 0;
}

// ASME B94.11M: number drills 1 to 80 and letter drills A to Z, 0.0001 in; read
// (tests/reference/drills.h). Fractions: 64ths of an inch to 1 in.
// clang-format off
constexpr auto kNumbers = std::to_array<short>({
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800,
    1770, 1730, 1695, 1660, 1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285,
    1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015, 995, 980, 960, 935, 890, 860, 820, 810, 785,
    760, 730, 700, 670, 635, 595, 550, 520, 465, 430, 420, 410, 400, 390, 380, 370, 360, 350,
    330, 320, 310, 292, 280, 260, 250, 240, 225, 210, 200, 180, 160, 145, 135});
constexpr auto kLetters = std::to_array<short>({
    2340, 2380, 2420, 2460, 2500, 2570, 2610, 2660, 2720, 2770, 2810, 2900, 2950, 3020, 3160,
    3230, 3320, 3390, 3480, 3580, 3680, 3770, 3860, 3970, 4040, 4130});
// clang-format on
constexpr int kFractions = 64;

// index: hundredths of a mm, 64ths, the number, or the letter counted from A = 0.
struct Size {
  double diameter_mm = 0;
  DrillSet set = DrillSet::kMetric;
  int index = 0;
};

constexpr std::size_t CountMetric() {
  std::size_t count = 0;
  for (int h = 50; h <= 3200; ++h) count += IsDrill(h) ? 1 : 0;
  return count;
}

constexpr auto MakeSizes() {
  std::array<Size, CountMetric() + kFractions + kNumbers.size() + kLetters.size()> sizes{};
  std::size_t i = 0;
  for (int h = 50; h <= 3200; ++h) {
    if (IsDrill(h)) sizes[i++] = {h / 100.0, DrillSet::kMetric, h};
  }
  for (int n = 1; n <= kFractions; ++n) {
    sizes[i++] = {n * 156.25 * kMmPerInch / 10000, DrillSet::kFraction, n};
  }
  for (std::size_t n = 0; n < kNumbers.size(); ++n) {
    sizes[i++] = {kNumbers[n] * kMmPerInch / 10000, DrillSet::kNumber, static_cast<int>(n) + 1};
  }
  for (std::size_t n = 0; n < kLetters.size(); ++n) {
    sizes[i++] = {kLetters[n] * kMmPerInch / 10000, DrillSet::kLetter, static_cast<int>(n)};
  }
  std::sort(sizes.begin(), sizes.end(), [](const Size& a, const Size& b) {
    return a.diameter_mm < b.diameter_mm || (a.diameter_mm == b.diameter_mm && a.set < b.set);
  });
  return sizes;
}

constexpr auto kSizes = MakeSizes();

// ISO 236 and ISO 521 preferred diameters of hand and machine reamers, from memory.
constexpr auto kReamers_mm =
    std::to_array<double>({1.5, 2,  2.5, 3,  3.5, 4,  4.5, 5,  5.5, 6,  7,  8,  9,  10, 11,
                           12,  13, 14,  15, 16,  17, 18,  19, 20,  22, 24, 25, 28, 30, 32});

// Fractional reamers as sets hold them, from 1/16 in: common practice.
constexpr auto MakeInchReamers() {
  std::array<double, 29 + 16> reamers{};
  std::size_t i = 0;
  for (int n = 4; n <= 32; ++n) reamers[i++] = n * kMmPerInch / 64;
  for (int n = 17; n <= 32; ++n) reamers[i++] = n * kMmPerInch / 32;
  return reamers;
}
constexpr auto kInchReamers_mm = MakeInchReamers();

constexpr double kSlack_mm = 1e-9;

std::string NameOf(const Size& size) {
  switch (size.set) {
    case DrillSet::kMetric:
      return fmt::format("{:g}", size.index / 100.0);
    case DrillSet::kNumber:
      return fmt::format("#{}", size.index);
    case DrillSet::kLetter:
      return std::string(1, static_cast<char>('A' + size.index));
    case DrillSet::kFraction:
      break;
  }
  const int common = std::gcd(size.index, kFractions);
  if (common == kFractions) return "1";
  return fmt::format("{}/{}", size.index / common, kFractions / common);
}

Drill DrillOf(const Size& size) { return {size.set, NameOf(size), size.diameter_mm}; }

std::string InBoth(const Drill& drill) {
  return fmt::format("{} ({:.3f} mm, {:.4f} in)", drill.name, drill.diameter_mm,
                     drill.diameter_mm / kMmPerInch);
}

Unexpected OutOfRange(double diameter_mm, DrillSets sets) {
  const auto drills = Drills(sets);
  if (drills.empty()) {
    return Unexpected(Error{ErrorCode::kMissingKey,
                            "no set of drills is chosen",
                            "",
                            "choose from metric, fraction, number and letter",
                            {}});
  }
  const bool finite = std::isfinite(diameter_mm);
  return Unexpected(Error{finite ? ErrorCode::kOutOfRange : ErrorCode::kNotFinite,
                          fmt::format("the drills of these sets go from {} to {}",
                                      InBoth(drills.front()), InBoth(drills.back())),
                          fmt::format("{:g} mm", diameter_mm),
                          "bore it, or choose further sets of drills",
                          {}});
}

// The greatest drill at or below and the least at or above; null where there is none.
struct Beside {
  const Size* below = nullptr;
  const Size* above = nullptr;
  bool both() const { return below != nullptr && above != nullptr; }
};

Beside FindBeside(double diameter_mm, DrillSets sets) {
  Beside beside;
  if (!std::isfinite(diameter_mm)) return beside;
  const Size* const begin = kSizes.data();
  const Size* const end = begin + kSizes.size();
  const Size* at = std::partition_point(
      begin, end, [&](const Size& size) { return size.diameter_mm < diameter_mm - kSlack_mm; });
  const Size* down = at;
  while (at != end && !sets.Has(at->set)) ++at;
  if (at != end) beside.above = at;
  if (at != end && at->diameter_mm <= diameter_mm + kSlack_mm) {
    beside.below = at;
    return beside;
  }
  while (down != begin && beside.below == nullptr) {
    --down;
    if (sets.Has(down->set)) beside.below = down;
  }
  // Of two alike the one of the earlier set.
  while (beside.below != nullptr && beside.below != begin) {
    const Size* before = beside.below - 1;
    if (before->diameter_mm != beside.below->diameter_mm || !sets.Has(before->set)) break;
    beside.below = before;
  }
  return beside;
}

std::optional<Drill> OfSet(DrillSet set, int index) {
  for (const Size& size : kSizes) {
    if (size.set == set && size.index == index) return DrillOf(size);
  }
  return std::nullopt;
}

// Capitals without spaces and inch marks; "no. 7" as "#7".
std::string PlainName(std::string_view name) {
  std::string plain;
  for (const char c : name) {
    if (c != ' ' && c != '"') plain += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  }
  for (const std::string_view front : {"NO.", "NO"}) {
    if (plain.starts_with(front)) return "#" + plain.substr(front.size());
  }
  return plain;
}

std::optional<int> Whole(std::string_view text) {
  int value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
  return value;
}

std::optional<Drill> FindMetric(std::string_view text) {
  double millimetres = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), millimetres);
  if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
  const double hundredths = 100 * millimetres;
  if (!(std::abs(hundredths - std::round(hundredths)) < 1e-6 && hundredths < 10000)) {
    return std::nullopt;
  }
  return OfSet(DrillSet::kMetric, static_cast<int>(std::round(hundredths)));
}

}  // namespace

bool DrillSets::Has(DrillSet set) const {
  switch (set) {
    case DrillSet::kMetric:
      return metric;
    case DrillSet::kFraction:
      return fraction;
    case DrillSet::kNumber:
      return number;
    case DrillSet::kLetter:
      return letter;
  }
  return false;
}

std::span<const double> ReamerDiameters_mm() { return kReamers_mm; }
std::span<const double> InchReamerDiameters_mm() { return kInchReamers_mm; }

std::vector<Drill> Drills(DrillSets sets) {
  std::vector<Drill> drills;
  for (const Size& size : kSizes) {
    if (sets.Has(size.set)) drills.push_back(DrillOf(size));
  }
  return drills;
}

std::optional<Drill> FindDrill(std::string_view name) {
  const std::string plain = PlainName(name);
  const std::string_view text = plain;
  if (text.empty()) return std::nullopt;
  if (text.ends_with("MM")) return FindMetric(text.substr(0, text.size() - 2));
  if (text.front() == '#') {
    const auto number = Whole(text.substr(1));
    return number ? OfSet(DrillSet::kNumber, *number) : std::nullopt;
  }
  if (text.size() == 1 && text.front() >= 'A') return OfSet(DrillSet::kLetter, text.front() - 'A');
  const std::size_t slash = text.find('/');
  const bool inch_mark = name.find('"') != std::string_view::npos;
  if (slash == std::string_view::npos && !inch_mark) return FindMetric(text);
  const auto over = Whole(text.substr(0, slash));
  const auto under =
      slash == std::string_view::npos ? std::optional<int>(1) : Whole(text.substr(slash + 1));
  if (!over || !under || *under < 1 || *over < 1 || kFractions % *under != 0) return std::nullopt;
  if (*over > kFractions) return std::nullopt;
  return OfSet(DrillSet::kFraction, *over * (kFractions / *under));
}

Result<Drill> NearestDrill(double diameter_mm, DrillSets sets) {
  const Beside beside = FindBeside(diameter_mm, sets);
  if (!beside.both()) return OutOfRange(diameter_mm, sets);
  const double down_mm = diameter_mm - beside.below->diameter_mm;
  const double up_mm = beside.above->diameter_mm - diameter_mm;
  return DrillOf(up_mm < down_mm - kSlack_mm ? *beside.above : *beside.below);
}

Result<Drill> DrillAtOrBelow(double diameter_mm, DrillSets sets) {
  const Beside beside = FindBeside(diameter_mm, sets);
  if (!beside.both()) return OutOfRange(diameter_mm, sets);
  return DrillOf(*beside.below);
}

Result<Drill> DrillAtOrAbove(double diameter_mm, DrillSets sets) {
  const Beside beside = FindBeside(diameter_mm, sets);
  if (!beside.both()) return OutOfRange(diameter_mm, sets);
  return DrillOf(*beside.above);
}

}  // namespace fitwright::trade
