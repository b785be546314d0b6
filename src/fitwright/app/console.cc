#include "fitwright/app/console.h"

#include <fmt/format.h>

#include <cstdio>

#include "fitwright/app/build_commands.h"
#include "fitwright/app/odds_command.h"
#include "fitwright/app/serve.h"
#include "fitwright/base/atomic_file.h"
#include "fitwright/base/system.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/reckon.h"
#include "fitwright/service/why.h"

namespace fitwright::app {

void Print(const std::string& text) { std::fwrite(text.data(), 1, text.size(), stdout); }
void PrintError(const std::string& text) { std::fwrite(text.data(), 1, text.size(), stderr); }

int Fail(const Request& request, const std::vector<Error>& errors, std::size_t not_shown) {
  if (request.json) {
    Print(service::ErrorsToJson(errors, not_shown));
  } else {
    for (const Error& error : errors) PrintError(Format(error) + "\n");
    if (not_shown > 0) PrintError(fmt::format("and {} more faults\n", not_shown));
  }
  return errors.empty() ? ExitStatusOf(ErrorCode::kInternal) : ExitStatusOf(errors.front().code);
}

int Fail(const Request& request, const Error& error) {
  return Fail(request, std::vector<Error>{error});
}

std::optional<service::Opened> OpenOrFail(const Request& request, int& exit_status) {
  Diagnostics faults;
  auto opened = service::Open({request.dir, request.shop, request.unit}, faults);
  if (opened) return *std::move(opened);
  exit_status = faults.empty() ? Fail(request, opened.error())
                               : Fail(request, faults.errors(), faults.count_not_shown());
  return std::nullopt;
}

sheets::ReportOptions ReportOptionsOf(const service::Opened& opened, bool older_than_sheets) {
  sheets::ReportOptions options;
  options.unit = opened.unit;
  options.width = TerminalWidth();
  options.colour = WantsColour();
  options.older_than_sheets = older_than_sheets;
  return options;
}

Work::Work() {
  CancelOnInterrupt(&cancel_);
  options_.cancel = &cancel_;
  if (!IsTerminal(Stream::kErr)) return;
  options_.progress = [this](std::string_view what, double fraction) {
    shown_ = true;
    PrintError(fmt::format("\r\x1b[K{} {:3.0f} %", what, 100 * fraction));
  };
}

Work::~Work() {
  Finish();
  CancelOnInterrupt(nullptr);
}

void Work::Finish() {
  if (shown_) PrintError("\r\x1b[K");
  shown_ = false;
}

namespace {

int RunCheck(const Request& request, const service::Opened& opened) {
  const service::CheckOutcome outcome = service::Check(opened);
  Print(request.json ? service::CheckToJson(outcome)
                     : service::CheckReport(opened, outcome, ReportOptionsOf(opened, false)));
  return outcome.findings.empty() ? 0 : 1;
}

int RunWhy(const Request& request, const service::Opened& opened) {
  Work work;
  const service::WhyUse use{request.why, WishOf(request), request.sure / 100, request.seed, request.builds, request.threads, work.options(),
                            {request.dir, request.shop, request.unit}, request.build == 0 ? 1 : request.build, request.afresh, request.tries};
  const auto answers = service::AskWhy(opened, use);
  work.Finish();
  if (!answers) return Fail(request, answers.error());
  Print(request.json ? service::WhyToJson(request.why, *answers) : service::WhyReport(opened, *answers, ReportOptionsOf(opened, false)));
  return 0;
}

int RunReckon(const Request& request) {
  const sheets::TextOptions options{TerminalWidth(), WantsColour()};
  const service::ReckonUse use{request.what, request.values,
                               request.unit.value_or(LengthUnit::kMillimetre), request.shop};
  const auto answer = service::Reckon(use, options);
  if (!answer) return Fail(request, answer.error());
  if (!request.out.empty()) {
    if (answer->svg.empty()) {
      return Fail(request, Error{ErrorCode::kUsage, "there is nothing to draw of this",
                                 request.what, "leave --draw out", {}});
    }
    const Status written = WriteFileAtomically(request.out, answer->svg);
    if (!written) return Fail(request, written.error());
  }
  Print(request.json ? answer->json : answer->text);
  return 0;
}

}  // namespace

int RunPlain(const Request& request) {
  if (request.verb == Verb::kReckon) return RunReckon(request);
  if (request.verb == Verb::kServe) return RunServe(request);
  if (IsAboutTheBuild(request)) return RunBuild(request);
  int exit_status = 0;
  const auto opened = OpenOrFail(request, exit_status);
  if (!opened) return exit_status;
  if (request.verb == Verb::kPlan) return RunWhy(request, *opened);
  return request.verb == Verb::kOdds ? RunOdds(request, *opened) : RunCheck(request, *opened);
}

int RunMain(int argc, char** argv, RunRequest run) {
  try {
    const std::vector<std::string> arguments(argv + 1, argv + argc);
    const CommandLine line = ParseCommandLine(arguments);
    Print(line.out);
    PrintError(line.err);
    return line.request ? run(*line.request, arguments) : line.exit_status;
  } catch (const std::exception& failure) {
    std::fputs("fitwright failed, nothing was written: ", stderr);
    std::fputs(failure.what(), stderr);
    std::fputs(" [internal]\n", stderr);
    return 3;
  }
}

}  // namespace fitwright::app
