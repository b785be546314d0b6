#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <variant>

#include "fitwright/base/check.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/files/plan_json_fields.h"

namespace fitwright::files {
namespace {

constexpr std::size_t kLineWidth = 100;
constexpr std::size_t kIndent = 1;

// Members or items already written, put on one line where they fit.
std::string Enclose(char open, char close, const std::vector<std::string>& pieces,
                    std::size_t depth) {
  if (pieces.empty()) return {open, close};
  std::size_t length = depth * kIndent + 2;
  bool one_line = true;
  for (const std::string& piece : pieces) {
    length += piece.size() + 2;
    one_line = one_line && piece.find('\n') == std::string::npos;
  }
  one_line = one_line && length <= kLineWidth;
  const std::string separator = one_line ? ", " : ",\n" + std::string((depth + 1) * kIndent, ' ');
  std::string text(1, open);
  if (!one_line) text += separator.substr(1);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (i > 0) text += separator;
    text += pieces[i];
  }
  if (!one_line) text += "\n" + std::string(depth * kIndent, ' ');
  return text + close;
}

class PlanWriter {
 public:
  static constexpr bool kReads = false;
  explicit PlanWriter(std::size_t depth) : depth_(depth) {}

  template <typename T>
  void Key(const char* key, const T& value) {
    members_.push_back(fmt::format("\"{}\": {}", key, Encode(value)));
  }
  template <typename T>
  void Extra(const char* key, const T& value) {
    if (!(value == T{})) Key(key, value);
  }
  template <typename T>
  void Extra(const char* key, const std::vector<T>& value) {
    if (!value.empty()) Key(key, value);
  }
  template <typename T>
  void Extra(const char* key, const std::optional<T>& value) {
    if (value) Key(key, *value);
  }
  void Share(const char* key, double value) { Key(key, value); }
  void Word(const char* key, const std::string& value, const std::vector<std::string_view>&) {
    Key(key, value);
  }
  template <typename T>
  void Derived(const char* key, const T& value) {
    Key(key, value);
  }
  std::string Text() const { return Enclose('{', '}', members_, depth_); }

 private:
  // Depth of a member's own contents.
  PlanWriter Deeper() const { return PlanWriter(depth_ + 1); }

  static std::string Encode(bool value) { return value ? "true" : "false"; }
  static std::string Encode(int value) { return fmt::format("{}", value); }
  static std::string Encode(std::int64_t value) { return fmt::format("{}", value); }
  static std::string Encode(std::uint64_t value) { return fmt::format("{}", value); }
  static std::string Encode(double value) {
    FW_CHECK(std::isfinite(value), value);
    if (value == 0 && std::signbit(value)) return "-0.0";  // "-0" would read back as the integer 0
    return fmt::format("{}", value);
  }
  static std::string Encode(const std::string& value) {
    using nlohmann::json;
    return json(value).dump(-1, ' ', false, json::error_handler_t::replace);
  }
  static std::string Encode(std::string_view value) { return Encode(std::string(value)); }
  template <typename Tag>
  static std::string Encode(const Id<Tag>& value) {
    return Encode(value.text());
  }
  template <typename E>
  requires std::is_enum_v<E>
  static std::string Encode(E value) { return fmt::format("\"{}\"", WordOf(value)); }
  // Raw stock has no feature: its part alone.
  static std::string Encode(const FeatureRef& value) {
    return Encode(value.feature.empty() ? value.part.text() : value.text());
  }
  std::string Encode(const Vec3& value) const {
    return fmt::format("[{}, {}, {}]", Encode(value.x()), Encode(value.y()), Encode(value.z()));
  }
  // The rows of [R | t].
  std::string Encode(const Pose& value) const {
    std::vector<std::string> rows;
    for (int i = 0; i < 3; ++i) {
      const auto row = value.matrix().row(i);
      rows.push_back(fmt::format("[{}, {}, {}, {}]", Encode(row[0]), Encode(row[1]), Encode(row[2]),
                                 Encode(row[3])));
    }
    return Enclose('[', ']', rows, depth_ + 1);
  }
  template <typename T>
  std::string Encode(const std::optional<T>& value) const {
    return value ? Encode(*value) : "null";
  }
  template <typename T>
  std::string Encode(const std::vector<T>& values) const {
    std::vector<std::string> items;
    const PlanWriter deeper = Deeper();
    items.reserve(values.size());
    for (const T& value : values) items.push_back(deeper.Encode(value));
    return Enclose('[', ']', items, depth_ + 1);
  }
  std::string Encode(const std::variant<FixtureBox, FixtureCylinder>& shape) const {
    return std::visit([this](const auto& one) { return this->Encode(one); }, shape);
  }
  template <typename T>
  requires std::is_class_v<T> std::string Encode(const T& value)
  const {
    PlanWriter inner = Deeper();
    Fields<PlanWriter>(inner, value);
    return inner.Text();
  }

  std::size_t depth_;
  std::vector<std::string> members_;
};

}  // namespace

std::string PlanToJson(const Plan& plan, const PlanOrigin& origin) {
  PlanWriter writer(0);
  writer.Key("schema", std::string(kPlanSchemaId));
  Fields<PlanWriter>(writer, plan);
  Fields<PlanWriter>(writer, origin);
  return writer.Text() + "\n";
}

std::string OddsToJson(const Plan& plan) {
  PlanWriter writer(0);
  writer.Key("schema", std::string(kOddsSchemaId));
  writer.Key("odds", plan.odds);
  writer.Key("requirements", plan.odds.requirements);
  return writer.Text() + "\n";
}

std::string ReplayToJson(const ReplayReport& report) {
  PlanWriter writer(0);
  writer.Key("schema", std::string(kReplaySchemaId));
  Fields<PlanWriter>(writer, report);
  return writer.Text() + "\n";
}

}  // namespace fitwright::files
