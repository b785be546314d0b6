#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <set>
#include <variant>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/plan_json_fields.h"
#include "fitwright/files/plan_json_place.h"
#include "fitwright/trade/nearest.h"

namespace fitwright::files {
namespace {

using nlohmann::json;

constexpr std::size_t kLongestValueShown = 60;
// Rounding of a rotation computed in double; anything further off was not written by the program.
constexpr double kRotationNoise = 1e-9;

// A value's place in the file: cheap to extend, spelt out only for a fault.
struct Path {
  const Path* up = nullptr;
  std::string_view key;   // of a member
  std::size_t index = 0;  // of a list item, from 1
  std::string text() const {
    if (up == nullptr) return "";
    const std::string above = up->text();
    if (index > 0) return fmt::format("{}[{}]", above, index);
    return above.empty() ? std::string(key) : fmt::format("{}.{}", above, key);
  }
};

// The first fault found ends the reading.
struct Fault {
  std::optional<Error> error;
  void Set(ErrorCode code, const Path& path, std::string message, const std::string& value,
           std::string remedy) {
    if (error) return;
    error.emplace();
    error->code = code;
    error->message = std::move(message);
    error->value = value.substr(0, kLongestValueShown);
    error->remedy = std::move(remedy);
    error->where.key = path.text();
  }
};

std::string Shown(const json& value) { return value.dump(-1, ' ', true); }

class PlanReader {
 public:
  static constexpr bool kReads = true;
  PlanReader(const json& object, const Path& path, Fault& fault)
      : object_(object), path_(path), fault_(fault) {}

  template <typename T>
  void Key(const char* key, T& value) {
    const json* found = Ask(key);
    if (fault_.error) return;
    if (found == nullptr) {
      fault_.Set(ErrorCode::kMissingKey, path_, fmt::format("{} is missing here", key), "",
                 "plan again; the file was changed by something else");
      return;
    }
    Decode(*found, Path{&path_, key}, value);
  }
  template <typename T>
  void Extra(const char* key, T& value) {
    const json* found = Ask(key);
    if (fault_.error || found == nullptr) return;
    Decode(*found, Path{&path_, key}, value);
  }
  template <typename T>
  void Extra(const char* key, std::optional<T>& value) {
    const json* found = Ask(key);
    if (fault_.error || found == nullptr) return;
    Decode(*found, Path{&path_, key}, value.emplace());
  }
  void Share(const char* key, double& value) {
    Key(key, value);
    if (fault_.error || (value >= 0 && value <= 1)) return;
    fault_.Set(ErrorCode::kOutOfRange, Path{&path_, key}, "odds lie between 0 and 1",
               fmt::format("{}", value), "plan again");
  }
  void Word(const char* key, std::string& value, const std::vector<std::string_view>& known) {
    Key(key, value);
    if (fault_.error || std::find(known.begin(), known.end(), value) != known.end()) return;
    UnknownWord(Path{&path_, key}, value, known);
  }
  template <typename T>
  void Derived(const char* key, const T& expected) {
    T written{};
    Key(key, written);
    if (fault_.error || Alike(written, expected)) return;
    fault_.Set(ErrorCode::kOutOfRange, Path{&path_, key},
               "this does not agree with the setup's other keys", Shown(object_.at(key)),
               "plan again; the file was changed by something else");
  }
  void Finish() {
    if (fault_.error) return;
    for (const auto& [key, value] : object_.items()) {
      if (asked_.count(key) > 0) continue;
      const std::vector<std::string_view> known(asked_.begin(), asked_.end());
      const auto nearest = trade::NearestWords(key, known, 1);
      fault_.Set(
          ErrorCode::kUnknownKey, Path{&path_, key}, "no such key here", key,
          fmt::format("the nearest known is {}; if a newer version wrote the plan, plan again",
                      nearest.front()));
      return;
    }
  }

 private:
  const json* Ask(const char* key) {
    asked_.insert(key);
    const auto found = object_.find(key);
    return found == object_.end() ? nullptr : &*found;
  }
  void UnknownWord(const Path& path, const std::string& text,
                   const std::vector<std::string_view>& known) {
    fault_.Set(ErrorCode::kUnknownWord, path, "not one of the words for this key", text,
               fmt::format("one of: {}", fmt::join(known, " ")));
  }
  void WrongType(const json& value, const Path& path, std::string_view wanted) {
    fault_.Set(ErrorCode::kWrongType, path, fmt::format("{} is wanted here", wanted), Shown(value),
               "plan again; the file was changed by something else");
  }

  template <typename T>
  static bool Alike(const T& a, const T& b) {
    return a == b;
  }
  static bool Alike(const std::optional<Pose>& a, const std::optional<Pose>& b) {
    return a.has_value() == b.has_value() && (!a || a->matrix() == b->matrix());
  }

  void Decode(const json& value, const Path& path, bool& out) {
    if (!value.is_boolean()) return WrongType(value, path, "true or false");
    out = value.get<bool>();
  }
  template <typename Whole>
  requires(std::is_integral_v<Whole> && !std::is_same_v<Whole, bool>) void Decode(const json& value,
                                                                                  const Path& path,
                                                                                  Whole& out) {
    const bool fits = value.is_number_integer() &&
                      (value.is_number_unsigned()
                           ? value.get<std::uint64_t>() <=
                                 static_cast<std::uint64_t>(std::numeric_limits<Whole>::max())
                           : std::is_signed_v<Whole> &&
                                 value.get<std::int64_t>() >=
                                     static_cast<std::int64_t>(std::numeric_limits<Whole>::min()));
    if (!fits) return WrongType(value, path, "a whole number");
    out = value.get<Whole>();
  }
  void Decode(const json& value, const Path& path, double& out) {
    if (!value.is_number()) return WrongType(value, path, "a number");
    out = value.get<double>();
  }
  void Decode(const json& value, const Path& path, std::string& out) {
    if (!value.is_string()) return WrongType(value, path, "text");
    out = value.get<std::string>();
  }
  template <typename Tag>
  void Decode(const json& value, const Path& path, Id<Tag>& out) {
    std::string text;
    Decode(value, path, text);
    out = Id<Tag>(std::move(text));
  }
  template <typename E>
  requires std::is_enum_v<E>
  void Decode(const json& value, const Path& path, E& out) {
    std::string text;
    Decode(value, path, text);
    if (fault_.error) return;
    if (const auto found = EnumOf<E>(text)) {
      out = *found;
      return;
    }
    std::vector<std::string_view> known;
    for (const auto& entry : WordsOf<E>::kAll) known.push_back(entry.word);
    UnknownWord(path, text, known);
  }
  void Decode(const json& value, const Path& path, FeatureRef& out) {
    std::string text;
    Decode(value, path, text);
    const std::size_t dot = text.find('.');
    out.part = PartId(text.substr(0, dot));
    out.feature = FeatureId(dot == text.npos ? "" : text.substr(dot + 1));
  }
  void Decode(const json& value, const Path& path, Vec3& out) {
    if (!value.is_array() || value.size() != 3) return WrongType(value, path, "[x, y, z]");
    for (int i = 0; i < 3; ++i) {
      const auto item = static_cast<std::size_t>(i);
      Decode(value[item], Path{&path, "", item + 1}, out[i]);
    }
  }
  void Decode(const json& value, const Path& path, Pose& out) {
    if (!value.is_array() || value.size() != 3) return WrongType(value, path, "3 rows of a pose");
    for (int i = 0; i < 3; ++i) {
      const auto item = static_cast<std::size_t>(i);
      const json& row = value[item];
      const Path row_path{&path, "", item + 1};
      if (!row.is_array() || row.size() != 4) return WrongType(row, row_path, "4 numbers");
      for (int k = 0; k < 4; ++k) {
        const auto column = static_cast<std::size_t>(k);
        Decode(row[column], Path{&row_path, "", column + 1}, out.matrix()(i, k));
      }
    }
    const Eigen::Matrix3d R = out.linear();
    const bool turns =
        (R * R.transpose() - Eigen::Matrix3d::Identity()).cwiseAbs().maxCoeff() < kRotationNoise &&
        R.determinant() > 0;
    if (turns || fault_.error) return;
    fault_.Set(ErrorCode::kOutOfRange, path, "the first three columns are not a rotation",
               Shown(value), "plan again; the file was changed by something else");
  }
  // null: none.
  template <typename T>
  void Decode(const json& value, const Path& path, std::optional<T>& out) {
    if (!value.is_null()) Decode(value, path, out.emplace());
  }
  template <typename T>
  void Decode(const json& value, const Path& path, std::vector<T>& out) {
    if (!value.is_array()) return WrongType(value, path, "a list");
    out.resize(value.size());
    for (std::size_t i = 0; i < out.size() && !fault_.error; ++i) {
      Decode(value[i], Path{&path, "", i + 1}, out[i]);
    }
  }
  void Decode(const json& value, const Path& path, std::variant<FixtureBox, FixtureCylinder>& out) {
    if (value.is_object() && value.contains("box_F")) {
      Decode(value, path, out.emplace<FixtureBox>());
    } else {
      Decode(value, path, out.emplace<FixtureCylinder>());
    }
  }
  template <typename T>
  requires std::is_class_v<T>
  void Decode(const json& value, const Path& path, T& out) {
    if (!value.is_object()) return WrongType(value, path, "an object");
    PlanReader inner(value, path, fault_);
    Fields<PlanReader>(inner, out);
    inner.Finish();
  }

  const json& object_;
  const Path& path_;
  Fault& fault_;
  std::set<std::string> asked_;
};

// A key that stands twice in one object would silently lose one of its values.
class KeyWatch {
 public:
  bool operator()(int, json::parse_event_t event, json& parsed) {
    if (event == json::parse_event_t::object_start) open_.emplace_back();
    if (event == json::parse_event_t::object_end) open_.pop_back();
    if (event == json::parse_event_t::key) {
      const auto key = parsed.get<std::string>();
      if (!open_.back().insert(key).second && !twice_) twice_ = key;
    }
    return true;
  }
  const std::optional<std::string>& twice() const { return twice_; }

 private:
  std::vector<std::set<std::string>> open_;
  std::optional<std::string> twice_;
};

Unexpected Refused(ErrorCode code, std::string message, const std::string& value, Where where) {
  Error error;
  error.code = code;
  error.message = std::move(message);
  error.value = value.substr(0, kLongestValueShown);
  error.remedy = "plan again; the file was changed by something else";
  error.where = std::move(where);
  return Unexpected(std::move(error));
}

Result<json> Parse(std::string_view text, const std::string& file_name) {
  KeyWatch watch;
  Where where;
  json parsed;
  try {
    parsed = json::parse(text.begin(), text.end(),
                         [&watch](int depth, json::parse_event_t event, json& value) {
                           return watch(depth, event, value);
                         });
  } catch (const json::parse_error& e) {
    where = PlaceOfByte(text, e.byte == 0 ? 0 : e.byte - 1);
    where.file = file_name;
    return Refused(ErrorCode::kJsonSyntax, "this is not JSON from here on", "", where);
  } catch (const json::exception&) {
    where.file = file_name;
    return Refused(ErrorCode::kJsonSyntax, "a number is larger than any that is written", "",
                   where);
  }
  where.file = file_name;
  if (watch.twice()) {
    where.key = *watch.twice();
    return Refused(ErrorCode::kDuplicateName, "the key stands twice in one object", *watch.twice(),
                   where);
  }
  if (!parsed.is_object()) {
    return Refused(ErrorCode::kWrongType, "an object is wanted here", Shown(parsed), where);
  }
  return parsed;
}

template <typename T>
Result<T> Read(std::string_view text, std::string file_name, std::string_view schema_id) {
  const Result<json> parsed = Parse(text, file_name);
  if (!parsed) return Unexpected(parsed.error());
  const Path root;
  Fault fault;
  PlanReader reader(*parsed, root, fault);
  std::string schema;
  reader.Key("schema", schema);
  if (!fault.error && schema != schema_id) {
    fault.Set(ErrorCode::kSchemaVersion, Path{&root, "schema"},
              fmt::format("this version reads {}", schema_id), schema,
              "plan again, or use the version that wrote it");
  }
  T out;
  if (!fault.error) {
    Fields<PlanReader>(reader, out);
    reader.Finish();
  }
  if (!fault.error) return out;
  Error error = *fault.error;
  const std::string key = error.where.key;
  error.where = PlaceOfJsonKey(text, key);
  error.where.key = key;
  error.where.file = std::move(file_name);
  return Unexpected(std::move(error));
}

// The members of both stand in one object.
struct PlanFile {
  Plan plan;
  PlanOrigin origin;
};

template <typename Io>
void Fields(Io& io, PlanFile& file) {
  files::Fields<Io>(io, file.plan);
  files::Fields<Io>(io, file.origin);
}

}  // namespace

Result<Plan> PlanFromJson(std::string_view text, std::string file_name, PlanOrigin* origin) {
  auto file = Read<PlanFile>(text, std::move(file_name), kPlanSchemaId);
  if (!file) return Unexpected(file.error());
  if (origin != nullptr) *origin = std::move(file->origin);
  return std::move(file->plan);
}

Result<ReplayReport> ReplayFromJson(std::string_view text, std::string file_name) {
  return Read<ReplayReport>(text, std::move(file_name), kReplaySchemaId);
}

}  // namespace fitwright::files
