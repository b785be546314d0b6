#include "fitwright/trade/fasteners.h"

#include <fmt/format.h>

#include <cmath>

#include "fitwright/trade/fastener_tables.h"

namespace fitwright::trade {
namespace {

constexpr double kSame_mm = 1e-6;

template <typename Row>
const Row* OfSize(std::span<const Row> rows, double major_mm) {
  for (const Row& row : rows) {
    if (std::abs(row.major_mm - major_mm) < kSame_mm) return &row;
  }
  return nullptr;
}

template <typename Row>
const Row* OfThread(std::span<const Row> metric, std::span<const Row> inch, const ThreadRow& row) {
  if (IsMetric(row.series)) return OfSize(metric, row.major_mm);
  return IsUnified(row.series) ? OfSize(inch, row.major_mm) : nullptr;
}

constexpr double kSpannerLeast_mm = 3;
constexpr double kSpannerGreatest_mm = 60;
constexpr double kSpannerShare = 1.4;
constexpr double kSpannerWall_mm = 3;

}  // namespace

const ScrewHead* FindScrewHead(HeadKind kind, const ThreadRow& row) {
  return OfThread(MetricHeads(kind), InchHeads(kind), row);
}
const SetScrew* FindSetScrew(const ThreadRow& row) {
  return OfThread(MetricSetScrews(), InchSetScrews(), row);
}
const HexNut* FindHexNut(const ThreadRow& row) { return OfThread(MetricNuts(), InchNuts(), row); }
const Washer* FindWasher(const ThreadRow& row) {
  return OfThread(MetricWashers(), InchWashers(), row);
}

std::string_view StandardOfHead(HeadKind kind, ThreadSeries series) {
  if (!IsMetric(series)) return IsUnified(series) ? "ASME B18.3" : "";
  switch (kind) {
    case HeadKind::kSocketCap:
      return "ISO 4762";
    case HeadKind::kButton:
      return "ISO 7380-1";
    case HeadKind::kCountersunk:
      return "ISO 10642";
    case HeadKind::kHexagon:
      return "ISO 4014, ISO 4017";
  }
  return "";
}

std::span<const double> ScrewLengths_mm(ThreadSeries series) {
  return IsMetric(series) ? MetricScrewLengths_mm() : InchScrewLengths_mm();
}

std::optional<double> ScrewLengthAtOrBelow_mm(ThreadSeries series, double longest_mm) {
  std::optional<double> found;
  for (const double length : ScrewLengths_mm(series)) {
    if (length <= longest_mm + kSame_mm) found = length;
  }
  return found;
}

Result<const DowelPin*> FindDowelPin(PinKind kind, double diameter_mm) {
  const auto pins = DowelPins(kind);
  for (const DowelPin& pin : pins) {
    if (std::abs(pin.diameter_mm - diameter_mm) < kSame_mm) return &pin;
  }
  return Unexpected(
      Error{ErrorCode::kOutOfRange,
            fmt::format("{} pins are made in chosen diameters from {:g} to {:g} mm", WordOf(kind),
                        pins.front().diameter_mm, pins.back().diameter_mm),
            fmt::format("{:g} mm", diameter_mm),
            "take one of them, or turn and ream to suit",
            {}});
}

Result<double> SpannerRoom_mm(double across_flats_mm) {
  if (!(across_flats_mm >= kSpannerLeast_mm && across_flats_mm <= kSpannerGreatest_mm)) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            fmt::format("room for a spanner is known from {:g} to {:g} mm across "
                                        "flats",
                                        kSpannerLeast_mm, kSpannerGreatest_mm),
                            fmt::format("{:g} mm", across_flats_mm),
                            "measure the spanner",
                            {}});
  }
  return kSpannerShare * across_flats_mm + kSpannerWall_mm;
}

}  // namespace fitwright::trade
