#include "fitwright/base/program.h"

#include <fcntl.h>
#include <poll.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>

extern char** environ;

namespace fitwright {
namespace {

constexpr std::size_t kMostSaid = std::size_t{16} * 1024;
constexpr int kLook_ms = 50;

struct Pipe {
  int read = -1;
  int write = -1;
  Pipe() = default;
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() {
    CloseWrite();
    if (read >= 0) close(read);
  }
  void CloseWrite() {
    if (write >= 0) close(write);
    write = -1;
  }
};

Error NotStarted(const std::filesystem::path& program, int reason) {
  return {reason == ENOENT ? ErrorCode::kFileMissing : ErrorCode::kInternal,
          std::string("the program did not start: ") + std::strerror(reason),
          program.string(),
          "install it beside this program",
          {}};
}

// The reason it did not start, 0 when it did.
int Spawn(const std::filesystem::path& program, const std::vector<std::string>& arguments, int err,
          pid_t& pid) {
  std::string name = program.string();
  std::vector<std::string> copies = arguments;
  std::vector<char*> argv = {name.data()};
  for (std::string& argument : copies) argv.push_back(argument.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  posix_spawn_file_actions_adddup2(&files, err, STDERR_FILENO);
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t none;
  sigset_t usual;
  sigemptyset(&none);
  sigemptyset(&usual);
  for (const int signal : {SIGINT, SIGTERM, SIGPIPE}) sigaddset(&usual, signal);
  posix_spawnattr_setsigmask(&attributes, &none);
  posix_spawnattr_setsigdefault(&attributes, &usual);
  posix_spawnattr_setflags(&attributes,
                           POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  const int reason = posix_spawn(&pid, name.c_str(), &files, &attributes, argv.data(), environ);
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&files);
  return reason;
}

// False when the other end is closed.
bool ReadSome(int from, std::string& said) {
  std::array<char, 4096> bytes{};
  const ssize_t count = ::read(from, bytes.data(), bytes.size());
  if (count < 0) return errno == EINTR;
  if (count == 0) return false;
  if (said.size() < kMostSaid)
    said.append(bytes.data(), std::min(static_cast<std::size_t>(count), kMostSaid - said.size()));
  return true;
}

bool HasEnded(pid_t pid, int& raw) {
  pid_t ended = 0;
  do {
    ended = waitpid(pid, &raw, WNOHANG);
  } while (ended < 0 && errno == EINTR);
  return ended != 0;
}

}  // namespace

Result<ProgramEnd> RunProgram(const std::filesystem::path& program,
                              const std::vector<std::string>& arguments,
                              const ProgramLimits& limits) {
  Pipe err;
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) return Unexpected(NotStarted(program, errno));
  err.read = ends[0];
  err.write = ends[1];
  pid_t pid = 0;
  if (const int reason = Spawn(program, arguments, err.write, pid); reason != 0) {
    return Unexpected(NotStarted(program, reason));
  }
  err.CloseWrite();
  ProgramEnd end;
  int raw = 0;
  bool open = true;
  const auto last =
      std::chrono::steady_clock::now() + std::chrono::duration<double>(limits.seconds);
  while (!HasEnded(pid, raw)) {
    end.out_of_time = std::chrono::steady_clock::now() > last;
    end.cancelled = limits.cancel != nullptr && limits.cancel->cancelled();
    if (end.out_of_time || end.cancelled) {
      kill(-pid, SIGKILL);
      waitpid(pid, &raw, 0);
      break;
    }
    pollfd look{open ? err.read : -1, POLLIN, 0};
    if (poll(&look, 1, kLook_ms) > 0) open = ReadSome(err.read, end.err);
  }
  kill(-pid, SIGKILL);  // what it started and left behind
  pollfd rest{err.read, POLLIN, 0};
  while (open && poll(&rest, 1, 0) > 0) open = ReadSome(err.read, end.err);
  end.exit_status = WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw);
  return end;
}

}  // namespace fitwright
