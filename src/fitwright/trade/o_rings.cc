#include "fitwright/trade/o_rings.h"

#include <array>
#include <numbers>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

constexpr double kThou_mm = 0.0254;
constexpr double kMostSection_mm = 10;

// AS568 inside diameters in thousandths of an inch, from memory; every fourth or so agrees with a
// public excerpt. Sections and their tolerances read. Beyond -028, -128 and -222 left out, as are
// the tolerances of the inside diameters.
constexpr auto kInside0 = std::to_array<int>(
    {70,  101, 114, 145, 176, 208, 239,  301,  364,  426,  489,  551, 614,
     676, 739, 801, 864, 926, 989, 1051, 1114, 1176, 1239, 1301, 1364});  // -004 to -028
constexpr auto kInside1 = std::to_array<int>(
    {49,  81,  112, 143, 174, 206,  237,  299,  362,  424,  487,  549,  612, 674,
     737, 799, 862, 924, 987, 1049, 1112, 1174, 1237, 1299, 1362, 1424, 1487});  // -102 to -128
constexpr auto kInside2 =
    std::to_array<int>({171, 234, 296,  359,  421,  484,  546,  609,  671,  734, 796, 859,
                        921, 984, 1046, 1109, 1171, 1234, 1296, 1359, 1421, 1484});  // -201 to -222

constexpr std::size_t kCount = kInside0.size() + kInside1.size() + kInside2.size();

constexpr std::array<ORing, kCount> MakeRings() {
  std::array<ORing, kCount> rings{};
  std::size_t at = 0;
  const auto add = [&](int first, const auto& inside, int section, int tolerance) {
    for (std::size_t i = 0; i < inside.size(); ++i) {
      rings[at++] = {first + static_cast<int>(i), inside[i] * kThou_mm, section * kThou_mm,
                     tolerance * kThou_mm};
    }
  };
  add(4, kInside0, 70, 3);
  add(102, kInside1, 103, 3);
  add(201, kInside2, 139, 4);
  return rings;
}
constexpr auto kRings = MakeRings();

}  // namespace

std::span<const ORing> ORings() { return kRings; }

Result<ORing> FindORing(int dash) {
  for (const ORing& ring : kRings) {
    if (ring.dash == dash) return ring;
  }
  return Unexpected(Fault(ErrorCode::kOutOfRange, fmt::format("-{:03}", dash),
                          "this dash number of AS568 is not in the table",
                          "choose -004 to -028, -102 to -128 or -201 to -222"));
}

Result<ORing> ORingForGroove(double groove_mm, double section_mm) {
  constexpr double kSame_mm = 0.05;
  const ORing* found = nullptr;
  double least_mm = 0;
  double most_mm = 0;
  for (const ORing& ring : kRings) {
    if (ring.section_mm < section_mm - kSame_mm || ring.section_mm > section_mm + kSame_mm)
      continue;
    if (found == nullptr) {
      found = &ring;
      least_mm = ring.inside_mm;
    }
    most_mm = ring.inside_mm;
    if (ring.inside_mm <= groove_mm) found = &ring;
  }
  if (most_mm == 0) {
    return Unexpected(Fault(ErrorCode::kOutOfRange, fmt::format("{}", section_mm),
                            "no O-ring of this section is in the table",
                            "choose a section of 1.78, 2.62 or 3.53 mm"));
  }
  // Past the largest ring by more than a tenth it would be stretched too far.
  constexpr double kMostStretch = 1.1;
  if (auto fault = RangeFault(groove_mm, least_mm * (1 - 1e-12), most_mm * kMostStretch,
                              "an O-ring's groove")) {
    return Unexpected(*std::move(fault));
  }
  return *found;
}

// Common practice: 20 to 30 % on a face, 15 to 25 % radial and still, 10 to 18 % radial and moving.
Squeeze SqueezeFor(ORingUse use) {
  switch (use) {
    case ORingUse::kFace:
      return {0.20, 0.30};
    case ORingUse::kStaticRadial:
      return {0.15, 0.25};
    case ORingUse::kMoving:
      break;
  }
  return {0.10, 0.18};
}

Result<ORingGroove> GrooveFor(double section_mm, ORingUse use) {
  if (auto fault = RangeFault(section_mm, 0, kMostSection_mm, "an O-ring's section")) {
    return Unexpected(*std::move(fault));
  }
  const Squeeze squeeze = SqueezeFor(use);
  ORingGroove groove;
  groove.depth_mm = section_mm * (1 - 0.5 * (squeeze.least + squeeze.most));
  const double area_mm2 = std::numbers::pi / 4 * section_mm * section_mm;
  groove.width_mm = area_mm2 / (kGrooveFill * groove.depth_mm);
  return groove;
}

}  // namespace fitwright::trade
