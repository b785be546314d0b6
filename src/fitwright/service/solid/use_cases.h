// What a person asks for that needs solids: a proved plan, replay, drawings, STEP.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/plan_origin.h"
#include "fitwright/planner/planner.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

// Check, and the rules that look at solids.
Result<CheckOutcome> CheckDeep(const Opened& opened, const WorkOptions& work);

struct PlanUse {
  std::uint64_t seed = 1;
  std::int64_t builds = 20000;
  int threads = 0;
  std::string version;   // of the program, kept in the plan
  WorkOptions work;
  planner::Wish wish = planner::Wish::kLeastHours;
  double sure = 0;       // the odds asked for, 0..1
  int tries = 0;         // times that the search begins again
  bool offers = false;   // the plans worth offering beside it as well
  bool afresh = false;   // from the sheets alone, whatever is done
  int build = 1;         // of several machines: whose log says what is done
  OpenOptions open = {};  // as the project was opened
};
struct ProvedOffer {
  planner::Offer offer;
  ReplayReport replay;
};
struct ProvedPlan {
  Plan plan;
  ReplayReport replay;
  PlanOrigin origin;
  std::vector<ProvedOffer> offers;  // the plan itself first; empty where none were asked for
};
// Plans, replays the cuts, and saves plan.json in the project's folder. Where the build log says that
// the plan there is underway, only what is left is planned (service/left_use.h). When the replay finds a fault
// the saved plan says so in its first warning. Nothing is written on an Error. Errors: kNoPlan with
// the reason, kStopped, kKernel, kFileUnwritable, kUsage (a wish or offers while a build is underway),
// those of PlanLeft.
Result<ProvedPlan> MakeProvedPlan(const Opened& opened, const PlanUse& use);

struct Replayed {
  SavedPlan saved;
  ReplayReport replay;
};
Result<Replayed> ReplayPlan(const Opened& opened, int threads, const WorkOptions& work);

struct DrawUse {
  std::filesystem::path folder;  // made when absent
  std::optional<int> setup;      // by its number; else all
  bool solids = false;           // beside them each setup's solids (sheets/solid/solid_view.h)
};
// Setup drawings and hole plans of the saved plan as SVG files; returns the files written, in the order
// of work. Errors: kUnknownFeature (no such setup), kFileUnwritable, kStopped, those of LoadSavedPlan.
Result<std::vector<std::filesystem::path>> DrawPlan(const Opened& opened, const DrawUse& use,
                                                    const WorkOptions& work);

struct ExportUse {
  std::filesystem::path file;
  std::optional<std::string> part;   // one part in its own frame, else the assembly
  std::optional<std::string> after;  // step id or printed number: the piece as it stands right behind it
};
// Errors: kUsage (after without part), kUnknownPart, kUnknownFeature (no such step), kFileUnwritable,
// kKernel.
Status ExportStep(const Opened& opened, const ExportUse& use, const WorkOptions& work);

}  // namespace fitwright::service
