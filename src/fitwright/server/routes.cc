#include "fitwright/server/routes.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <optional>
#include <set>

#include "fitwright/base/hash.h"
#include "fitwright/server/guard.h"
#include "fitwright/service/book_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/part_pages.h"
#include "fitwright/service/sheet_lines.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::server {
namespace {

constexpr const char* kJson = kJsonType;
constexpr int kMostNumber = 9999;

using Values = std::multimap<std::string, std::string>;

Error Wrong(std::string message, std::string value, std::string remedy) {
  return {ErrorCode::kUsage, std::move(message), std::move(value), std::move(remedy), {}};
}

Result<int> NumberOf(const std::string& digits, const std::string& what) {
  int number = 0;
  const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (fault == std::errc() && end == digits.data() + digits.size() && number >= 1 &&
      number <= kMostNumber)
    return number;
  return Unexpected(Wrong(what + " is named by its number", digits, "use a whole number from 1"));
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
  return {std::nullopt, AnswerOf(faults)};
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

service::JobOptions JobsOf(const ServerOptions& options, const CancelFlag* cancel) {
  return {options.solid_program, options.dir, options.shop_file, options.job_seconds, cancel};
}

std::int64_t Now_ms() {
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(now).count();
}

Result<service::DeskUse> DeskUseOf(const Values& query) {
  const auto unit = UnitOf(ValueOf(query, "unit", ""));
  if (!unit) return Unexpected(unit.error());
  const auto build = NumberOf(ValueOf(query, "build", "1"), "a build");
  if (!build) return Unexpected(build.error());
  return service::DeskUse{*build, *unit, Now_ms()};
}

Answer NothingThere() {
  return AnswerOf(
      {ErrorCode::kFileMissing, "there is nothing at this address", "", "start from the page", {}});
}

}  // namespace

Routes::Routes(const ServerOptions& options, const CancelFlag* cancel)
    : options_(options),
      shelf_(ShelfOf(options, cancel)),
      jobs_(JobsOf(options, cancel)),
      planning_(jobs_),
      desk_({options.dir, options.shop_file, options.unit}),
      page_(options, editing_) {}

Answer Routes::Ask(const std::string& path, const Values& query) {
  if (auto answer = page_.Ask(path, query)) return *std::move(answer);
  static const std::map<std::string, std::set<std::string>> kKnown = {
      {"/api/project", {"unit"}},
      {"/api/check", {}},
      {"/api/plan", {}},
      {"/api/report", {"unit"}},
      {"/api/build", {"build", "unit"}},
      {"/api/parts", {"unit"}},
      {"/api/planning", {}},
      {"/api/shop", {"unit"}},
      {"/api/drawings", {"setup", "unit"}},
      {"/api/solids", {"setup", "unit"}},
      {"/api/drawing", {"setup", "kind", "sheet", "unit"}}};
  const auto known = kKnown.find(path);
  if (known == kKnown.end()) return NothingThere();
  if (const auto fault = FindFault(query, known->second)) return AnswerOf(*fault);
  const std::string unit = ValueOf(query, "unit", "");
  if (path == "/api/drawing") return Drawing(query);
  if (path == "/api/drawings") return Drawings(query);
  if (path == "/api/solids") return Solids(query);
  if (path == "/api/planning") return {200, kJson, planning_.ToJson()};
  if (path == "/api/build") return Build(query);
  return Kept(path + "?" + unit, [&] {
    if (path == "/api/project") return Project(unit);
    if (path == "/api/check") return Check();
    if (path == "/api/plan") return Plan();
    if (path == "/api/parts") return Parts(unit);
    if (path == "/api/shop") return Shop(unit);
    return Report(unit);
  });
}

namespace {

// However the making ends, whoever waits for it goes on.
struct Making {
  std::function<void()> end;
  ~Making() { end(); }
};

}  // namespace

Answer Routes::Kept(const std::string& key, const std::function<Answer()>& make) {
  service::FolderStamp now = service::ReadFolderStamp(options_.dir, options_.shop_file);
  std::unique_lock lock(mutex_);
  if (now != folder_ || !now.settled) kept_.clear();
  folder_ = now;
  // What is not kept is not waited for either: each makes its own.
  if (now.settled) made_.wait(lock, [&] { return !being_made_.contains(key); });
  const auto found = kept_.find(key);
  if (found != kept_.end()) return found->second;
  being_made_.insert(key);
  lock.unlock();
  const Making ended{[&] {
    const std::lock_guard again(mutex_);
    being_made_.erase(key);
    made_.notify_all();
  }};
  Answer answer = make();
  lock.lock();
  if (now.settled && now == folder_ && answer.status == 200) kept_.emplace(key, answer);
  lock.unlock();
  return answer;
}

Answer Routes::Build(const Values& query) {
  const auto use = DeskUseOf(query);
  if (!use) return AnswerOf(use.error());
  auto state = desk_.GetState(*use);
  return state ? Answer{200, kJson, *std::move(state)} : AnswerOf(state.error());
}

Answer Routes::Parts(const std::string& unit) const {
  const Opening opening = OpenProject(options_, unit);
  if (!opening.opened) return opening.refused;
  auto parts = service::PartsToJson(*opening.opened);
  return parts ? Answer{200, kJson, *std::move(parts)} : AnswerOf(parts.error());
}

Answer Routes::Shop(const std::string& unit) const {
  const Opening opening = OpenProject(options_, unit);
  if (!opening.opened) return opening.refused;
  return {200, kJson, service::ShopToJson(*opening.opened)};
}

Answer Routes::Edit(const std::string& body) {
  const auto edit = service::SheetEditFromJson(body);
  if (!edit) return AnswerOf(edit.error());
  const std::lock_guard lock(editing_);
  Diagnostics faults;
  const Status edited =
      service::EditSheet({options_.dir, options_.shop_file, options_.unit}, *edit, faults);
  if (!faults.empty()) return AnswerOf(faults);
  if (!edited) return AnswerOf(edited.error());
  return Project("");
}

Answer Routes::Read(const Values& query, const std::string& body) {
  const std::lock_guard lock(editing_);
  const Status read = service::ReadIntoFolder(jobs_, body, ValueOf(query, "name", ""),
                                              ValueOf(query, "material", ""));
  return read ? Project("") : AnswerOf(read.error());
}

Answer Routes::Tell(const std::string& path, const Values& query, const std::string& body) {
  if (auto answer = page_.Tell(path, query, body)) return *std::move(answer);
  static const std::map<std::string, std::set<std::string>> kKnown = {
      {"/api/edit", {}},
      {"/api/events", {"build", "unit"}},
      {"/api/planning", {}},
      {"/api/read", {"name", "material"}}};
  const auto known = kKnown.find(path);
  if (known == kKnown.end()) return NothingThere();
  if (const auto fault = FindFault(query, known->second)) return AnswerOf(*fault);
  if (path == "/api/edit") return Edit(body);
  if (path == "/api/read") return Read(query, body);
  if (path == "/api/planning") {
    planning_.Start(Now_ms());
    return {200, kJson, planning_.ToJson()};
  }
  const auto use = DeskUseOf(query);
  if (!use) return AnswerOf(use.error());
  auto state = desk_.Record(body, *use);
  return state ? Answer{200, kJson, *std::move(state)} : AnswerOf(state.error());
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

Result<Routes::Drawn> Routes::FindDrawn(const Values& query, Answer& refused) const {
  const auto setup = NumberOf(ValueOf(query, "setup", ""), "a setup");
  if (!setup) return Unexpected(setup.error());
  Opening opening = OpenProject(options_, ValueOf(query, "unit", ""));
  if (!opening.opened) {
    refused = opening.refused;
    return Unexpected(Error{});
  }
  const auto saved = service::LoadSavedPlan(*opening.opened);
  if (!saved) return Unexpected(saved.error());
  const auto& setups = saved->plan.setups;
  if (std::none_of(setups.begin(), setups.end(),
                   [&](const auto& s) { return s.number == *setup; })) {
    return Unexpected(Error{ErrorCode::kFileMissing,
                            "the plan has no such setup",
                            std::to_string(*setup),
                            "take a number from the order of work",
                            {}});
  }
  service::DrawingUse use;
  use.setup = *setup;
  use.unit = opening.opened->unit;
  return Drawn{options_.version + opening.opened->project.inputs_hash + saved->id, use};
}

Answer Routes::Drawing(const Values& query) {
  const std::string kind_word = ValueOf(query, "kind", "setup");
  const auto kind = service::DrawingKindOf(kind_word);
  if (!kind)
    return AnswerOf(
        Wrong("there is no such kind of drawing", kind_word, "use setup, holes or cuts"));
  const auto sheet = NumberOf(ValueOf(query, "sheet", "1"), "a sheet");
  if (!sheet) return AnswerOf(sheet.error());
  Answer refused;
  auto drawn = FindDrawn(query, refused);
  if (!drawn) return refused.body.empty() ? AnswerOf(drawn.error()) : refused;
  drawn->use.kind = *kind;
  drawn->use.sheet = *sheet;
  auto svg = shelf_.Get(drawn->from, drawn->use);
  if (!svg) return AnswerOf(svg.error());
  return {200, "image/svg+xml", *std::move(svg)};
}

Answer Routes::Solids(const Values& query) {
  Answer refused;
  const auto drawn = FindDrawn(query, refused);
  if (!drawn) return refused.body.empty() ? AnswerOf(drawn.error()) : refused;
  return AnswerOf(shelf_.GetSolids(drawn->from, drawn->use));
}

Answer Routes::Drawings(const Values& query) {
  Answer refused;
  const auto drawn = FindDrawn(query, refused);
  if (!drawn) return refused.body.empty() ? AnswerOf(drawn.error()) : refused;
  const auto names = shelf_.List(drawn->from, drawn->use);
  if (!names) return AnswerOf(names.error());
  std::string list;
  for (const service::DrawingName& name : *names) {
    list += fmt::format(R"({}{{"kind":"{}","sheet":{}}})", list.empty() ? "" : ",",
                        service::WordOf(name.kind), name.sheet);
  }
  return {200, kJson,
          fmt::format(R"({{"schema":"fitwright-drawings/1","setup":{},"drawings":[{}]}})",
                      drawn->use.setup, list) +
              "\n"};
}

}  // namespace fitwright::server
