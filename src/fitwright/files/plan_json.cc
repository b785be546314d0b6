#include "fitwright/files/plan_json.h"

#include <fstream>
#include <iterator>
#include <system_error>

#include "fitwright/base/atomic_file.h"

namespace fitwright::files {
namespace {

constexpr std::uintmax_t kLargestPlan_bytes = 256u << 20;

Unexpected NotRead(ErrorCode code, const std::filesystem::path& path, std::string message,
                   std::string remedy) {
  Error error;
  error.code = code;
  error.message = std::move(message);
  error.remedy = std::move(remedy);
  error.where.file = path.string();
  return Unexpected(std::move(error));
}

}  // namespace

Status SavePlan(const std::filesystem::path& dir, const Plan& plan, const PlanOrigin& origin) {
  return WriteFileAtomically(dir / kPlanFileName, PlanToJson(plan, origin));
}

Result<std::string> LoadPlanText(const std::filesystem::path& dir) {
  const std::filesystem::path path = dir / kPlanFileName;
  std::error_code failed;
  if (!std::filesystem::exists(path, failed)) {
    return NotRead(ErrorCode::kFileMissing, path, "there is no plan here yet",
                   "make one with `fitwright plan`");
  }
  const std::uintmax_t size = std::filesystem::file_size(path, failed);
  if (failed || size > kLargestPlan_bytes) {
    return NotRead(ErrorCode::kFileUnreadable, path,
                   "this is no plan file, or far too large for one", "plan again");
  }
  std::ifstream file(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  if (!file && !file.eof()) {
    return NotRead(ErrorCode::kFileUnreadable, path, "the file cannot be read",
                   "check that it may be read");
  }
  return text;
}

Result<Plan> LoadPlan(const std::filesystem::path& dir) {
  const auto text = LoadPlanText(dir);
  if (!text) return Unexpected(text.error());
  return PlanFromJson(*text, std::string(kPlanFileName));
}

}  // namespace fitwright::files
