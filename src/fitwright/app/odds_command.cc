#include "fitwright/app/odds_command.h"

#include <fmt/format.h>

#include "fitwright/app/console.h"
#include "fitwright/base/atomic_file.h"
#include "fitwright/service/odds_use.h"

namespace fitwright::app {
namespace {

Status WriteDrawings(const std::filesystem::path& folder, const service::Opened& opened,
                     const service::OddsAnswer& answer) {
  const auto drawings = service::DrawOddsOf(opened, answer);
  if (!drawings) return Unexpected(drawings.error());
  std::error_code trouble;
  std::filesystem::create_directories(folder, trouble);
  for (const auto& [name, svg] : *drawings) {
    if (const Status written = WriteFileAtomically(folder / name, svg); !written) return written;
  }
  return Ok{};
}

}  // namespace

int RunOdds(const Request& request, const service::Opened& opened) {
  Work work;
  service::OddsQuestion question;
  question.use = {request.builds, request.seed, request.threads, work.options().cancel};
  question.what_if = request.what_if;
  question.build = request.build;
  question.afresh = request.afresh;
  const auto answer = service::AnswerOdds(opened, question);
  if (answer && !request.out.empty()) {
    const Status drawn = WriteDrawings(request.out, opened, *answer);
    if (!drawn) return Fail(request, drawn.error());
  }
  work.Finish();
  if (!answer) return Fail(request, answer.error());
  const bool older = answer->saved.older_than_sheets;
  if (request.json) {
    Print(service::OddsAnswerToJson(*answer));
    if (older) PrintError("the plan is older than the sheets: plan again\n");
    return 0;
  }
  Print(service::OddsReport(opened, *answer, ReportOptionsOf(opened, older)));
  return 0;
}

}  // namespace fitwright::app
