// fitwright: answers at once what needs no solids and hands the rest to fitwright-solid beside it.
#include <string>
#include <vector>

#include "fitwright/app/command_line.h"
#include "fitwright/app/console.h"
#include "fitwright/base/system.h"

int main(int argc, char** argv) {
  using namespace fitwright;
  const std::vector<std::string> arguments(argv + 1, argv + argc);
  const app::CommandLine line = app::ParseCommandLine(arguments);
  app::Print(line.out);
  app::PrintError(line.err);
  if (!line.request) return line.exit_status;
  if (!app::NeedsSolids(*line.request)) return app::RunPlain(*line.request);
  return app::Fail(*line.request, ReplaceProcess(ProgramFolder() / "fitwright-solid", arguments));
}
