// The limits of one series each, behind thread_limits.h. `klass` is one of the series' own.
#pragma once

#include "fitwright/trade/thread_limits.h"

namespace fitwright::trade {

Result<ExternalThreadLimits> MetricExternalLimits(const ThreadRow& row, std::string_view klass);
Result<InternalThreadLimits> MetricInternalLimits(const ThreadRow& row, std::string_view klass);
Result<ExternalThreadLimits> UnifiedExternalLimits(const ThreadRow& row, std::string_view klass);
Result<InternalThreadLimits> UnifiedInternalLimits(const ThreadRow& row, std::string_view klass);

}  // namespace fitwright::trade
