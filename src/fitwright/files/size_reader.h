// Sizes with their limits: fit, plus_minus, limits, deviations, or the general tolerance. Internal
// to files/.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "fitwright/files/table_reader.h"
#include "fitwright/units/size.h"

namespace fitwright::files {

enum class SizeOf { kHole, kShaft, kWidth, kFace };

struct SizeWish {
  std::string_view key = "diameter";
  SizeOf of = SizeOf::kHole;
  std::string general_tolerance = "m";
  std::optional<double> nominal_mm;  // when the sheet may leave the key out
  double general_for_mm = 0;         // kFace: the length whose general tolerance counts
};

// Nothing when faulty (reported) or when neither the key nor a nominal is there (also reported).
std::optional<Size> ReadSize(TableReader& table, const SizeWish& wish);

// [lower, upper] with lower < upper; reports swapped ones. The numbers are in mm unless raw.
struct Bounds {
  double lower = 0;
  double upper = 0;
};
std::optional<Bounds> ReadBounds(TableReader& table, std::string_view key);

// Plus and minus by the class; sizes outside the standard's table take its nearest row.
double GeneralOrNearest_mm(double nominal_mm, std::string_view klass);

}  // namespace fitwright::files
