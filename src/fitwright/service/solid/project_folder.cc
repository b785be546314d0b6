#include "fitwright/service/solid/project_folder.h"

#include <fmt/format.h>
#include <unistd.h>

#include <system_error>

namespace fitwright::service {

namespace fs = std::filesystem;

Error CannotWrite(const fs::path& path, const std::string& why, const std::string& remedy) {
  Error error{ErrorCode::kFileUnwritable, why, path.string(), remedy, {}};
  error.where.file = path.string();
  return error;
}

bool HoldsProject(const fs::path& folder) {
  std::error_code failed;
  return fs::is_regular_file(folder / "machine.toml", failed);
}

Status CheckEmpty(const fs::path& folder) {
  std::error_code failed;
  if (!fs::exists(folder, failed)) return Ok{};
  if (!fs::is_directory(folder, failed)) return Unexpected(CannotWrite(folder, "it is not a folder", "name another"));
  if (fs::is_empty(folder, failed) && !failed) return Ok{};
  return Unexpected(CannotWrite(folder, "the folder holds something already", "name a new one; nothing is overwritten"));
}

HalfWritten::HalfWritten(const fs::path& target) : target_(fs::absolute(target).lexically_normal()) {
  if (target_.filename().empty()) target_ = target_.parent_path();
  folder_ = target_;
  folder_ += fmt::format(".{}.new", ::getpid());
}

HalfWritten::~HalfWritten() {
  std::error_code ignored;
  if (!kept_) fs::remove_all(folder_, ignored);
}

Status HalfWritten::Make() const {
  std::error_code failed;
  fs::create_directories(folder_ / "parts", failed);
  if (failed) return Unexpected(CannotWrite(folder_, failed.message(), "check the path and its rights"));
  return Ok{};
}

Status HalfWritten::Keep() {
  std::error_code failed;
  fs::remove(target_, failed);  // an empty folder, or nothing
  fs::rename(folder_, target_, failed);
  if (failed) return Unexpected(CannotWrite(target_, failed.message(), "check the path and its rights"));
  kept_ = true;
  return Ok{};
}

Status HalfWritten::KeepOver(const std::vector<fs::path>& files) {
  std::error_code failed;
  fs::create_directories(target_ / "parts", failed);
  const auto put = [&](const fs::path& file) { if (!failed) fs::rename(folder_ / file, target_ / file, failed); };
  for (const fs::path& file : files) {
    if (file != "machine.toml") put(file);
  }
  put("machine.toml");
  if (failed) return Unexpected(CannotWrite(target_, failed.message(), "check the path and its rights, and read the file again"));
  return Ok{};
}

}  // namespace fitwright::service
