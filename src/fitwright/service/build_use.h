// What is asked while a machine is made: what comes next, keep what was done or measured, show the
// log. None of it needs solids, nor sheets that can be read: the plan that is followed is enough.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/service/build_progress.h"
#include "fitwright/service/reading_check.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

// A project as it stands in the workshop.
struct Workshop {
  std::filesystem::path dir;
  std::optional<Opened> opened;  // none: the sheets cannot be read now
  std::optional<Plan> plan;      // none: not planned yet
  std::string plan_json;         // its bytes
  std::string plan_id;           // PlanIdOf these
  bool older_than_sheets = false;
  std::optional<LengthUnit> said_unit;  // of bare numbers and of what is printed
  BuildLog whole_log;                   // empty where nothing was recorded yet
  BuildLog log;                         // without the readings that were taken back
  FollowedPlans followed;               // of the log's revisions that can still be read

  LengthUnit unit() const;
  const Machine* machine() const { return opened ? &opened->project.machine : nullptr; }
};
// Errors: those of reading plan.json (but for kFileMissing) and of the build log.
Result<Workshop> EnterWorkshop(const OpenOptions& options);

// Puts a log that was read in the place of the one before.
void TakeLog(Workshop& workshop, BuildLog log);
// What a page calls a plan: 16 hex digits over the bytes of its plan.json.
std::string PlanIdOf(std::string_view plan_json);
// Errors: kOutOfRange for a build that there cannot be.
Status CheckBuild(int build);

struct NextUse {
  OpenOptions open;
  int build = 1;
  std::int64_t now_ms = 0;
};
struct NextAnswer {
  Workshop workshop;
  BuildProgress progress;
  Next next;
  std::size_t steps = 0;  // in all, on all pieces
  int build = 1;
  // By the readings (rework_use.h, AddNews): sentences for the step, and its target as JSON.
  std::vector<std::string> news;
  std::string target = "null";
};
// Errors: as EnterWorkshop, kFileMissing without a plan, kOutOfRange for a build that there cannot
// be.
Result<NextAnswer> AskNext(const NextUse& use);

struct RecordUse {
  OpenOptions open;
  std::string step;   // "7.3", "s07.3", "body.crank_bore"; "7" with done or undone: all of a setup
  std::string value;  // as typed: "40.03", "1.576in"; empty: no reading
  std::string instrument;  // its name in the shop, or its kind; empty: the one that the step names
  std::string note;
  std::string photo;
  std::string remade;  // a part, "ring#2"
  std::string shop_change;
  bool done = false;
  bool undone = false;
  int copy = 0;  // of several pieces alike; 0: the first on which the step is open
  int build = 1;
  std::int64_t now_ms = 0;
};
struct RecordAnswer {
  Workshop workshop;               // with the log as it stands now
  std::vector<LogEvent> events;    // as kept
  std::optional<StepPlace> place;  // points into workshop.plan
  std::optional<ReadingCheck> check;
  std::vector<std::string> remarks;
};
// A reading within its limits says that its step is done, unless undone is said; one outside is
// kept as it is, and its step stays open unless done is said. Errors: as EnterWorkshop,
// kFileMissing for a step without a plan, kUnknownFeature for a step that the plan has not,
// kUnknownCopy, kUnknownPart, kBadLength, kUsage for nothing to record, and those of
// store::BuildLogStore::Append.
Result<RecordAnswer> Record(const RecordUse& use);

// All of the log as fitwright-log/1 with its plans, into a file. Errors: kFileMissing without a
// log.
Status ExportLog(const std::filesystem::path& dir, const std::filesystem::path& to);
struct ImportAnswer {
  std::size_t added = 0;
  std::size_t known = 0;
};
// Adds what the file has and the log has not. Errors: those of files::BuildLogFromJson and of the
// log.
Result<ImportAnswer> ImportLog(const std::filesystem::path& dir, const std::filesystem::path& from);

}  // namespace fitwright::service
