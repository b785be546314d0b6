#include "fitwright/trade/circlips.h"

#include <array>
#include <cmath>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

struct Row {
  double nominal_mm;
  double thickness_mm;
  double groove_mm;
  double width_mm;
};

// DIN 471:2011, normal type, groove columns. 3 to 22, 45, 48 and 50 read in two public listings
// that agree; 24 to 42 from memory. Sizes 23, 27, 29, 31, 33, 37, 39, 41, 43, 44, 46, 47 left out.
constexpr auto kShaft = std::to_array<Row>(
    {{3, 0.4, 2.8, 0.5},     {4, 0.4, 3.8, 0.5},     {5, 0.6, 4.8, 0.7},     {6, 0.7, 5.7, 0.8},
     {7, 0.8, 6.7, 0.9},     {8, 0.8, 7.6, 0.9},     {9, 1.0, 8.6, 1.1},     {10, 1.0, 9.6, 1.1},
     {11, 1.0, 10.5, 1.1},   {12, 1.0, 11.5, 1.1},   {13, 1.0, 12.4, 1.1},   {14, 1.0, 13.4, 1.1},
     {15, 1.0, 14.3, 1.1},   {16, 1.0, 15.2, 1.1},   {17, 1.0, 16.2, 1.1},   {18, 1.2, 17.0, 1.3},
     {19, 1.2, 18.0, 1.3},   {20, 1.2, 19.0, 1.3},   {21, 1.2, 20.0, 1.3},   {22, 1.2, 21.0, 1.3},
     {24, 1.2, 22.9, 1.3},   {25, 1.2, 23.9, 1.3},   {26, 1.2, 24.9, 1.3},   {28, 1.5, 26.6, 1.6},
     {30, 1.5, 28.6, 1.6},   {32, 1.5, 30.3, 1.6},   {34, 1.5, 32.3, 1.6},   {35, 1.5, 33.0, 1.6},
     {36, 1.75, 34.0, 1.85}, {38, 1.75, 36.0, 1.85}, {40, 1.75, 37.5, 1.85}, {42, 1.75, 39.5, 1.85},
     {45, 1.75, 42.5, 1.85}, {48, 1.75, 45.5, 1.85}, {50, 2.0, 47.0, 2.15}});

// DIN 472:2011, normal type, groove columns. 8 to 16 read in a public listing; the others from
// memory. Sizes 23, 27, 29, 33, 39, 41, 43, 44, 46, 51 left out.
constexpr auto kBore = std::to_array<Row>(
    {{8, 0.8, 8.4, 0.9},     {9, 0.8, 9.4, 0.9},     {10, 1.0, 10.4, 1.1},   {11, 1.0, 11.4, 1.1},
     {12, 1.0, 12.5, 1.1},   {13, 1.0, 13.6, 1.1},   {14, 1.0, 14.6, 1.1},   {15, 1.0, 15.7, 1.1},
     {16, 1.0, 16.8, 1.1},   {17, 1.0, 17.8, 1.1},   {18, 1.0, 19.0, 1.1},   {19, 1.0, 20.0, 1.1},
     {20, 1.0, 21.0, 1.1},   {21, 1.0, 22.0, 1.1},   {22, 1.0, 23.0, 1.1},   {24, 1.2, 25.2, 1.3},
     {25, 1.2, 26.2, 1.3},   {26, 1.2, 27.2, 1.3},   {28, 1.2, 29.4, 1.3},   {30, 1.2, 31.4, 1.3},
     {31, 1.2, 32.7, 1.3},   {32, 1.2, 33.7, 1.3},   {34, 1.5, 35.7, 1.6},   {35, 1.5, 37.0, 1.6},
     {36, 1.5, 38.0, 1.6},   {37, 1.5, 39.0, 1.6},   {38, 1.5, 40.0, 1.6},   {40, 1.75, 42.5, 1.85},
     {42, 1.75, 44.5, 1.85}, {45, 1.75, 47.5, 1.85}, {47, 1.75, 49.5, 1.85}, {48, 1.75, 50.5, 1.85},
     {50, 2.0, 53.0, 2.15},  {52, 2.0, 55.0, 2.15}});

// H13 of a groove as narrow as these: IT13 to 3 mm (ISO 286-1).
constexpr double kWidthHigh_mm = 0.14;

struct Step {
  double to_mm;
  double width_mm;
};
// Width of the groove's tolerance as DIN 471 prints it, by groove diameter: h10 to 9.6 (IT10 over 6
// mm, 0.058, is printed 0.06), h11 for the shafts 11 to 22, h12 from 24 on. DIN 472: H11 to the
// bore of 22, H12 from 24 on. 3 to 12 and the classes read in a public listing; beyond it IT11 and
// IT12 of ISO 286-1.
constexpr auto kShaftGroove = std::to_array<Step>(
    {{3, 0.04}, {6, 0.048}, {9.6, 0.06}, {18, 0.11}, {21, 0.13}, {30, 0.21}, {50, 0.25}});
constexpr auto kBoreGroove =
    std::to_array<Step>({{10, 0.09}, {18, 0.11}, {23, 0.13}, {30, 0.21}, {50, 0.25}, {80, 0.30}});

template <std::size_t N>
constexpr double WidthAt(const std::array<Step, N>& steps, double groove_mm) {
  for (const Step& step : steps) {
    if (groove_mm <= step.to_mm) return step.width_mm;
  }
  return steps.back().width_mm;
}

// Three times the depth of the groove, rounded up to a tenth: so every collar of DIN 471 that was
// read (3 to 19 mm).
constexpr double Collar_mm(double nominal_mm, double groove_mm) {
  const double depth = nominal_mm > groove_mm ? nominal_mm - groove_mm : groove_mm - nominal_mm;
  const double tenths = 15 * depth;  // 3 x depth / 2, in tenths
  const int whole = static_cast<int>(tenths + 1e-9);
  return (whole + (tenths - whole > 1e-9 ? 1 : 0)) / 10.0;
}

constexpr Circlip Make(const Row& row, double low_mm, double high_mm) {
  Circlip clip;
  clip.nominal_mm = row.nominal_mm;
  clip.thickness_mm = row.thickness_mm;
  clip.groove_mm = row.groove_mm;
  clip.groove_low_mm = low_mm;
  clip.groove_high_mm = high_mm;
  clip.width_mm = row.width_mm;
  clip.width_high_mm = kWidthHigh_mm;
  clip.collar_mm = Collar_mm(row.nominal_mm, row.groove_mm);
  return clip;
}

constexpr auto MakeShaft() {
  std::array<Circlip, kShaft.size()> clips{};
  for (std::size_t i = 0; i < clips.size(); ++i) {
    clips[i] = Make(kShaft[i], -WidthAt(kShaftGroove, kShaft[i].groove_mm), 0);
  }
  return clips;
}
constexpr auto MakeBore() {
  std::array<Circlip, kBore.size()> clips{};
  for (std::size_t i = 0; i < clips.size(); ++i) {
    clips[i] = Make(kBore[i], 0, WidthAt(kBoreGroove, kBore[i].groove_mm));
  }
  return clips;
}
constexpr auto kShaftClips = MakeShaft();
constexpr auto kBoreClips = MakeBore();

Result<Circlip> Find(std::span<const Circlip> clips, double size_mm, const char* standard) {
  constexpr double kSame_mm = 1e-6;
  const double first = clips.front().nominal_mm;
  const double last = clips.back().nominal_mm;
  if (auto fault = RangeFault(size_mm, 0, INFINITY, standard)) return Unexpected(*std::move(fault));
  if (size_mm < first - kSame_mm || size_mm > last + kSame_mm) {
    return Unexpected(
        Fault(ErrorCode::kOutOfRange, fmt::format("{}", size_mm),
              fmt::format("{} is tabled here from {:g} to {:g} mm", standard, first, last),
              fmt::format("choose a size from {:g} to {:g} mm", first, last)));
  }
  const Circlip* below = &clips.front();
  for (const Circlip& clip : clips) {
    if (std::fabs(clip.nominal_mm - size_mm) < kSame_mm) return clip;
    if (clip.nominal_mm < size_mm) below = &clip;
  }
  return Unexpected(
      Fault(ErrorCode::kOutOfRange, fmt::format("{}", size_mm),
            fmt::format("{} of this size is not in the table", standard),
            fmt::format("choose {:g} or {:g} mm", below->nominal_mm, (below + 1)->nominal_mm)));
}

}  // namespace

std::span<const Circlip> ShaftCirclips() { return kShaftClips; }
std::span<const Circlip> BoreCirclips() { return kBoreClips; }

Result<Circlip> FindShaftCirclip(double shaft_mm) {
  return Find(kShaftClips, shaft_mm, "a circlip to DIN 471");
}
Result<Circlip> FindBoreCirclip(double bore_mm) {
  return Find(kBoreClips, bore_mm, "a circlip to DIN 472");
}

}  // namespace fitwright::trade
