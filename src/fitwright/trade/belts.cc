#include "fitwright/trade/belts.h"

#include <array>
#include <cmath>
#include <numbers>

namespace fitwright::trade {
namespace {

constexpr double kInch_mm = 25.4;

// Pitches: ISO 5296 (trapezoidal teeth, inch pitches of 0.080, 1/5, 3/8, 1/2, 7/8 and 1 1/4 in; XXL
// is 1/8 in), ISO 13050 (curvilinear teeth, 3, 5, 8 and 14 mm), ISO 17396 (trapezoidal teeth,
// metric). How far the outside of the pulley lies under the pitch line: ISO 5294 for MXL XL L H,
// the trade's figures for the curved teeth of 3, 5 and 8 mm. All from memory.
constexpr auto kBelts = std::to_array<ToothedBelt>({
    {"MXL", "ISO 5296", 0.080 * kInch_mm, 0.508},
    {"XXL", "ISO 5296", 0.125 * kInch_mm, 0.508},
    {"XL", "ISO 5296", 0.2 * kInch_mm, 0.508},
    {"L", "ISO 5296", 0.375 * kInch_mm, 0.762},
    {"H", "ISO 5296", 0.5 * kInch_mm, 1.372},
    {"XH", "ISO 5296", 0.875 * kInch_mm, 0},
    {"XXH", "ISO 5296", 1.25 * kInch_mm, 0},
    {"3M", "ISO 13050", 3, 0.762},
    {"5M", "ISO 13050", 5, 1.143},
    {"8M", "ISO 13050", 8, 1.372},
    {"14M", "ISO 13050", 14, 0},
    {"T2.5", "ISO 17396", 2.5, 0},
    {"T5", "ISO 17396", 5, 0},
    {"T10", "ISO 17396", 10, 0},
});

constexpr auto kRound_mm = std::to_array<double>({2, 3, 4, 5, 6, 8, 10});

char Upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }

bool SameWord(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (Upper(a[i]) != Upper(b[i])) return false;
  }
  return true;
}

}  // namespace

std::span<const ToothedBelt> ToothedBelts() { return kBelts; }

const ToothedBelt* FindToothedBelt(std::string_view name) {
  for (const ToothedBelt& belt : kBelts) {
    if (SameWord(belt.name, name)) return &belt;
  }
  return nullptr;
}

double PitchDiameter_mm(const ToothedBelt& belt, int teeth) {
  return teeth * belt.pitch_mm / std::numbers::pi;
}

std::span<const double> RoundBelts_mm() { return kRound_mm; }

}  // namespace fitwright::trade
