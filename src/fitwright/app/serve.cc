#include "fitwright/app/serve.h"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>

#include "fitwright/app/console.h"
#include "fitwright/base/system.h"
#include "fitwright/server/server.h"

namespace fitwright::app {
namespace {

constexpr int kUsualPort = 8137;

std::filesystem::path DrawingsFolder() {
  const auto cache = UserCacheFolder();
  return (cache.empty() ? std::filesystem::temp_directory_path() / "fitwright" : cache) /
         "drawings";
}

server::ServerOptions OptionsOf(const Request& request) {
  server::ServerOptions options;
  options.dir = request.dir;
  options.shop_file = request.shop;
  options.unit = request.unit;
  options.port = request.port.value_or(kUsualPort);
  options.version = FITWRIGHT_VERSION;
  options.solid_program = ProgramFolder() / "fitwright-solid";
  options.cache_folder = DrawingsFolder();
  return options;
}

}  // namespace

int RunServe(const Request& request) {
  server::ServerOptions options = OptionsOf(request);
  CancelFlag stop;
  CancelOnInterrupt(&stop);
  auto server = server::Server::Start(options);
  if (!server && server.error().code == ErrorCode::kUsage && !request.port) {
    options.port = 0;
    server = server::Server::Start(options);
  }
  if (!server) return Fail(request, server.error());
  Print(fmt::format("The page is at {}\nOpen it in the browser of this machine; Ctrl-C ends it.\n",
                    (*server)->Address()));
  std::fflush(stdout);
  WaitForCancel(stop);
  server->reset();
  CancelOnInterrupt(nullptr);
  return 0;
}

}  // namespace fitwright::app
