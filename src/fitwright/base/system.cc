#include "fitwright/base/system.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <thread>

namespace fitwright {
namespace {

constexpr int kStoppedStatus = 130;
constexpr int kPlainWidth = 80;
std::atomic<CancelFlag*> cancel_flag{nullptr};
std::atomic<bool> interrupted_once{false};

extern "C" void OnInterrupt(int) {
  CancelFlag* flag = cancel_flag.load(std::memory_order_relaxed);
  if (flag == nullptr || interrupted_once.exchange(true)) _exit(kStoppedStatus);
  flag->Cancel();
}

}  // namespace

std::filesystem::path ProgramFolder() {
  std::error_code error;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
  return error ? std::filesystem::path{} : self.parent_path();
}

Error ReplaceProcess(const std::filesystem::path& program,
                     const std::vector<std::string>& arguments) {
  std::string name = program.string();
  std::vector<std::string> copies = arguments;
  std::vector<char*> argv = {name.data()};
  for (std::string& argument : copies) argv.push_back(argument.data());
  argv.push_back(nullptr);
  execv(name.c_str(), argv.data());
  const ErrorCode code = errno == ENOENT ? ErrorCode::kFileMissing : ErrorCode::kInternal;
  return {code,
          std::string("the program that works on solids did not start: ") + std::strerror(errno),
          name, "install it beside this program", {}};
}

bool IsTerminal(Stream stream) {
  return isatty(stream == Stream::kOut ? STDOUT_FILENO : STDERR_FILENO) == 1;
}

int TerminalWidth() {
  winsize size{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) return size.ws_col;
  if (const char* columns = std::getenv("COLUMNS")) {
    const long width = std::strtol(columns, nullptr, 10);
    if (width > 0 && width < 10000) return static_cast<int>(width);
  }
  return kPlainWidth;
}

bool WantsColour() {
  const char* no_colour = std::getenv("NO_COLOR");
  return IsTerminal(Stream::kOut) && (no_colour == nullptr || *no_colour == '\0');
}

void CancelOnInterrupt(CancelFlag* flag) {
  cancel_flag.store(flag);
  std::signal(SIGINT, OnInterrupt);
  std::signal(SIGTERM, OnInterrupt);
}

void WaitForCancel(const CancelFlag& flag) {
  while (!flag.cancelled()) std::this_thread::sleep_for(std::chrono::milliseconds(100));
}

std::filesystem::path UserCacheFolder() {
  if (const char* cache = std::getenv("XDG_CACHE_HOME"); cache != nullptr && *cache == '/') {
    return std::filesystem::path(cache) / "fitwright";
  }
  if (const char* home = std::getenv("HOME"); home != nullptr && *home == '/') {
    return std::filesystem::path(home) / ".cache" / "fitwright";
  }
  return {};
}

std::vector<std::string> NetworkAddresses() {
  ifaddrs* first = nullptr;
  if (getifaddrs(&first) != 0) return {};
  std::vector<std::string> addresses;
  for (const ifaddrs* one = first; one != nullptr; one = one->ifa_next) {
    const bool up = (one->ifa_flags & IFF_UP) != 0 && (one->ifa_flags & IFF_LOOPBACK) == 0;
    if (!up || one->ifa_addr == nullptr || one->ifa_addr->sa_family != AF_INET) continue;
    char text[INET_ADDRSTRLEN];
    const auto* address = reinterpret_cast<const sockaddr_in*>(one->ifa_addr);
    if (inet_ntop(AF_INET, &address->sin_addr, text, sizeof text) != nullptr)
      addresses.emplace_back(text);
  }
  freeifaddrs(first);
  std::sort(addresses.begin(), addresses.end());
  return addresses;
}

}  // namespace fitwright
