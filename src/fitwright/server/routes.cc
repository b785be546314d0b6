#include "fitwright/server/routes.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>
#include <set>

#include "fitwright/base/hash.h"
#include "fitwright/server/guard.h"
#include "fitwright/service/book_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::server {
namespace {

constexpr const char* kJson = "application/json";
constexpr int kMostSetups = 9999;

using Values = std::multimap<std::string, std::string>;

std::string ValueOf(const Values& query, const std::string& name, const std::string& without) {
  const auto found = query.find(name);
  return found == query.end() ? without : found->second;
}

Error Wrong(std::string message, std::string value, std::string remedy) {
  return {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}};
}

// Empty for no unit; an Error for what is none.
Result<std::optional<LengthUnit>> UnitOf(const std::string& word) {
  if (word.empty()) return std::optional<LengthUnit>();
  if (word == "mm") return std::optional(LengthUnit::kMillimetre);
  if (word == "inch") return std::optional(LengthUnit::kInch);
  return Unexpected(Wrong("a unit is mm or inch", word, "use mm or inch"));
}

Result<int> SetupOf(const std::string& digits) {
  int number = 0;
  const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (fault == std::errc() && end == digits.data() + digits.size() && number >= 1 &&
      number <= kMostSetups)
    return number;
  return Unexpected(
      Wrong("a setup is named by its number", digits, "use a whole number from the order of work"));
}

// The project opened, or all its faults as an answer.
struct Opening {
  std::optional<service::Opened> opened;
  Answer refused;
};
Opening OpenProject(const ServerOptions& options, const std::string& unit_word) {
  const auto unit = UnitOf(unit_word);
  if (!unit) return {std::nullopt, AnswerOf(unit.error())};
  Diagnostics faults;
  auto opened =
      service::Open({options.dir, options.shop_file, *unit ? *unit : options.unit}, faults);
  if (opened) return {*std::move(opened), {}};
  if (faults.empty()) return {std::nullopt, AnswerOf(opened.error())};
  Answer all = AnswerOf(faults.errors().front());
  all.body = service::ErrorsToJson(faults.errors(), faults.count_not_shown());
  return {std::nullopt, all};
}

service::ShelfOptions ShelfOf(const ServerOptions& options, const CancelFlag* cancel) {
  service::ShelfOptions shelf;
  shelf.program = options.solid_program;
  shelf.dir = options.dir;
  shelf.shop_file = options.shop_file;
  shelf.folder = options.cache_folder / fmt::format("{:016x}", StableHash(options.dir.string()));
  shelf.seconds = options.drawing_seconds;
  shelf.cancel = cancel;
  return shelf;
}

}  // namespace

Answer AnswerOf(const Error& error, int status) {
  return {status, kJson, service::ErrorsToJson({error}, 0)};
}
Answer AnswerOf(const Error& error) { return AnswerOf(error, HttpStatusOf(error.code)); }

Routes::Routes(const ServerOptions& options, const CancelFlag* cancel)
    : options_(options), shelf_(ShelfOf(options, cancel)) {}

Answer Routes::Ask(const std::string& path, const Values& query) {
  static const std::map<std::string, std::set<std::string>> kKnown = {
      {"/api/project", {"unit"}},
      {"/api/check", {}},
      {"/api/plan", {}},
      {"/api/report", {"unit"}},
      {"/api/drawing", {"setup", "kind", "unit"}}};
  const auto known = kKnown.find(path);
  if (known == kKnown.end()) {
    return AnswerOf({ErrorCode::kFileMissing,
                     "there is nothing at this address",
                     "",
                     "start from the page",
                     {}});
  }
  if (const auto fault = FindFault(query, known->second)) return AnswerOf(*fault);
  if (path == "/api/project") return Project(ValueOf(query, "unit", ""));
  if (path == "/api/check") return Check();
  if (path == "/api/plan") return Plan();
  if (path == "/api/report") return Report(ValueOf(query, "unit", ""));
  return Drawing(query);
}

Answer Routes::Project(const std::string& unit) const {
  const Opening opening = OpenProject(options_, unit);
  if (!opening.opened) return opening.refused;
  const auto saved = service::LoadSavedPlan(*opening.opened);
  if (!saved && saved.error().code != ErrorCode::kFileMissing) return AnswerOf(saved.error());
  return {200, kJson,
          service::ProjectToJson(*opening.opened, saved ? &*saved : nullptr, options_.version)};
}

Answer Routes::Check() const {
  const Opening opening = OpenProject(options_, "");
  if (!opening.opened) return opening.refused;
  return {200, kJson, service::CheckToJson(service::Check(*opening.opened))};
}

Answer Routes::Plan() const {
  const Opening opening = OpenProject(options_, "");
  if (!opening.opened) return opening.refused;
  const auto saved = service::LoadSavedPlan(*opening.opened);
  if (!saved) return AnswerOf(saved.error());
  return {200, kJson, service::PlanText(*saved)};
}

Answer Routes::Report(const std::string& unit) const {
  const Opening opening = OpenProject(options_, unit);
  if (!opening.opened) return opening.refused;
  const auto saved = service::LoadSavedPlan(*opening.opened);
  if (!saved) return AnswerOf(saved.error());
  return {200, kJson, service::BookToJson(*opening.opened, *saved)};
}

Answer Routes::Drawing(const Values& query) {
  const auto setup = SetupOf(ValueOf(query, "setup", ""));
  if (!setup) return AnswerOf(setup.error());
  const std::string kind_word = ValueOf(query, "kind", "setup");
  const auto kind = service::DrawingKindOf(kind_word);
  if (!kind)
    return AnswerOf(
        Wrong("there is no such kind of drawing", kind_word, "use setup, holes or cuts"));
  const Opening opening = OpenProject(options_, ValueOf(query, "unit", ""));
  if (!opening.opened) return opening.refused;
  const auto saved = service::LoadSavedPlan(*opening.opened);
  if (!saved) return AnswerOf(saved.error());
  const auto& setups = saved->plan.setups;
  if (std::none_of(setups.begin(), setups.end(),
                   [&](const auto& s) { return s.number == *setup; })) {
    return AnswerOf({ErrorCode::kFileMissing,
                     "the plan has no such setup",
                     std::to_string(*setup),
                     "take a number from the order of work",
                     {}});
  }
  const std::string drawn_from =
      options_.version + opening.opened->project.inputs_hash + service::PlanText(*saved);
  auto svg = shelf_.Get(drawn_from, {*setup, *kind, opening.opened->unit});
  if (!svg) return AnswerOf(svg.error());
  return {200, "image/svg+xml", *std::move(svg)};
}

}  // namespace fitwright::server
