// Any bytes as plan.json: read, or refused with an error; never a crash.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "fitwright/files/plan_json.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto plan = fitwright::files::PlanFromJson(text, "plan.json");
  if (plan) (void)fitwright::files::PlanToJson(*plan);
  return 0;
}
