#include "fitwright/base/atomic_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>

namespace fitwright {
namespace {

Unexpected Unwritable(const std::filesystem::path& path, int error_number) {
  Error error;
  error.code = ErrorCode::kFileUnwritable;
  error.message = fmt::format("cannot be written: {}", std::strerror(error_number));
  error.remedy = "check that the folder exists, may be written and has room";
  error.where.file = path.string();
  return Unexpected(std::move(error));
}

bool WriteAll(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(file, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

// The name of the file is safe on disk only when its folder is.
void FlushFolder(const std::filesystem::path& folder) {
  const int handle =
      ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle < 0) return;
  ::fsync(handle);
  ::close(handle);
}

// An existing file keeps its permissions.
void SetPermissions(int file, const std::filesystem::path& old_path) {
  constexpr mode_t kOfNewFile = 0644;
  struct stat old {};
  const bool exists = ::stat(old_path.c_str(), &old) == 0;
  if (::fchmod(file, exists ? old.st_mode & 0777 : kOfNewFile) != 0) return;  // as mkostemp left it
}

}  // namespace

Status WriteFileAtomically(const std::filesystem::path& path, std::string_view bytes) {
  std::string scratch = path.string() + ".XXXXXX";
  const int file = ::mkostemp(scratch.data(), O_CLOEXEC);
  if (file < 0) return Unwritable(path, errno);
  SetPermissions(file, path);
  bool good = WriteAll(file, bytes) && ::fsync(file) == 0;
  int reason = good ? 0 : errno;
  if (::close(file) != 0 && good) {
    good = false;
    reason = errno;
  }
  if (good && ::rename(scratch.c_str(), path.c_str()) != 0) {
    good = false;
    reason = errno;
  }
  if (!good) {
    ::unlink(scratch.c_str());
    return Unwritable(path, reason);
  }
  FlushFolder(path.parent_path());
  return Ok{};
}

}  // namespace fitwright
