#include "fitwright/trade/thread_limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "fitwright/trade/thread_limits_by_series.h"

namespace fitwright::trade {
namespace {

using Names = std::span<const std::string_view>;

constexpr auto kMetricOutside = std::to_array<std::string_view>({"4h", "6h", "6g", "6e", "8g"});
constexpr auto kMetricInside = std::to_array<std::string_view>({"4H", "5H", "6H", "6G", "7H"});
constexpr auto kUnifiedOutside = std::to_array<std::string_view>({"3A", "2A", "1A"});
constexpr auto kUnifiedInside = std::to_array<std::string_view>({"3B", "2B", "1B"});
constexpr auto kBaOutside = std::to_array<std::string_view>({"close", "normal"});
constexpr auto kBaInside = std::to_array<std::string_view>({"nut"});
constexpr auto kPipeOutside = std::to_array<std::string_view>({"A", "B"});
constexpr auto kPipeInside = std::to_array<std::string_view>({"inside"});

// BS 93:1951, 0 to 10 BA, mm over the pitch p (read): tolerances downward from the basic size, of a
// normal bolt from 0.025 below it; the nut's upward.
struct BaClass {
  std::string_view name;
  double allowance_mm;
  double major_pitches;
  double pitch_pitches, pitch_mm;
  double minor_pitches, minor_mm;
};
constexpr BaClass kBaClose{"close", 0, 0.15, 0.08, 0.02, 0.16, 0.04};
constexpr BaClass kBaNormal{"normal", 0.025, 0.20, 0.10, 0.025, 0.20, 0.05};
constexpr double kBaNutPitch_pitches = 0.12;
constexpr double kBaNutPitch_mm = 0.03;
constexpr double kBaNutMinor_pitches = 0.375;
constexpr double kBaLeast_mm = 1.7;  // 10 BA

// ISO 228-1:2000, mm by threads to the inch: tolerances of major, pitch diameter (class A; B has
// twice that), and inside of pitch and minor diameter. From memory.
struct PipeRow {
  double per_inch;
  double major_mm, pitch_mm, minor_mm;
};
constexpr auto kPipeRows = std::to_array<PipeRow>(
    {{28, 0.214, 0.107, 0.282}, {19, 0.250, 0.125, 0.445}, {14, 0.284, 0.142, 0.541}});

double ToMicrometre(double value_mm) { return std::round(value_mm * 1000) / 1000; }
SizeLimits Rounded(double lower_mm, double upper_mm) {
  return {ToMicrometre(lower_mm), ToMicrometre(upper_mm)};
}

Status CheckClass(const ThreadRow& row, Names names, std::string_view klass) {
  if (names.empty()) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("{} has no limits here: {}", row.designation, StandardOf(row.series)),
              std::string(klass),
              "make it to its mate, or to a gauge",
              {}});
  }
  if (std::find(names.begin(), names.end(), klass) == names.end()) {
    return Unexpected(Error{ErrorCode::kUnknownWord,
                            fmt::format("no such class of {}", row.designation),
                            std::string(klass),
                            fmt::format("write {}", fmt::join(names, ", ")),
                            {}});
  }
  if (row.series == ThreadSeries::kBa && row.major_mm < kBaLeast_mm) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            "limits of BA are known from 0 to 10 BA",
                            std::string(row.designation),
                            "make it to its mate, or to a gauge",
                            {}});
  }
  return Ok{};
}

const PipeRow& PipeTolerances(const ThreadRow& row) {
  for (const PipeRow& pipe : kPipeRows) {
    if (pipe.per_inch == row.per_inch) return pipe;
  }
  FailCheck("pipe thread has tolerances", __FILE__, __LINE__, std::string(row.designation));
}

ExternalThreadLimits BaExternal(const ThreadRow& row, std::string_view name) {
  const BaClass& klass = name == kBaClose.name ? kBaClose : kBaNormal;
  const auto below = [&](double basic_mm, double tolerance_mm) {
    const double upper = basic_mm - klass.allowance_mm;
    return Rounded(upper - tolerance_mm, upper);
  };
  const double p = row.pitch_mm;
  return {below(row.major_mm, klass.major_pitches * p),
          below(PitchDiameter_mm(row), klass.pitch_pitches * p + klass.pitch_mm),
          below(MinorDiameter_mm(row), klass.minor_pitches * p + klass.minor_mm)};
}

InternalThreadLimits BaInternal(const ThreadRow& row) {
  const double p = row.pitch_mm;
  const double pitch = PitchDiameter_mm(row);
  const double minor = MinorDiameter_mm(row);
  return {row.major_mm, Rounded(pitch, pitch + kBaNutPitch_pitches * p + kBaNutPitch_mm),
          Rounded(minor, minor + kBaNutMinor_pitches * p)};
}

ExternalThreadLimits PipeExternal(const ThreadRow& row, std::string_view klass) {
  const PipeRow& pipe = PipeTolerances(row);
  const double pitch = PitchDiameter_mm(row);
  return {Rounded(row.major_mm - pipe.major_mm, row.major_mm),
          Rounded(pitch - pipe.pitch_mm * (klass == "A" ? 1 : 2), pitch), std::nullopt};
}

InternalThreadLimits PipeInternal(const ThreadRow& row) {
  const PipeRow& pipe = PipeTolerances(row);
  const double pitch = PitchDiameter_mm(row);
  const double minor = MinorDiameter_mm(row);
  return {row.major_mm, Rounded(pitch, pitch + pipe.pitch_mm),
          Rounded(minor, minor + pipe.minor_mm)};
}

}  // namespace

Names ExternalClasses(ThreadSeries series) {
  if (IsMetric(series)) return kMetricOutside;
  if (IsUnified(series)) return kUnifiedOutside;
  if (series == ThreadSeries::kBa) return kBaOutside;
  return series == ThreadSeries::kPipe ? Names(kPipeOutside) : Names();
}

Names InternalClasses(ThreadSeries series) {
  if (IsMetric(series)) return kMetricInside;
  if (IsUnified(series)) return kUnifiedInside;
  if (series == ThreadSeries::kBa) return kBaInside;
  return series == ThreadSeries::kPipe ? Names(kPipeInside) : Names();
}

std::string_view UsualExternalClass(const ThreadRow& row) {
  if (IsMetric(row.series)) return "6g";
  if (IsUnified(row.series)) return "2A";
  if (row.series == ThreadSeries::kBa) return "normal";
  return row.series == ThreadSeries::kPipe ? "A" : "";
}

std::string_view UsualInternalClass(const ThreadRow& row) {
  if (IsMetric(row.series)) {
    if (row.pitch_mm < 0.24) return "4H";
    return row.pitch_mm < 0.29 ? "5H" : "6H";
  }
  if (IsUnified(row.series)) return "2B";
  if (row.series == ThreadSeries::kBa) return "nut";
  return row.series == ThreadSeries::kPipe ? "inside" : "";
}

Result<ExternalThreadLimits> FindExternalLimits(const ThreadRow& row, std::string_view klass) {
  const Status known = CheckClass(row, ExternalClasses(row.series), klass);
  if (!known) return Unexpected(known.error());
  if (IsMetric(row.series)) return MetricExternalLimits(row, klass);
  if (IsUnified(row.series)) return UnifiedExternalLimits(row, klass);
  if (row.series == ThreadSeries::kBa) return BaExternal(row, klass);
  return PipeExternal(row, klass);
}

Result<InternalThreadLimits> FindInternalLimits(const ThreadRow& row, std::string_view klass) {
  const Status known = CheckClass(row, InternalClasses(row.series), klass);
  if (!known) return Unexpected(known.error());
  if (IsMetric(row.series)) return MetricInternalLimits(row, klass);
  if (IsUnified(row.series)) return UnifiedInternalLimits(row, klass);
  if (row.series == ThreadSeries::kBa) return BaInternal(row);
  return PipeInternal(row);
}

std::optional<SizeLimits> ScrewMajorAsSold(const ThreadRow& row) {
  const std::string_view klass = UsualExternalClass(row);
  if (klass.empty()) return std::nullopt;
  const auto limits = FindExternalLimits(row, klass);
  if (!limits) return std::nullopt;
  return limits->major;
}

}  // namespace fitwright::trade
