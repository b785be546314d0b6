#include "fitwright/files/table_reader.h"

#include <algorithm>
#include <cmath>

#include "fitwright/units/expression.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

std::string TypeWord(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a table";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::string:
      return "text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a number";
    case toml::node_type::boolean:
      return "true or false";
    case toml::node_type::date:
    case toml::node_type::time:
    case toml::node_type::date_time:
      return "a date or time";
    case toml::node_type::none:
      break;
  }
  return "nothing";
}

int Int(toml::source_index index) { return static_cast<int>(index); }

// Whether a text that is no length means to be arithmetic: then faults speak of that.
bool LooksCalculated(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return false;
  const char c = text[first];
  const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
  return letter || text.find_first_of("+*^()", first + 1) != std::string_view::npos ||
         text.find_first_of("-/", first + 1) != std::string_view::npos || c == '(';
}

}  // namespace

TableReader::TableReader(const SourceFile& file, const toml::table& table, std::string path,
                         LengthUnit unit, ReadLog& log)
    : file_(&file), table_(&table), path_(std::move(path)), unit_(unit), log_(&log) {}

std::string TableReader::PathOf(std::string_view key) const {
  return path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key);
}

const toml::node* TableReader::Ask(std::string_view key) {
  if (std::find(asked_.begin(), asked_.end(), key) == asked_.end()) asked_.emplace_back(key);
  return table_->get(key);
}

bool TableReader::Has(std::string_view key) { return Ask(key) != nullptr; }

bool TableReader::HasTable(std::string_view key) {
  const toml::node* node = Ask(key);
  return node != nullptr && node->is_table();
}

bool TableReader::HasList(std::string_view key) {
  const toml::node* node = Ask(key);
  return node != nullptr && node->is_array();
}

void TableReader::Know(std::initializer_list<std::string_view> keys) {
  for (const std::string_view key : keys) Ask(key);
}

std::vector<std::string> TableReader::Keys() const {
  std::vector<std::string> keys;
  for (const auto& [key, node] : *table_) keys.emplace_back(key.str());
  return keys;
}

Located TableReader::PlaceOf(std::string_view key) const {
  Located place;
  place.where.file = file_->name;
  place.where.key = PathOf(key);
  const toml::node* node = table_->get(key);
  const auto& region = node != nullptr ? node->source() : table_->source();
  place.where.line = Int(region.begin.line);
  place.where.column = Int(region.begin.column);
  const toml::table* table = node == nullptr ? nullptr : node->as_table();
  if (node != nullptr && (table == nullptr || table->is_inline())) {
    place.value = Written(*file_, region);
  }
  return place;
}

void TableReader::Locate(const std::string& model_path) {
  Located table;
  table.where = Where{file_->name, Int(table_->source().begin.line),
                      Int(table_->source().begin.column), path_};
  log_->located.emplace(model_path, table);
  for (const auto& [key, node] : *table_) {
    log_->located.emplace(fmt::format("{}.{}", model_path, key.str()), PlaceOf(key.str()));
  }
}

void TableReader::FaultAt(ErrorCode code, const toml::node& node, std::string path,
                          std::string message, std::string remedy) {
  const auto& begin = node.source().begin;
  log_->faults.Add(Error{code, std::move(message), Written(*file_, node.source()),
                         std::move(remedy),
                         Where{file_->name, Int(begin.line), Int(begin.column), std::move(path)}});
}

void TableReader::Fault(ErrorCode code, std::string_view key, std::string message,
                        std::string remedy) {
  Located place = PlaceOf(key);
  log_->faults.Add(Error{code, std::move(message), std::move(place.value), std::move(remedy),
                         std::move(place.where)});
}

void TableReader::Fault(std::string_view key, Error error) {
  Located place = PlaceOf(key);
  if (error.where.column > 0) place.where.column += error.where.column;
  log_->faults.Add(Error{error.code, std::move(error.message), std::move(place.value),
                         std::move(error.remedy), std::move(place.where)});
}

void TableReader::UnknownWord(std::string_view key, std::string_view word,
                              const std::vector<std::string>& known) {
  Fault(ErrorCode::kUnknownWord, key, "the word is not known here",
        fmt::format("write \"{}\", or one of: {}", NearestOf(word, known), ListOf(known)));
}

void TableReader::WrongType(const toml::node& node, const std::string& path,
                            std::string_view wanted) {
  FaultAt(ErrorCode::kWrongType, node, path, fmt::format("{} stands here", TypeWord(node)),
          fmt::format("write {}", wanted));
}

void TableReader::Require(std::string_view key, std::string_view remedy) {
  if (Ask(key) != nullptr) return;
  Fault(ErrorCode::kMissingKey, key, fmt::format("{} is not stated", key), std::string(remedy));
}

bool TableReader::AtMostOne(const std::vector<std::string>& keys) {
  for (const std::string& key : keys) Ask(key);
  const std::string* first = nullptr;
  for (const std::string& key : keys) {
    if (table_->get(key) == nullptr) continue;
    if (first != nullptr) {
      Fault(ErrorCode::kConflictingKeys, key, fmt::format("{} and {} are both stated", *first, key),
            fmt::format("keep one of: {}", ListOf(keys)));
      return false;
    }
    first = &key;
  }
  return true;
}

void TableReader::Finish() {
  for (const auto& [key, node] : *table_) {
    const std::string text(key.str());
    if (std::find(asked_.begin(), asked_.end(), text) != asked_.end()) continue;
    Error error;
    error.code = ErrorCode::kUnknownKey;
    error.message = "the key is not known here";
    error.value = Written(*file_, node.source());
    const std::string nearest = NearestOf(text, asked_);
    error.remedy = nearest.empty() ? "take it out"
                                   : fmt::format("write \"{}\", or take it out; known here: {}",
                                                 nearest, ListOf(asked_, 60));
    const auto& begin = key.source().begin;
    error.where = Where{file_->name, Int(begin.line), Int(begin.column), PathOf(text)};
    log_->faults.Add(std::move(error));
  }
}

std::optional<std::string> TableReader::String(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  if (const auto* text = node->as_string()) return text->get();
  WrongType(*node, PathOf(key), "text in quotes");
  return std::nullopt;
}

std::optional<bool> TableReader::Bool(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  if (const auto* flag = node->as_boolean()) return flag->get();
  WrongType(*node, PathOf(key), "true or false");
  return std::nullopt;
}

std::optional<double> TableReader::NumberOf(const toml::node& node, const std::string& path,
                                            std::string_view wanted) {
  std::optional<double> number;
  if (const auto* whole = node.as_integer()) number = static_cast<double>(whole->get());
  if (const auto* real = node.as_floating_point()) number = real->get();
  if (!number) {
    WrongType(node, path, wanted);
    return std::nullopt;
  }
  if (!std::isfinite(*number)) {
    FaultAt(ErrorCode::kNotFinite, node, path, "this is not a finite number",
            fmt::format("write {}", wanted));
    return std::nullopt;
  }
  return number;
}

std::optional<double> TableReader::Number(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  return NumberOf(*node, PathOf(key), "a number");
}

std::optional<std::int64_t> TableReader::Integer(std::string_view key, std::int64_t least,
                                                 std::int64_t most) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  const auto* whole = node->as_integer();
  if (whole == nullptr) {
    WrongType(*node, PathOf(key), "a whole number");
    return std::nullopt;
  }
  if (whole->get() < least || whole->get() > most) {
    FaultAt(whole->get() <= 0 && least >= 1 ? ErrorCode::kNotPositive : ErrorCode::kOutOfRange,
            *node, PathOf(key), fmt::format("the number is outside {} to {}", least, most),
            fmt::format("write a whole number from {} to {}", least, most));
    return std::nullopt;
  }
  return whole->get();
}

std::optional<double> TableReader::LengthOf(const toml::node& node, const std::string& path) {
  std::optional<double> length_mm;
  if (const auto* text = node.as_string()) {
    const auto parsed = ParseLength_mm(text->get(), unit_);
    length_mm = parsed ? std::optional(*parsed) : Calculated_mm(node, path, text->get());
  } else {
    length_mm =
        NumberOf(node, path, "a number, or a length with its unit: \"12.5 mm\", \"1/2 in\"");
    if (length_mm && unit_ == LengthUnit::kInch) *length_mm *= kMmPerInch;
  }
  if (length_mm && std::abs(*length_mm) > kLongestLength_mm) {
    FaultAt(ErrorCode::kOutOfRange, node, path, "the length is over 100 m",
            "look for a slip in the number or its unit");
    return std::nullopt;
  }
  return length_mm;
}

// Arithmetic, where the text alone is no length.
std::optional<double> TableReader::Calculated_mm(const toml::node& node, const std::string& path,
                                                 const std::string& text) {
  const auto calculation = Expression::Parse(text, unit_);
  const bool names_known = dimensions_ != nullptr && !dimensions_->empty();
  const bool meant = calculation ? names_known || calculation->names().empty()
                                 : names_known && LooksCalculated(text);
  if (!meant) {
    const auto parsed = ParseLength_mm(text, unit_);
    FaultAt(parsed.error().code, node, path, parsed.error().message, parsed.error().remedy);
    return std::nullopt;
  }
  bool faulty = false;
  const auto find = [&](std::string_view name) -> std::optional<double> {
    const auto found = dimensions_->find(name);
    if (found == dimensions_->end()) return std::nullopt;
    faulty |= std::isnan(found->second);
    return found->second;
  };
  auto value = calculation ? Evaluate(*calculation, find)
                           : Result<double>(Unexpected(calculation.error()));
  if (faulty) return std::nullopt;  // the dimension's own fault is reported
  if (value) return unit_ == LengthUnit::kInch ? *value * kMmPerInch : *value;
  Error error = value.error();
  if (error.code == ErrorCode::kUnknownName) {
    std::vector<std::string> known;
    for (const auto& [name, number] : *dimensions_) known.push_back(name);
    error.remedy =
        fmt::format("write \"{}\", or one of: {}", NearestOf(error.value, known), ListOf(known));
  }
  FaultInside(node, path, error);
  return std::nullopt;
}

void TableReader::FaultInside(const toml::node& node, std::string path, const Error& error) {
  const auto& begin = node.source().begin;
  log_->faults.Add(Error{error.code, error.message, Written(*file_, node.source()), error.remedy,
                         Where{file_->name, Int(begin.line), Int(begin.column) + error.where.column,
                               std::move(path)}});
}

std::optional<std::string> TableReader::LengthText(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  if (const auto* text = node->as_string()) return text->get();
  const auto number = NumberOf(*node, PathOf(key), "a number or text in quotes");
  return number ? std::optional(fmt::format("{}", *number)) : std::nullopt;
}

bool TableReader::HoldsTable(std::string_view key) {
  const toml::node* node = Ask(key);
  return node != nullptr && node->is_table();
}

std::optional<double> TableReader::Length_mm(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  return LengthOf(*node, PathOf(key));
}

std::optional<double> TableReader::PositiveLength_mm(std::string_view key) {
  const auto length_mm = Length_mm(key);
  if (!length_mm || *length_mm > 0) return length_mm;
  Fault(ErrorCode::kNotPositive, key, fmt::format("{} is not above zero", key),
        "write a length above zero");
  return std::nullopt;
}

std::optional<double> TableReader::AngleOf(const toml::node& node, const std::string& path) {
  if (const auto* text = node.as_string()) {
    const auto parsed = ParseAngle_rad(text->get());
    if (parsed) return *parsed / kRadPerDeg;
    FaultAt(parsed.error().code, node, path, parsed.error().message, parsed.error().remedy);
    return std::nullopt;
  }
  const auto angle_deg = NumberOf(node, path, "an angle in degrees");
  if (angle_deg && std::abs(*angle_deg) > 360) {
    FaultAt(ErrorCode::kBadAngle, node, path, "the angle is over a full turn",
            "write degrees from -360 to 360");
    return std::nullopt;
  }
  return angle_deg;
}

std::optional<double> TableReader::Angle_deg(std::string_view key) {
  const toml::node* node = Ask(key);
  if (node == nullptr) return std::nullopt;
  return AngleOf(*node, PathOf(key));
}

}  // namespace fitwright::files
