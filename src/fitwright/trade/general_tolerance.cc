#include "fitwright/trade/general_tolerance.h"

#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "fitwright/trade/fault.h"

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

// ISO 2768-2:1989, from memory. Columns H K L; the first step begins at 0.
struct FormRow {
  double to_mm;
  std::array<double, 3> zone_mm;
};
constexpr FormRow kFlat[] = {{10, {0.02, 0.05, 0.1}}, {30, {0.05, 0.1, 0.2}},
                             {100, {0.1, 0.2, 0.4}},  {300, {0.2, 0.4, 0.8}},
                             {1000, {0.3, 0.6, 1.2}}, {3000, {0.4, 0.8, 1.6}}};
constexpr FormRow kSquare[] = {
    {100, {0.2, 0.4, 0.6}}, {300, {0.3, 0.6, 1}}, {1000, {0.4, 0.8, 1.5}}, {3000, {0.5, 1, 2}}};
constexpr FormRow kSymmetric[] = {
    {100, {0.5, 0.6, 0.6}}, {300, {0.5, 0.6, 1}}, {1000, {0.5, 0.8, 1.5}}, {3000, {0.5, 1, 2}}};
constexpr FormRow kRound[] = {{3000, {0.1, 0.2, 0.5}}};

std::span<const FormRow> FormRows(GeneralForm form) {
  switch (form) {
    case GeneralForm::kPerpendicularity:
      return kSquare;
    case GeneralForm::kSymmetry:
      return kSymmetric;
    case GeneralForm::kRunOut:
      return kRound;
    case GeneralForm::kStraightness:
    case GeneralForm::kFlatness:
      break;
  }
  return kFlat;
}

std::optional<std::size_t> ColumnOf(std::string_view klass) {
  constexpr std::string_view kClasses = "fmcv";
  if (klass.size() != 1) return std::nullopt;
  const std::size_t at = kClasses.find(klass.front());
  return at == std::string_view::npos ? std::nullopt : std::optional<std::size_t>(at);
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

Result<double> GeneralForm_mm(GeneralForm form, double length_mm, std::string_view klass) {
  constexpr std::string_view kClasses = "HKL";
  const std::size_t column =
      klass.size() == 1 ? kClasses.find(klass.front()) : std::string_view::npos;
  if (column == std::string_view::npos) {
    return Unexpected(Fault(ErrorCode::kUnknownWord, std::string(klass),
                            "this is not a class of ISO 2768-2", "write H, K or L"));
  }
  const auto rows = FormRows(form);
  if (auto fault = RangeFault(length_mm, 0, rows.back().to_mm, "ISO 2768-2")) {
    return Unexpected(*std::move(fault));
  }
  for (const FormRow& row : rows) {
    if (length_mm <= row.to_mm) return row.zone_mm[column];
  }
  return rows.back().zone_mm[column];
}

}  // namespace fitwright::trade
