// The saved plan (plan.json, schema id fitwright-plan/1) and the reports that travel as JSON.
// The form is described by schemas/plan.schema.json; mm, degrees, minutes, g as the keys say, odds
// 0..1.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/plan_origin.h"

namespace fitwright::files {

inline constexpr std::string_view kPlanSchemaId = "fitwright-plan/1";
inline constexpr std::string_view kOddsSchemaId = "fitwright-odds/1";
inline constexpr std::string_view kReplaySchemaId = "fitwright-replay/1";
inline constexpr std::string_view kPlanFileName = "plan.json";

// The whole plan. Numbers are the shortest that read back to the same bits; keys stand in a fixed
// order, so that the same plan gives the same bytes. Every number of the plan must be finite
// (FW_CHECK).
std::string PlanToJson(const Plan& plan, const PlanOrigin& origin = {});

// The plan that PlanToJson wrote, equal in every field. file_name: as errors show it.
// Errors, with line and key: kJsonSyntax, kDuplicateName (a key twice), kSchemaVersion,
// kMissingKey, kUnknownKey, kWrongType, kUnknownWord, kOutOfRange (odds outside 0..1, a pose that
// is no rotation, parts or X_PS at odds with poses).
// `origin`, where not null, is told how the plan came about.
Result<Plan> PlanFromJson(std::string_view text, std::string file_name, PlanOrigin* origin = nullptr);

// dir/plan.json, written whole or not at all. Errors: kFileUnwritable.
Status SavePlan(const std::filesystem::path& dir, const Plan& plan, const PlanOrigin& origin = {});
// The bytes of dir/plan.json. Errors: kFileMissing, kFileUnreadable.
Result<std::string> LoadPlanText(const std::filesystem::path& dir);
// Errors: those of LoadPlanText and PlanFromJson.
Result<Plan> LoadPlan(const std::filesystem::path& dir);

// {schema, odds, requirements}: the two members of plan.json that `odds` computes.
std::string OddsToJson(const Plan& plan);

// {schema, ok, parts:[{name, steps, violations:[{step, rule, say}], design_volume_mm3,
// made_volume_mm3, difference_mm3}]}.
std::string ReplayToJson(const ReplayReport& report);
// Errors as PlanFromJson.
Result<ReplayReport> ReplayFromJson(std::string_view text, std::string file_name);

}  // namespace fitwright::files
