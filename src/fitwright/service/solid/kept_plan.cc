#include "fitwright/service/solid/kept_plan.h"

#include <fmt/format.h>

#include <string_view>
#include <system_error>

#include "fitwright/base/hash.h"
#include "fitwright/base/program_hash.h"
#include "fitwright/base/system.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/service/kept_files.h"

namespace fitwright::service {
namespace {

constexpr std::string_view kMagic = "fitwright-kept-plan/1\n";

std::string KeyOf(const files::Project& project, const PlanUse& use, std::uint64_t program) {
  return fmt::format("inputs {} seed {} builds {} budget {} wish {} sure {} tries {} program {:016x} {}\n",
                     project.inputs_hash, use.seed, use.builds, use.work.budget,
                     static_cast<int>(use.wish), use.sure, use.tries, program, use.version);
}

std::string SumOf(std::string_view payload) {
  return fmt::format("{:016x}\n", StableHash(payload));
}

}  // namespace

KeptPlan::KeptPlan(const files::Project& project, const PlanUse& use) {
  const std::filesystem::path cache = UserCacheFolder();
  const auto program = ProgramHash();
  if (cache.empty() || !program || use.offers) return;
  key_ = KeyOf(project, use, *program);
  file_ = cache / "plans" / fmt::format("{:016x}.plan", StableHash(key_));
}

std::optional<Plan> KeptPlan::Find(PlanOrigin* origin) const {
  if (file_.empty()) return std::nullopt;
  const auto bytes = ReadKept(file_);
  if (!bytes) return std::nullopt;
  std::string_view rest = *bytes;
  if (!rest.starts_with(kMagic)) return std::nullopt;
  rest.remove_prefix(kMagic.size());
  const std::size_t end = rest.find('\n');
  if (end == std::string_view::npos) return std::nullopt;
  const std::string_view payload = rest.substr(end + 1);
  if (rest.substr(0, end + 1) != SumOf(payload) || !payload.starts_with(key_)) return std::nullopt;
  Result<Plan> plan = files::PlanFromJson(payload.substr(key_.size()), file_.filename().string(), origin);
  if (!plan) return std::nullopt;
  std::error_code ignored;
  std::filesystem::last_write_time(file_, std::filesystem::file_time_type::clock::now(),
                                   ignored);  // used: the last to go
  return *std::move(plan);
}

void KeptPlan::Save(const Plan& plan, const PlanOrigin& origin) const {
  if (file_.empty()) return;
  const std::string payload = key_ + files::PlanToJson(plan, origin);
  WriteKept(file_, std::string(kMagic) + SumOf(payload) + payload);
}

}  // namespace fitwright::service
