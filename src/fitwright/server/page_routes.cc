#include "fitwright/server/page_routes.h"

#include <set>

#include "fitwright/server/guard.h"
#include "fitwright/service/sheet_additions.h"

namespace fitwright::server {

PageRoutes::PageRoutes(const ServerOptions& options, std::mutex& editing)
    : options_(options),
      editing_(editing),
      what_if_({options.dir, options.shop_file, options.unit}) {}

std::optional<Answer> PageRoutes::Ask(const std::string& path,
                                      const std::multimap<std::string, std::string>& query) {
  const bool known = path == "/api/knobs" || path == "/api/lessen";
  if (!known) return std::nullopt;
  if (const auto fault = FindFault(query, {"unit"})) return AnswerOf(*fault);
  const auto unit = UnitOf(ValueOf(query, "unit", ""));
  if (!unit) return AnswerOf(unit.error());
  return AnswerOf(path == "/api/knobs" ? what_if_.Knobs(*unit) : what_if_.Lessen(*unit));
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
  const std::set<std::string> known =
      adds ? std::set<std::string>{} : std::set<std::string>{"unit"};
  if (const auto fault = FindFault(query, known)) return AnswerOf(*fault);
  if (adds) return Add(body);
  const auto unit = UnitOf(ValueOf(query, "unit", ""));
  if (!unit) return AnswerOf(unit.error());
  const auto asked = service::WhatIfAskedFromJson(body);
  if (!asked) return AnswerOf(asked.error());
  return AnswerOf(path == "/api/spread" ? what_if_.Spread(*asked, *unit)
                                        : what_if_.Odds(*asked, *unit));
}

}  // namespace fitwright::server
