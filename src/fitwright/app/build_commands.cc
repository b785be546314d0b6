#include "fitwright/app/build_commands.h"

#include <fmt/format.h>

#include <chrono>

#include "fitwright/app/console.h"
#include "fitwright/base/system.h"
#include "fitwright/files/build_log_json.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/build_words.h"

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
  const auto answer =
      service::AskNext({OpenOptionsOf(request), request.build == 0 ? 1 : request.build, Now_ms()});
  if (!answer) return Fail(request, answer.error());
  Print(request.json ? service::NextToJson(*answer)
                     : service::NextText(*answer, OptionsOf(answer->workshop)));
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
  Print(request.json ? service::RecordToJson(*answer)
                     : service::RecordText(*answer, OptionsOf(answer->workshop)));
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

}  // namespace

bool IsAboutTheBuild(const Request& request) {
  return request.verb == Verb::kNext || request.verb == Verb::kRecord || request.verb == Verb::kLog;
}

int RunBuild(const Request& request) {
  if (request.verb == Verb::kNext) return RunNext(request);
  return request.verb == Verb::kRecord ? RunRecord(request) : RunLog(request);
}

}  // namespace fitwright::app
