#include "fitwright/app/build_commands.h"

#include <fmt/format.h>

#include <chrono>

#include "fitwright/app/console.h"
#include "fitwright/base/system.h"
#include "fitwright/files/build_log_json.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/build_words.h"
#include "fitwright/service/left_use.h"
#include "fitwright/service/lessons_use.h"
#include "fitwright/service/rework_use.h"

namespace fitwright::app {
namespace {

std::int64_t Now_ms() {
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(now).count();
}

service::OpenOptions OpenOptionsOf(const Request& request) {
  return {request.dir, request.shop, request.unit};
}

sheets::ReportOptions OptionsOf(const service::Workshop& workshop) {
  return {workshop.unit(), TerminalWidth(), WantsColour(), workshop.older_than_sheets};
}

int RunNext(const Request& request) {
  auto answer =
      service::AskNext({OpenOptionsOf(request), request.build == 0 ? 1 : request.build, Now_ms()});
  if (!answer) return Fail(request, answer.error());
  service::AddNews(*answer);
  const service::PlanNews plan =
      service::FindPlanNews(*answer, service::OriginOf(answer->workshop));
  Print(request.json ? service::NextToJson(*answer, plan)
                     : service::NextText(*answer, plan, OptionsOf(answer->workshop)));
  return 0;
}

int RunRecord(const Request& request) {
  service::RecordUse use;
  use.open = OpenOptionsOf(request);
  use.step = request.step;
  use.value = request.value;
  use.instrument = request.instrument;
  use.note = request.note;
  use.photo = request.photo;
  use.remade = request.remade;
  use.shop_change = request.shop_change;
  use.done = request.done;
  use.undone = request.undone;
  use.copy = request.copy;
  use.build = request.build == 0 ? 1 : request.build;
  use.now_ms = Now_ms();
  const auto answer = service::Record(use);
  if (!answer) return Fail(request, answer.error());
  const auto changes = service::ChangesOf(*answer);
  const service::Workshop& workshop = answer->workshop;
  if (request.json) {
    Print(service::RecordToJson(
        *answer, changes ? service::ChangesToJson(workshop, *changes) : std::string("null")));
  } else {
    Print(service::RecordText(*answer, OptionsOf(workshop)));
    if (changes) Print(service::ChangesText(workshop, *changes, OptionsOf(workshop)));
  }
  const bool outside = answer->check && (answer->check->verdict == Verdict::kOver ||
                                         answer->check->verdict == Verdict::kUnder);
  return outside ? 1 : 0;
}

int RunLog(const Request& request) {
  if (!request.out.empty()) {
    const Status written = service::ExportLog(request.dir, request.out);
    if (!written) return Fail(request, written.error());
    Print(request.out.string() + "\n");
    return 0;
  }
  if (!request.from.empty()) {
    const auto added = service::ImportLog(request.dir, request.from);
    if (!added) return Fail(request, added.error());
    Print(fmt::format("{} added, {} were in the log already\n", added->added, added->known));
    return 0;
  }
  auto workshop = service::EnterWorkshop(OpenOptionsOf(request));
  if (!workshop) return Fail(request, workshop.error());
  const auto build = request.build == 0 ? std::nullopt : std::optional<int>(request.build);
  if (request.json) {
    if (build)
      std::erase_if(workshop->whole_log.events,
                    [&](const LogEvent& event) { return event.build != *build; });
    Print(files::BuildLogToJson(workshop->whole_log, files::Plans::kWithout));
  } else {
    Print(service::LogText(*workshop, build, OptionsOf(*workshop)));
  }
  return 0;
}

int RunChanges(const Request& request) {
  const auto workshop = service::EnterWorkshop(OpenOptionsOf(request));
  if (!workshop) return Fail(request, workshop.error());
  const auto answer =
      service::AskChanges(*workshop, request.build == 0 ? 1 : request.build, request.reading);
  if (!answer) return Fail(request, answer.error());
  Print(request.json ? service::ChangesToJson(*workshop, *answer)
                     : service::ChangesText(*workshop, *answer, OptionsOf(*workshop)));
  return 0;
}

int RunLessons(const Request& request) {
  const auto workshop = service::EnterWorkshop(OpenOptionsOf(request));
  if (!workshop) return Fail(request, workshop.error());
  const auto lessons = service::AskLessons(*workshop, request.build == 0 ? 1 : request.build);
  if (!lessons) return Fail(request, lessons.error());
  Print(request.json ? service::LessonsToJson(*workshop, *lessons)
                     : service::LessonsText(*workshop, *lessons, OptionsOf(*workshop)));
  return 0;
}

int RunTrials(const Request& request) {
  const auto workshop = service::EnterWorkshop(OpenOptionsOf(request));
  if (!workshop) return Fail(request, workshop.error());
  if (request.what.empty()) {
    Print(service::ShopTestsText(OptionsOf(*workshop)));
    return 0;
  }
  const auto result = service::ReckonShopTest(*workshop, request.what, request.numbers);
  if (!result) return Fail(request, result.error());
  Print(service::TestResultText(*result, OptionsOf(*workshop)));
  return 0;
}

}  // namespace

bool IsAboutTheBuild(const Request& request) {
  return request.verb == Verb::kNext || request.verb == Verb::kRecord || request.verb == Verb::kLog ||
         request.verb == Verb::kChanges || request.verb == Verb::kLessons ||
         request.verb == Verb::kTrials;
}

int RunBuild(const Request& request) {
  if (request.verb == Verb::kNext) return RunNext(request);
  if (request.verb == Verb::kChanges) return RunChanges(request);
  if (request.verb == Verb::kLessons) return RunLessons(request);
  if (request.verb == Verb::kTrials) return RunTrials(request);
  return request.verb == Verb::kRecord ? RunRecord(request) : RunLog(request);
}

}  // namespace fitwright::app
