// Limits of screw threads by class, for the normal length of engagement only (ISO 965-1 group N,
// ASME B1.1 up to 1.5 D, UNEF for about 9 P). Sources and rounding stand in thread_limits_*.cc;
// those of UNEF are computed by the standard's formulas and not compared with its table, so that
// their last digit may differ where the table rounds otherwise.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/trade/threads.h"

namespace fitwright::trade {

struct ExternalThreadLimits {
  SizeLimits major;
  SizeLimits pitch;
  std::optional<SizeLimits> minor;  // where the standard gives it (BA)
};
struct InternalThreadLimits {
  double major_least_mm = 0;
  SizeLimits pitch;
  SizeLimits minor;
};

// The classes with limits here, finest first; empty for BSW, BSF and the model maker's series.
//   metric  4h 6e 6g 6h 8g; 4H 5H 6G 6H 7H     unified 3A 2A 1A; 3B 2B 1B
//   BA      close normal; nut                  pipe    A B; inside
std::span<const std::string_view> ExternalClasses(ThreadSeries series);
std::span<const std::string_view> InternalClasses(ThreadSeries series);
// What a screw, or a tapped hole, has when nothing is said: 6g, 2A, normal, A; 6H, 2B, nut, inside.
// Empty without limits. Grade 6 is not standard for pitches under 0.3 inside: 5H there.
std::string_view UsualExternalClass(const ThreadRow& row);
std::string_view UsualInternalClass(const ThreadRow& row);

// Metric rounded to 0.001 mm as ISO 965-2 prints them, unified to 0.0001 in (inside minor of 1B and
// 2B from #6 up to 0.001 in, the least of 3B too). Errors: kOutOfRange (no limits in the series, no
// such grade at the pitch, class 1 under 1/4 in or of UNEF), kUnknownWord (no such class; remedy
// lists them). No allocation on success; a microsecond at the most.
Result<ExternalThreadLimits> FindExternalLimits(const ThreadRow& row, std::string_view klass);
Result<InternalThreadLimits> FindInternalLimits(const ThreadRow& row, std::string_view klass);

// Greatest and least outside of a screw as sold, in its usual class; nothing without limits.
std::optional<SizeLimits> ScrewMajorAsSold(const ThreadRow& row);

}  // namespace fitwright::trade
