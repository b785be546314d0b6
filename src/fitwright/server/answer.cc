#include "fitwright/server/answer.h"

#include <utility>

#include "fitwright/service/json_text.h"

namespace fitwright::server {

Answer AnswerOf(const Error& error, int status) {
  return {status, kJsonType, service::ErrorsToJson({error}, 0)};
}

Answer AnswerOf(const Error& error) { return AnswerOf(error, HttpStatusOf(error.code)); }

Answer AnswerOf(const Diagnostics& faults) {
  Answer all = AnswerOf(faults.errors().front());
  all.body = service::ErrorsToJson(faults.errors(), faults.count_not_shown());
  return all;
}

Answer AnswerOf(Result<std::string> json) {
  return json ? Answer{200, kJsonType, *std::move(json)} : AnswerOf(json.error());
}

std::string ValueOf(const std::multimap<std::string, std::string>& query, const std::string& name,
                    const std::string& without) {
  const auto found = query.find(name);
  return found == query.end() ? without : found->second;
}

Result<std::optional<LengthUnit>> UnitOf(const std::string& word) {
  if (word.empty()) return std::optional<LengthUnit>();
  if (word == "mm") return std::optional(LengthUnit::kMillimetre);
  if (word == "inch") return std::optional(LengthUnit::kInch);
  return Unexpected(Error{ErrorCode::kUsage, "a unit is mm or inch", word, "use mm or inch", {}});
}

}  // namespace fitwright::server
