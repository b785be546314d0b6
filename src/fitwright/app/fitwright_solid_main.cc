// fitwright-solid: everything that works on solids. Takes the same command line as fitwright.
#include <fmt/format.h>

#include <string>
#include <vector>

#include "fitwright/app/command_line.h"
#include "fitwright/app/console.h"
#include "fitwright/base/system.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/service/left_use.h"
#include "fitwright/service/solid/offers.h"
#include "fitwright/service/solid/read_file.h"
#include "fitwright/service/solid/use_cases.h"

namespace fitwright::app {
namespace {

int RunCheckDeep(const Request& request, const service::Opened& opened) {
  Work work;
  const auto outcome = service::CheckDeep(opened, work.options());
  work.Finish();
  if (!outcome) return Fail(request, outcome.error());
  Print(request.json ? service::CheckToJson(*outcome)
                     : service::CheckReport(opened, *outcome, ReportOptionsOf(opened, false)));
  return outcome->findings.empty() ? 0 : 1;
}

int RunPlan(const Request& request, const service::Opened& opened) {
  Work work;
  service::PlanUse use;
  use.seed = request.seed;
  use.builds = request.builds;
  use.threads = request.threads;
  use.version = FITWRIGHT_VERSION;
  use.work = work.options();
  use.wish = WishOf(request);
  use.sure = request.sure / 100;
  use.tries = request.tries;
  use.offers = request.choices;
  use.afresh = request.afresh;
  use.build = request.build == 0 ? 1 : request.build;
  use.open = {request.dir, request.shop, request.unit};
  const auto proved = service::MakeProvedPlan(opened, use);
  work.Finish();
  if (!proved) return Fail(request, proved.error());
  const sheets::ReportOptions options = ReportOptionsOf(opened, false);
  if (request.json) {
    Print(request.choices ? service::OffersToJson(proved->offers) : files::PlanToJson(proved->plan, proved->origin));
  } else {
    Print(sheets::MakeReport(opened.project.machine, opened.project.shop, proved->plan, options));
    Print(sheets::MakeReplayReport(proved->plan, proved->replay, options));
    if (proved->origin.anew) Print(service::AnewText(*proved->origin.anew, options));
    if (request.choices) Print(service::OffersReport(opened, proved->offers, options));
  }
  return proved->replay.ok ? 0 : 1;
}

int RunReplay(const Request& request, const service::Opened& opened) {
  Work work;
  const auto replayed = service::ReplayPlan(opened, request.threads, work.options());
  work.Finish();
  if (!replayed) return Fail(request, replayed.error());
  if (request.json) {
    Print(files::ReplayToJson(replayed->replay));
  } else {
    Print(sheets::MakeReplayReport(replayed->saved.plan, replayed->replay,
                                   ReportOptionsOf(opened, replayed->saved.older_than_sheets)));
  }
  return replayed->replay.ok ? 0 : 1;
}

int RunDraw(const Request& request, const service::Opened& opened) {
  Work work;
  const auto drawn = service::DrawPlan(opened, {request.out, request.setup, request.solids}, work.options());
  work.Finish();
  if (!drawn) return Fail(request, drawn.error());
  for (const auto& file : *drawn) Print(file.string() + "\n");
  return 0;
}

int RunExport(const Request& request, const service::Opened& opened) {
  Work work;
  const service::ExportUse use{request.out, request.part, request.after};
  const auto status = service::ExportStep(opened, use, work.options());
  work.Finish();
  if (!status) return Fail(request, status.error());
  Print(request.out.string() + "\n");
  return 0;
}

int RunRead(const Request& request) {
  Work work;
  const auto read = service::ReadFile(
      {request.file, request.dir, request.material, work.options(), request.from});
  work.Finish();
  if (!read) return Fail(request, read.error());
  sheets::ReportOptions options;
  options.unit = request.unit.value_or(read->machine.display_unit);
  options.width = TerminalWidth();
  options.colour = WantsColour();
  Print(request.json ? service::ReadToJson(*read) : service::ReadReport(*read, options));
  return 0;
}

int Run(const Request& request, const std::vector<std::string>&) {
  if (!NeedsSolids(request)) return RunPlain(request);
  if (request.verb == Verb::kRead) return RunRead(request);
  int exit_status = 0;
  const auto opened = OpenOrFail(request, exit_status);
  if (!opened) return exit_status;
  switch (request.verb) {
    case Verb::kPlan: return RunPlan(request, *opened);
    case Verb::kReplay: return RunReplay(request, *opened);
    case Verb::kDraw: return RunDraw(request, *opened);
    case Verb::kExport: return RunExport(request, *opened);
    case Verb::kRead:
    case Verb::kCheck:
    case Verb::kOdds:
    case Verb::kReckon:
    case Verb::kNext:
    case Verb::kRecord:
    case Verb::kLog:
    case Verb::kChanges:
    case Verb::kLessons:
    case Verb::kTrials:
    case Verb::kServe: break;
  }
  return RunCheckDeep(request, *opened);
}

}  // namespace
}  // namespace fitwright::app

int main(int argc, char** argv) { return fitwright::app::RunMain(argc, argv, fitwright::app::Run); }
