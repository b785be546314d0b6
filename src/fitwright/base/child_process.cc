#include "fitwright/base/child_process.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <limits>
#include <new>
#include <sstream>

namespace fitwright {
namespace {

using Clock = std::chrono::steady_clock;

constexpr int kNoMemoryStatus = 77;
constexpr int kThrewStatus = 78;
constexpr double kBytesPerMb = 1024.0 * 1024.0;

// What this process holds in writable memory, bytes; 0 when it cannot be told.
double HeldBytes() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);) {
    if (line.rfind("VmData:", 0) == 0) return 1024.0 * std::strtod(line.c_str() + 7, nullptr);
  }
  return 0;
}

void Limit(int what, double most) {
  const double largest = static_cast<double>(std::numeric_limits<std::int64_t>::max());
  if (!(most < largest)) return;
  rlimit limit{};
  limit.rlim_cur = static_cast<rlim_t>(std::ceil(most));
  // One second between the signal that names the limit and the end without a name.
  limit.rlim_max = limit.rlim_cur + (what == RLIMIT_CPU ? 1 : 0);
  setrlimit(static_cast<__rlimit_resource>(what), &limit);
}

void Silence() {
  const int nowhere = open("/dev/null", O_RDWR | O_CLOEXEC);
  if (nowhere < 0) return;
  for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) dup2(nowhere, stream);
}

// Length first, so that a part is never taken for the whole.
bool WriteTo(int to, const std::string& text) {
  const auto length = static_cast<std::uint64_t>(text.size());
  std::string all(sizeof length, '\0');
  std::memcpy(all.data(), &length, sizeof length);
  for (const std::string* piece : {&std::as_const(all), &text}) {
    std::size_t done = 0;
    while (done < piece->size()) {
      const ssize_t wrote = write(to, piece->data() + done, piece->size() - done);
      if (wrote < 0 && errno == EINTR) continue;
      if (wrote <= 0) return false;
      done += static_cast<std::size_t>(wrote);
    }
  }
  return true;
}

[[noreturn]] void BeChild(int to, const ChildLimits& limits,
                          const std::function<std::string()>& work) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  for (const int signal : {SIGINT, SIGTERM, SIGSEGV, SIGBUS, SIGFPE, SIGABRT, SIGILL}) {
    std::signal(signal, SIG_DFL);
  }
  Silence();
  Limit(RLIMIT_CORE, 0);
  Limit(RLIMIT_CPU, limits.seconds + 1);
  Limit(RLIMIT_DATA, HeldBytes() + limits.memory_mb * kBytesPerMb);
  std::set_new_handler([] { _exit(kNoMemoryStatus); });
  try {
    _exit(WriteTo(to, work()) ? 0 : kThrewStatus);
  } catch (const std::bad_alloc&) {
    _exit(kNoMemoryStatus);
  } catch (...) {
    _exit(kThrewStatus);
  }
}

// All that comes until the other end closes; false when the time is over before.
bool ReadUntil(Clock::time_point end, int from, std::string& text) {
  char piece[1 << 16];
  while (true) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now());
    if (left.count() <= 0) return false;
    pollfd waiting{from, POLLIN, 0};
    const auto most = std::min<std::int64_t>(left.count(), 1000);
    const int ready = poll(&waiting, 1, static_cast<int>(most));
    if (ready < 0 && errno != EINTR) return true;
    if (ready <= 0) continue;
    const ssize_t got = read(from, piece, sizeof piece);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return true;
    text.append(piece, static_cast<std::size_t>(got));
  }
}

int WaitFor(pid_t child) {
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

ChildOutcome OutcomeOf(int status, std::string text) {
  ChildOutcome outcome;
  if (WIFSIGNALED(status)) {
    outcome.signal = WTERMSIG(status);
    if (outcome.signal == SIGXCPU) outcome.end = ChildEnd::kOutOfTime;
    return outcome;
  }
  const int left_with = WIFEXITED(status) ? WEXITSTATUS(status) : kThrewStatus;
  if (left_with == kNoMemoryStatus) outcome.end = ChildEnd::kOutOfMemory;
  std::uint64_t length = 0;
  if (left_with != 0 || text.size() < sizeof length) return outcome;
  std::memcpy(&length, text.data(), sizeof length);
  if (text.size() - sizeof length != length) return outcome;
  outcome.end = ChildEnd::kDone;
  text.erase(0, sizeof length);
  outcome.output = std::move(text);
  return outcome;
}

Error NoProcess(const char* what) {
  return {ErrorCode::kInternal,
          std::string("the system grants no further process: ") + what,
          "",
          "end other programs and try again",
          {}};
}

}  // namespace

Result<ChildOutcome> RunInChild(const ChildLimits& limits,
                                const std::function<std::string()>& work) {
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0) return Unexpected(NoProcess(std::strerror(errno)));
  const pid_t child = fork();
  if (child < 0) {
    const int failure = errno;
    close(ends[0]);
    close(ends[1]);
    return Unexpected(NoProcess(std::strerror(failure)));
  }
  if (child == 0) {
    close(ends[0]);
    BeChild(ends[1], limits, work);
  }
  close(ends[1]);
  std::string text;
  const auto time = std::chrono::duration<double>(std::min(limits.seconds, 1e7));
  const bool in_time =
      ReadUntil(Clock::now() + std::chrono::duration_cast<Clock::duration>(time), ends[0], text);
  close(ends[0]);
  if (!in_time) kill(child, SIGKILL);
  const int status = WaitFor(child);
  if (!in_time) return ChildOutcome{ChildEnd::kOutOfTime, "", 0};
  return OutcomeOf(status, std::move(text));
}

}  // namespace fitwright
