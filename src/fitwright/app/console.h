// What both programs share in talking to the terminal.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "fitwright/app/command_line.h"
#include "fitwright/base/diagnostics.h"
#include "fitwright/base/progress.h"
#include "fitwright/service/use_cases.h"
#include "fitwright/sheets/report.h"

namespace fitwright::app {

// What both mains do: parse the line, print what it asks for by itself, else run the request. Returns the
// exit status; an exception that nobody expected ends in a line on standard error and 3.
using RunRequest = int (*)(const Request& request, const std::vector<std::string>& arguments);
int RunMain(int argc, char** argv, RunRequest run);

void Print(const std::string& text);
void PrintError(const std::string& text);

// All faults: on standard error a line each, or with --json one document on standard output. Returns the
// exit status of the first.
int Fail(const Request& request, const std::vector<Error>& errors, std::size_t not_shown = 0);
int Fail(const Request& request, const Error& error);

// Opens the project, or prints every fault and fills `exit_status`.
std::optional<service::Opened> OpenOrFail(const Request& request, int& exit_status);

sheets::ReportOptions ReportOptionsOf(const service::Opened& opened, bool older_than_sheets);

// Cancel on interrupt, and a line on standard error that is written over as the work goes on, when that
// is a terminal. The line is wiped at the end.
class Work {
 public:
  Work();
  ~Work();
  Work(const Work&) = delete;
  Work& operator=(const Work&) = delete;
  const WorkOptions& options() const { return options_; }
  // Removes the progress line; call before printing.
  void Finish();

 private:
  CancelFlag cancel_;
  WorkOptions options_;
  bool shown_ = false;
};

// What to do with a request that needs no solids.
int RunPlain(const Request& request);

}  // namespace fitwright::app
