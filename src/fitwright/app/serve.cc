#include "fitwright/app/serve.h"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <memory>
#include <mutex>

#include "fitwright/app/console.h"
#include "fitwright/base/system.h"
#include "fitwright/server/qr_code.h"
#include "fitwright/server/server.h"

namespace fitwright::app {
namespace {

constexpr int kUsualPort = 8137;

std::filesystem::path CacheFolder() {
  const auto cache = UserCacheFolder();
  return cache.empty() ? std::filesystem::temp_directory_path() / "fitwright" : cache;
}

server::ServerOptions OptionsOf(const Request& request) {
  server::ServerOptions options;
  options.dir = request.dir;
  options.shop_file = request.shop;
  options.unit = request.unit;
  options.port = request.port.value_or(kUsualPort);
  options.version = FITWRIGHT_VERSION;
  options.solid_program = ProgramFolder() / "fitwright-solid";
  options.cache_folder = CacheFolder() / "drawings";
  options.lan = request.lan;
  options.lan_folder = CacheFolder() / "lan";
  return options;
}

// Black on white whatever the terminal's own ground is, where colour is wanted.
std::string QrLines(const std::string& text) {
  const auto code = server::MakeQrCode(text);
  if (!code) return "";
  std::string lines = server::QrText(*code);
  if (!WantsColour()) return lines;
  std::string coloured;
  for (std::size_t from = 0; from < lines.size();) {
    const std::size_t end = lines.find('\n', from);
    coloured += "\x1b[97;40m" + lines.substr(from, end - from) + "\x1b[0m\n";
    from = end + 1;
  }
  return coloured;
}

void PrintAccess(server::Server& server) {
  const auto access = server.FindNetworkAccess();
  if (!access) return;
  std::string first;
  for (const std::string& address : access->addresses) {
    Print(fmt::format("On the network: {}\n", address));
    if (first.empty()) first = address;
  }
  std::string print = access->fingerprint;
  std::erase(print, ':');
  Print(fmt::format(
      "To pair one device: open that address there and key in  {}\n"
      "or point its camera here:\n\n{}\n"
      "Its browser does not know the certificate and says so: before you go on there, "
      "compare its SHA-256\n  {}\n",
      access->code, QrLines(fmt::format("{}#pair={}&mark={}", first, access->code, print)),
      access->fingerprint));
  std::fflush(stdout);
}

}  // namespace

int RunServe(const Request& request) {
  server::ServerOptions options = OptionsOf(request);
  CancelFlag stop;
  CancelOnInterrupt(&stop);
  server::Server* running = nullptr;
  std::mutex printing;
  options.paired = [&] {
    const std::lock_guard lock(printing);
    if (running == nullptr) return;
    Print("\nA device was paired. For another one:\n");
    PrintAccess(*running);
  };
  auto server = server::Server::Start(options);
  if (!server && server.error().code == ErrorCode::kUsage && !request.port) {
    options.port = 0;
    server = server::Server::Start(options);
  }
  if (!server) return Fail(request, server.error());
  {
    const std::lock_guard lock(printing);
    running = server->get();
    Print(
        fmt::format("The page is at {}\nOpen it in the browser of this machine; Ctrl-C ends it.\n",
                    running->Address()));
    PrintAccess(*running);
    std::fflush(stdout);
  }
  WaitForCancel(stop);
  server->reset();
  CancelOnInterrupt(nullptr);
  return 0;
}

}  // namespace fitwright::app
