// fitwright: answers at once what needs no solids and hands the rest to fitwright-solid beside it.
#include <string>
#include <vector>

#include "fitwright/app/command_line.h"
#include "fitwright/app/console.h"
#include "fitwright/base/system.h"

namespace fitwright::app {
namespace {

int Run(const Request& request, const std::vector<std::string>& arguments) {
  if (!NeedsSolids(request)) return RunPlain(request);
  return Fail(request, ReplaceProcess(ProgramFolder() / "fitwright-solid", arguments));
}

}  // namespace
}  // namespace fitwright::app

int main(int argc, char** argv) { return fitwright::app::RunMain(argc, argv, fitwright::app::Run); }
