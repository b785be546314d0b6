#include "fitwright/trade/general_tolerance.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <optional>
#include <span>

namespace fitwright::trade {
namespace {

constexpr double kRadPerMinute = 3.14159265358979323846 / 180 / 60;
constexpr double kLeast_mm = 0.5;

// ISO 2768-1:1989. From memory; 0 = the standard gives none. Steps: over the one before, up to and
// including. Columns f m c v.
struct LinearRow {
  double to_mm;
  std::array<double, 4> plus_minus_mm;
};
// Table 1, linear sizes; the first step begins at 0.5 mm.
constexpr LinearRow kLinear[] = {{3, {0.05, 0.1, 0.2, 0}},    {6, {0.05, 0.1, 0.3, 0.5}},
                                 {30, {0.1, 0.2, 0.5, 1}},    {120, {0.15, 0.3, 0.8, 1.5}},
                                 {400, {0.2, 0.5, 1.2, 2.5}}, {1000, {0.3, 0.8, 2, 4}},
                                 {2000, {0.5, 1.2, 3, 6}},    {4000, {0, 2, 4, 8}}};
// Table 2, external radii and chamfer heights; no upper end.
constexpr LinearRow kEdges[] = {
    {3, {0.2, 0.2, 0.4, 0.4}}, {6, {0.5, 0.5, 1, 1}}, {1e9, {1, 1, 2, 2}}};
// Table 3, angles, minutes of arc, by the shorter side; no upper end.
constexpr LinearRow kAngles[] = {{10, {60, 60, 90, 180}},
                                 {50, {30, 30, 60, 120}},
                                 {120, {20, 20, 30, 60}},
                                 {400, {10, 10, 15, 30}},
                                 {1e9, {5, 5, 10, 20}}};

std::optional<std::size_t> ColumnOf(std::string_view klass) {
  constexpr std::string_view kClasses = "fmcv";
  if (klass.size() != 1) return std::nullopt;
  const std::size_t at = kClasses.find(klass.front());
  return at == std::string_view::npos ? std::nullopt : std::optional<std::size_t>(at);
}

Error Fault(ErrorCode code, std::string value, std::string message, std::string remedy) {
  Error error;
  error.code = code;
  error.value = std::move(value);
  error.message = std::move(message);
  error.remedy = std::move(remedy);
  return error;
}

Result<double> LookUp(std::span<const LinearRow> rows, double size_mm, double least_mm,
                      std::string_view klass) {
  const auto column = ColumnOf(klass);
  if (!column) {
    return Unexpected(Fault(ErrorCode::kUnknownWord, std::string(klass),
                            "this is not a class of ISO 2768-1", "write f, m, c or v"));
  }
  const std::string value = fmt::format("{}", size_mm);
  if (!std::isfinite(size_mm)) {
    return Unexpected(Fault(ErrorCode::kNotFinite, value, "a size must be a finite number",
                            "give the size in mm"));
  }
  const double size = std::fabs(size_mm);
  for (const LinearRow& row : rows) {
    const double tolerance = row.plus_minus_mm[*column];
    if (size < least_mm || size > row.to_mm) continue;
    if (tolerance > 0) return tolerance;
    break;
  }
  return Unexpected(Fault(ErrorCode::kOutOfRange, value,
                          fmt::format("ISO 2768-{} gives no tolerance for {} mm", klass, size_mm),
                          "write plus_minus, limits or a fit beside the size"));
}

}  // namespace

Result<double> GeneralTolerance_mm(double nominal_mm, std::string_view klass) {
  return LookUp(kLinear, nominal_mm, kLeast_mm, klass);
}

Result<double> GeneralEdgeTolerance_mm(double nominal_mm, std::string_view klass) {
  return LookUp(kEdges, nominal_mm, kLeast_mm, klass);
}

Result<double> GeneralAngleTolerance_rad(double shorter_side_mm, std::string_view klass) {
  const auto minutes = LookUp(kAngles, shorter_side_mm, 0, klass);
  if (!minutes) return minutes;
  return *minutes * kRadPerMinute;
}

Result<Size> MakeGeneralSize(double nominal_mm, std::string_view klass) {
  const auto tolerance = GeneralTolerance_mm(nominal_mm, klass);
  if (!tolerance) return Unexpected(tolerance.error());
  Size size;
  size.nominal_mm = nominal_mm;
  size.lower_mm = nominal_mm - *tolerance;
  size.upper_mm = nominal_mm + *tolerance;
  size.origin = LimitsOrigin::kGeneralTolerance;
  return size;
}

}  // namespace fitwright::trade
