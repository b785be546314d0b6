#include "fitwright/files/build_log_json.h"

#include <fmt/format.h>

#include <limits>
#include <nlohmann/json.hpp>

namespace fitwright::files {
namespace {

using nlohmann::ordered_json;

constexpr std::size_t kLongestShown = 60;

ordered_json ToJson(const PlanRevision& revision, Plans plans) {
  ordered_json out = {{"number", revision.number},
                      {"time_ms", revision.time_ms},
                      {"inputs_hash", revision.inputs_hash}};
  if (plans == Plans::kWith) out["plan_json"] = revision.plan_json;
  return out;
}

ordered_json ToJson(const LogEvent& event) {
  ordered_json out = {{"number", event.number},     {"id", event.id},
                      {"time_ms", event.time_ms},   {"build", event.build},
                      {"revision", event.revision}, {"kind", std::string(WordOf(event.kind))},
                      {"part", event.part.text()},  {"step", event.step.text()}};
  if (event.reading) {
    const Reading& reading = *event.reading;
    out["reading"] = {{"value_mm", reading.value_mm},
                      {"typed", reading.typed},
                      {"instrument", reading.instrument.text()},
                      {"part", reading.feature.part.text()},
                      {"feature", reading.feature.feature.text()}};
  }
  out["text"] = event.text;
  return out;
}

// Takes the members of one object; the first fault ends the reading.
class Members {
 public:
  Members(const ordered_json& object, std::string path, std::optional<Error>& fault)
      : object_(object), path_(std::move(path)), fault_(fault) {
    if (!object.is_object())
      Set(ErrorCode::kWrongType, "", "an object is wanted here", object.dump());
  }

  template <typename T>
  void Take(const char* key, T& to) {
    const ordered_json* value = Find(key);
    if (value == nullptr) return;
    if (!Fits(*value, to)) {
      Set(ErrorCode::kWrongType, key, "another kind of value is wanted here", value->dump());
      return;
    }
    to = value->get<T>();
  }
  template <typename Tag>
  void Take(const char* key, Id<Tag>& to) {
    std::string text;
    Take(key, text);
    to = Id<Tag>(text);
  }
  const ordered_json* Find(const char* key) {
    ++taken_;
    if (fault_) return nullptr;
    const auto found = object_.find(key);
    if (found != object_.end()) return &*found;
    Set(ErrorCode::kMissingKey, "", fmt::format("{} is missing here", key), "");
    return nullptr;
  }
  bool Has(const char* key) const { return object_.is_object() && object_.contains(key); }
  // After all that is known was taken.
  void Finish() {
    if (!fault_ && object_.size() != taken_) {
      Set(ErrorCode::kUnknownKey, "", "there are more keys here than this version knows", "");
    }
  }
  std::string PathOf(const char* key) const {
    return path_.empty() ? key : fmt::format("{}.{}", path_, key);
  }
  void Set(ErrorCode code, const char* key, std::string message, const std::string& value) {
    if (fault_) return;
    fault_ = Error{code,
                   std::move(message),
                   value.substr(0, kLongestShown),
                   "take a file that fitwright log --out wrote",
                   {"", 0, 0, *key == '\0' ? path_ : PathOf(key)}};
  }

 private:
  static bool Fits(const ordered_json& value, const std::string&) { return value.is_string(); }
  static bool Fits(const ordered_json& value, double) { return value.is_number(); }
  static bool Fits(const ordered_json& value, std::int64_t) { return value.is_number_integer(); }
  static bool Fits(const ordered_json& value, int) {
    return value.is_number_integer() && value.get<std::int64_t>() >= 0 &&
           value.get<std::int64_t>() <= std::numeric_limits<int>::max();
  }

  const ordered_json& object_;
  std::string path_;
  std::optional<Error>& fault_;
  std::size_t taken_ = 0;
};

PlanRevision RevisionOf(const ordered_json& json, const std::string& path,
                        std::optional<Error>& fault) {
  PlanRevision revision;
  Members members(json, path, fault);
  members.Take("number", revision.number);
  members.Take("time_ms", revision.time_ms);
  members.Take("inputs_hash", revision.inputs_hash);
  members.Take("plan_json", revision.plan_json);
  members.Finish();
  return revision;
}

Reading ReadingOf(const ordered_json& json, const std::string& path, std::optional<Error>& fault) {
  Reading reading;
  Members members(json, path, fault);
  members.Take("value_mm", reading.value_mm);
  members.Take("typed", reading.typed);
  members.Take("instrument", reading.instrument);
  members.Take("part", reading.feature.part);
  members.Take("feature", reading.feature.feature);
  members.Finish();
  return reading;
}

LogEvent EventOf(const ordered_json& json, const std::string& path, std::optional<Error>& fault) {
  LogEvent event;
  std::string kind;
  Members members(json, path, fault);
  members.Take("number", event.number);
  members.Take("id", event.id);
  members.Take("time_ms", event.time_ms);
  members.Take("build", event.build);
  members.Take("revision", event.revision);
  members.Take("kind", kind);
  members.Take("part", event.part);
  members.Take("step", event.step);
  members.Take("text", event.text);
  if (members.Has("reading")) {
    const ordered_json* reading = members.Find("reading");
    if (reading != nullptr) event.reading = ReadingOf(*reading, members.PathOf("reading"), fault);
  }
  members.Finish();
  const auto known = EnumOf<LogKind>(kind);
  if (!known)
    members.Set(ErrorCode::kUnknownWord, "kind", "no kind of event that this version knows", kind);
  event.kind = known.value_or(LogKind::kNote);
  return event;
}

template <typename T, typename ReadOne>
std::vector<T> RowsOf(Members& members, const char* key, std::optional<Error>& fault,
                      ReadOne read_one) {
  std::vector<T> list;
  const ordered_json* array = members.Find(key);
  if (array == nullptr) return list;
  if (!array->is_array()) {
    members.Set(ErrorCode::kWrongType, key, "a list is wanted here", array->dump());
    return list;
  }
  for (const ordered_json& one : *array) {
    const std::string path = fmt::format("{}[{}]", key, list.size() + 1);
    list.push_back(read_one(one, path, fault));
    if (!fault && list.back().number != static_cast<std::int64_t>(list.size())) {
      fault = Error{ErrorCode::kWrongCount,
                    "numbers run 1, 2, 3 ...",
                    fmt::format("{}", list.back().number),
                    "take the file as it was written",
                    {"", 0, 0, path + ".number"}};
    }
    if (fault) return list;
  }
  return list;
}

void FindFaults(const BuildLog& log, std::optional<Error>& fault) {
  for (const LogEvent& event : log.events) {
    if (fault) return;
    fault = FindFault(event);
    if (!fault && event.id.empty()) {
      fault = Error{ErrorCode::kMissingKey,
                    "an event in a file has its id",
                    "",
                    "take the file as it was written",
                    {"", 0, 0, "id"}};
    }
    if (!fault && (event.revision < 0 || event.revision > static_cast<int>(log.revisions.size()))) {
      fault = Error{ErrorCode::kOutOfRange,
                    "the file has no such revision",
                    fmt::format("{}", event.revision),
                    "take the file as it was written",
                    {"", 0, 0, "revision"}};
    }
    if (fault) fault->where.key = fmt::format("events[{}].{}", event.number, fault->where.key);
  }
}

BuildLog LogOf(const ordered_json& json, std::optional<Error>& fault) {
  BuildLog log;
  Members members(json, "", fault);
  std::string schema;
  members.Take("schema", schema);
  if (!fault && schema != kLogSchemaId) {
    members.Set(ErrorCode::kSchemaVersion, "schema",
                fmt::format("this version reads {}", kLogSchemaId), schema);
  }
  log.revisions = RowsOf<PlanRevision>(members, "revisions", fault, RevisionOf);
  log.events = RowsOf<LogEvent>(members, "events", fault, EventOf);
  members.Finish();
  if (!fault) FindFaults(log, fault);
  return log;
}

}  // namespace

std::string BuildLogToJson(const BuildLog& log, Plans plans) {
  ordered_json out = {{"schema", std::string(kLogSchemaId)},
                      {"revisions", ordered_json::array()},
                      {"events", ordered_json::array()}};
  for (const PlanRevision& revision : log.revisions)
    out["revisions"].push_back(ToJson(revision, plans));
  for (const LogEvent& event : log.events) out["events"].push_back(ToJson(event));
  return out.dump(1) + "\n";
}

Result<BuildLog> BuildLogFromJson(std::string_view text, const std::string& file_name) {
  std::optional<Error> fault;
  BuildLog log;
  const ordered_json json = ordered_json::parse(text.begin(), text.end(), nullptr, false);
  if (json.is_discarded()) {
    fault = Error{ErrorCode::kJsonSyntax,
                  "this is not JSON",
                  "",
                  "take a file that fitwright log --out wrote",
                  {}};
  } else {
    log = LogOf(json, fault);
  }
  if (!fault) return log;
  fault->where.file = file_name;
  return Unexpected(*std::move(fault));
}

}  // namespace fitwright::files
