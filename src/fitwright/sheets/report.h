// The terminal report: the build book in monospace.
#pragma once

#include <string>

#include "fitwright/sheets/book.h"

namespace fitwright::sheets {

struct ReportOptions {
  LengthUnit unit = LengthUnit::kMillimetre;
  int width = 80;       // 60..120
  bool colour = false;  // only when the reader is a terminal and NO_COLOR is not set
  bool older_than_sheets = false;
};

std::string MakeReport(const Machine& machine, const Shop& shop, const Plan& plan,
                       const ReportOptions& options);

// The odds pages alone.
std::string MakeOddsReport(const Machine& machine, const Shop& shop, const Plan& plan,
                           const Odds& odds, const ReportOptions& options);

// What the replay of the plan's cuts found: one row for each part, then each violation.
std::string MakeReplayReport(const Plan& plan, const ReplayReport& replay,
                             const ReportOptions& options);

}  // namespace fitwright::sheets
