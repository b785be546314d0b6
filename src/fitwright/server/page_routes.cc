#include "fitwright/server/page_routes.h"

#include <set>

#include "fitwright/server/guard.h"
#include "fitwright/service/lessons_use.h"
#include "fitwright/service/sheet_additions.h"

namespace fitwright::server {

namespace {

constexpr int kMostDigits = 4;
const std::set<std::string> kOfWhich = {"unit", "build", "as-planned"};

Result<service::WhatIfOf> OfWhich(const std::multimap<std::string, std::string>& query) {
  service::WhatIfOf of;
  const auto unit = UnitOf(ValueOf(query, "unit", ""));
  if (!unit) return Unexpected(unit.error());
  of.unit = *unit;
  const std::string as_planned = ValueOf(query, "as-planned", "no");
  if (as_planned != "yes" && as_planned != "no") {
    return Unexpected(
        Error{ErrorCode::kUsage, "as-planned is yes or no", as_planned, "use yes or no", {}});
  }
  of.as_planned = as_planned == "yes";
  const std::string build = ValueOf(query, "build", "1");
  const bool digits = !build.empty() && build.size() <= kMostDigits &&
                      build.find_first_not_of("0123456789") == std::string::npos;
  of.build = digits ? std::stoi(build) : 0;
  if (of.build < 1) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "a build is named by its number",
                            build,
                            "use a whole number from 1",
                            {}});
  }
  return of;
}

}  // namespace

PageRoutes::PageRoutes(const ServerOptions& options, std::mutex& editing)
    : options_(options),
      editing_(editing),
      what_if_({options.dir, options.shop_file, options.unit}) {}

Result<std::string> PageRoutes::Learning(const service::WhatIfOf& of) const {
  const auto workshop =
      service::EnterWorkshop({options_.dir, options_.shop_file, of.unit ? of.unit : options_.unit});
  if (!workshop) return Unexpected(workshop.error());
  const auto lessons = service::AskLessons(*workshop, of.build);
  if (!lessons) return Unexpected(lessons.error());
  return service::LearningToJson(*workshop, *lessons);
}

std::optional<Answer> PageRoutes::Ask(const std::string& path,
                                      const std::multimap<std::string, std::string>& query) {
  const bool learning = path == "/api/learning";
  const bool known = path == "/api/knobs" || path == "/api/lessen" || learning;
  if (!known) return std::nullopt;
  if (const auto fault = FindFault(query, kOfWhich)) return AnswerOf(*fault);
  const auto of = OfWhich(query);
  if (!of) return AnswerOf(of.error());
  if (learning) return AnswerOf(Learning(*of));
  return AnswerOf(path == "/api/knobs" ? what_if_.Knobs(*of) : what_if_.Lessen(*of));
}

Answer PageRoutes::Add(const std::string& body) {
  const auto tables = service::AdditionFromJson(body);
  if (!tables) return AnswerOf(tables.error());
  const std::lock_guard lock(editing_);
  Diagnostics faults;
  const Status added =
      service::AddToSheets({options_.dir, options_.shop_file, options_.unit}, *tables, faults);
  if (!faults.empty()) return AnswerOf(faults);
  if (!added) return AnswerOf(added.error());
  return {200, kJsonType, "{\"schema\":\"fitwright-added/1\"}\n"};
}

std::optional<Answer> PageRoutes::Tell(const std::string& path,
                                       const std::multimap<std::string, std::string>& query,
                                       const std::string& body) {
  const bool adds = path == "/api/add";
  if (!adds && path != "/api/what-if" && path != "/api/spread") return std::nullopt;
  const std::set<std::string> known = adds ? std::set<std::string>{} : kOfWhich;
  if (const auto fault = FindFault(query, known)) return AnswerOf(*fault);
  if (adds) return Add(body);
  const auto of = OfWhich(query);
  if (!of) return AnswerOf(of.error());
  const auto asked = service::WhatIfAskedFromJson(body);
  if (!asked) return AnswerOf(asked.error());
  return AnswerOf(path == "/api/spread" ? what_if_.Spread(*asked, *of)
                                        : what_if_.Odds(*asked, *of));
}

}  // namespace fitwright::server
