#include "fitwright/files/page_events_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

namespace fitwright::files {
namespace {

using nlohmann::json;

constexpr std::size_t kIdDigits = 32;
constexpr std::size_t kLongestEventShown = 60;
constexpr double kMostReading_mm = 1e6;

Error Wrong(ErrorCode code, std::string key, std::string message, std::string value) {
  if (value.size() > kLongestEventShown) value.resize(kLongestEventShown);
  return {code, std::move(message), std::move(value), "load the page again", {"", 0, 0, key}};
}

// Of what holds others nothing: it may be as deep as it likes.
std::string TextOf(const json& value) {
  if (value.is_structured()) return "";
  return value.dump(-1, ' ', true, json::error_handler_t::replace);
}

// Takes the members of one event; the first fault stays.
class EventFields {
 public:
  EventFields(const json& object, std::string path, std::optional<Error>& fault)
      : object_(object), path_(std::move(path)), fault_(fault) {}

  std::string Text(const char* key) {
    const json* value = Find(key);
    if (value == nullptr) return {};
    if (!value->is_string() || value->get_ref<const std::string&>().size() > kMostPageText) {
      Set(ErrorCode::kWrongType, key, "a text of up to 2000 bytes is wanted here", TextOf(*value));
      return {};
    }
    return value->get<std::string>();
  }
  std::int64_t Whole(const char* key) {
    const json* value = Find(key);
    if (value == nullptr) return 0;
    if (!value->is_number_integer()) {
      Set(ErrorCode::kWrongType, key, "a whole number is wanted here", TextOf(*value));
      return 0;
    }
    return value->get<std::int64_t>();
  }
  double Number(const char* key) {
    const json* value = Find(key);
    if (value == nullptr) return 0;
    const double number = value->is_number() ? value->get<double>() : NAN;
    if (std::isfinite(number) && std::abs(number) <= kMostReading_mm) return number;
    Set(ErrorCode::kWrongType, key, "a size in mm is wanted here", TextOf(*value));
    return 0;
  }
  bool Yes(const char* key) {
    const json* value = Find(key);
    if (value == nullptr) return false;
    if (!value->is_boolean()) {
      Set(ErrorCode::kWrongType, key, "true or false is wanted here", TextOf(*value));
      return false;
    }
    return value->get<bool>();
  }
  void Finish() {
    if (object_.size() != taken_)
      Set(ErrorCode::kUnknownKey, "", "there are more keys here than this version knows", "");
  }
  void Set(ErrorCode code, const char* key, std::string message, std::string value) {
    if (!fault_) fault_ = Wrong(code, PathOf(key), std::move(message), std::move(value));
  }

 private:
  std::string PathOf(const char* key) const {
    if (path_.empty() || *key == '\0') return path_ + key;
    return fmt::format("{}.{}", path_, key);
  }
  const json* Find(const char* key) {
    ++taken_;
    const auto found = object_.find(key);
    if (found != object_.end()) return &*found;
    Set(ErrorCode::kMissingKey, key, "this is missing", "");
    return nullptr;
  }

  const json& object_;
  std::string path_;
  std::optional<Error>& fault_;
  std::size_t taken_ = 0;
};

bool IsId(const json& value) {
  if (!value.is_string()) return false;
  const auto& id = value.get_ref<const std::string&>();
  return id.size() == kIdDigits && id.find_first_not_of("0123456789abcdef") == std::string::npos;
}

void ReadKind(EventFields& fields, LogEvent& event) {
  const std::string word = fields.Text("kind");
  const auto kind = EnumOf<LogKind>(word);
  if (!kind || *kind == LogKind::kPhoto)
    fields.Set(ErrorCode::kUnknownWord, "kind", "no kind of event that a page sends", word);
  event.kind = kind.value_or(LogKind::kNote);
}

PageEvent EventOf(const json& object, const std::string& path) {
  PageEvent out;
  LogEvent& event = out.event;
  EventFields fields(object, path, out.fault);
  event.id = fields.Text("id");
  event.time_ms = fields.Whole("time_ms");
  const std::int64_t build = fields.Whole("build");
  if (build < 1 || build > kHighestBuild) {
    fields.Set(ErrorCode::kOutOfRange, "build", fmt::format("builds are 1 to {}", kHighestBuild),
               fmt::format("{}", build));
  }
  event.build = static_cast<int>(std::clamp<std::int64_t>(build, 1, kHighestBuild));
  out.plan = fields.Text("plan");
  ReadKind(fields, event);
  event.part = PartId(fields.Text("part"));
  event.step = StepId(fields.Text("step"));
  event.text = fields.Text("text");
  if (event.kind == LogKind::kReading) {
    Reading reading;
    reading.value_mm = fields.Number("value_mm");
    reading.typed = fields.Text("typed");
    reading.instrument = InstrumentId(fields.Text("instrument"));
    event.reading = reading;
  }
  fields.Finish();
  return out;
}

std::optional<Error> FindWrongSchema(const json& body, std::string_view id) {
  if (body.is_discarded()) return Wrong(ErrorCode::kJsonSyntax, "", "this is not JSON", "");
  if (!body.is_object()) return Wrong(ErrorCode::kWrongType, "", "an object is wanted here", "");
  const auto schema = body.find("schema");
  if (schema == body.end() || !schema->is_string() || *schema != id) {
    return Wrong(ErrorCode::kSchemaVersion, "schema", fmt::format("this version reads {}", id),
                 schema == body.end() ? "" : TextOf(*schema));
  }
  return std::nullopt;
}

std::optional<Error> FindWrongBody(const json& body) {
  if (auto wrong = FindWrongSchema(body, kPageEventsSchemaId)) return wrong;
  const auto events = body.find("events");
  if (events == body.end() || !events->is_array())
    return Wrong(ErrorCode::kMissingKey, "events", "a list of events is wanted here", "");
  if (body.size() != 2) return Wrong(ErrorCode::kUnknownKey, "", "there are more keys here", "");
  if (events->empty() || events->size() > kMostPageEvents) {
    return Wrong(ErrorCode::kOutOfRange, "events",
                 fmt::format("1 to {} events are sent at once", kMostPageEvents),
                 fmt::format("{}", events->size()));
  }
  return std::nullopt;
}

}  // namespace

Result<std::vector<PageEvent>> PageEventsFromJson(std::string_view text) {
  const json body = json::parse(text.begin(), text.end(), nullptr, false);
  if (auto wrong = FindWrongBody(body)) return Unexpected(*std::move(wrong));
  std::vector<PageEvent> events;
  std::set<std::string> ids;
  for (const json& one : body["events"]) {
    const std::string path = fmt::format("events[{}]", events.size() + 1);
    if (!one.is_object() || !one.contains("id") || !IsId(one["id"]))
      return Unexpected(Wrong(ErrorCode::kBadName, path + ".id", "an id is 32 hex digits", ""));
    if (!ids.insert(one["id"].get<std::string>()).second)
      return Unexpected(Wrong(ErrorCode::kBadName, path + ".id", "an id is given once", ""));
    events.push_back(EventOf(one, path));
  }
  return events;
}

Result<SheetEdit> SheetEditFromJson(std::string_view text) {
  const json body = json::parse(text.begin(), text.end(), nullptr, false);
  std::optional<Error> fault = FindWrongSchema(body, kEditSchemaId);
  if (fault) return Unexpected(*std::move(fault));
  SheetEdit edit;
  EventFields fields(body, "", fault);
  fields.Text("schema");
  edit.file = fields.Text("file");
  edit.line = static_cast<int>(std::clamp<std::int64_t>(fields.Whole("line"), 0, 1'000'000));
  edit.text = fields.Text("text");
  edit.value = fields.Text("value");
  edit.confirm = fields.Yes("confirm");
  fields.Finish();
  if (fault) return Unexpected(*std::move(fault));
  return edit;
}

}  // namespace fitwright::files
