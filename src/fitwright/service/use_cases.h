// What a person asks for that needs no solids: open a project, check it, odds of its plan.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/diagnostics.h"
#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/files/project.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/plan_origin.h"
#include "fitwright/review/review.h"
#include "fitwright/sheets/report.h"

namespace fitwright::service {

struct OpenOptions {
  std::filesystem::path dir;
  std::optional<std::filesystem::path> shop_file;  // instead of the project's own
  std::optional<LengthUnit> unit;                  // instead of the machine's display unit
};

struct Opened {
  files::Project project;
  LengthUnit unit = LengthUnit::kMillimetre;
};

// Reads the folder. Faults as files::LoadProject; the Error returned is the first of them.
Result<Opened> Open(const OpenOptions& options, Diagnostics& faults);

struct CheckOutcome {
  std::vector<review::Finding> findings;  // empty: nothing against it
  std::vector<std::string> assumed;       // unclear or far off, and taken as said
  bool deep = false;                      // solids were looked at too
};
CheckOutcome Check(const Opened& opened);
std::string CheckReport(const Opened& opened, const CheckOutcome& outcome,
                        const sheets::ReportOptions& options);
// {schema: fitwright-check/1, ok, deep, findings:[{rule, where, file, line, say, remedy}], assumed}.
std::string CheckToJson(const CheckOutcome& outcome);

// The project's saved plan, and whether sheets, shop or choices have changed since it was made.
struct SavedPlan {
  Plan plan;
  bool older_than_sheets = false;
  std::string id = {};  // PlanIdOf its file
  PlanOrigin origin = {};
};
// Errors: kFileMissing with "plan first" as remedy, and those of files::LoadPlan.
Result<SavedPlan> LoadSavedPlan(const Opened& opened);

struct OddsUse {
  std::int64_t builds = 20000;
  std::uint64_t seed = 1;
  int threads = 0;
  const CancelFlag* cancel = nullptr;
};

}  // namespace fitwright::service
