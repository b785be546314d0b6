#include "fitwright/files/page_asked_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <nlohmann/json.hpp>
#include <optional>

#include "fitwright/files/sheet_text.h"

namespace fitwright::files {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kLongestText = 2000;
constexpr int kDeepest = 4;
constexpr std::array<std::string_view, 5> kManyOf = {"part", "bought", "joint", "requirement",
                                                     "feature"};

Error FaultIn(ErrorCode code, std::string key, std::string message) {
  return {code, std::move(message), "", "load the page again", {"", 0, 0, std::move(key)}};
}

// The body as an object of `size` keys with the schema.
Result<Json> ReadBody(std::string_view text, std::string_view schema, std::size_t size) {
  Json body = Json::parse(text.begin(), text.end(), nullptr, false);
  if (body.is_discarded()) return Unexpected(FaultIn(ErrorCode::kJsonSyntax, "", "this is not JSON"));
  if (!body.is_object())
    return Unexpected(FaultIn(ErrorCode::kWrongType, "", "an object is wanted here"));
  const auto said = body.find("schema");
  if (said == body.end() || !said->is_string() || said->get_ref<const std::string&>() != schema) {
    return Unexpected(
        FaultIn(ErrorCode::kSchemaVersion, "schema", fmt::format("this version reads {}", schema)));
  }
  if (body.size() > size)
    return Unexpected(FaultIn(ErrorCode::kUnknownKey, "", "there are more keys here"));
  return body;
}

Result<std::string> TextAt(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end())
    return Unexpected(FaultIn(ErrorCode::kMissingKey, key, "this is missing"));
  if (!found->is_string() || found->get_ref<const std::string&>().size() > kLongestText)
    return Unexpected(FaultIn(ErrorCode::kWrongType, key, "a text of up to 2000 bytes is wanted"));
  return found->get<std::string>();
}

Result<const Json*> ListAt(const Json& object, const char* key, std::size_t most) {
  const auto found = object.find(key);
  if (found == object.end())
    return Unexpected(FaultIn(ErrorCode::kMissingKey, key, "this is missing"));
  if (!found->is_array())
    return Unexpected(FaultIn(ErrorCode::kWrongType, key, "a list is wanted here"));
  if (found->size() > most)
    return Unexpected(FaultIn(ErrorCode::kOutOfRange, key, fmt::format("at most {} of them", most)));
  return &*found;
}

bool IsBareKey(const std::string& key) {
  return !key.empty() && key.size() <= 64 && std::all_of(key.begin(), key.end(), [](char c) {
    return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_' || c == '-';
  });
}

Result<std::string> TomlOf(const Json& value, int depth);

Result<std::string> TomlOfObject(const Json& object, int depth) {
  std::string out;
  for (const auto& [key, value] : object.items()) {
    if (!IsBareKey(key))
      return Unexpected(FaultIn(ErrorCode::kBadName, key.substr(0, 64), "this is no name of a key"));
    const auto text = TomlOf(value, depth + 1);
    if (!text) return text;
    out += fmt::format("{}{} = {}", out.empty() ? "" : ", ", key, *text);
  }
  return "{ " + out + " }";
}

Result<std::string> TomlOf(const Json& value, int depth) {
  if (value.is_boolean()) return std::string(value.get<bool>() ? "true" : "false");
  if (value.is_number_integer()) return value.dump();
  if (value.is_number()) return PlainNumber(value.get<double>());
  if (value.is_string() && value.get_ref<const std::string&>().size() <= kLongestText)
    return Quoted(value.get_ref<const std::string&>());
  if (depth < kDeepest && value.is_object()) return TomlOfObject(value, depth);
  if (depth >= kDeepest || !value.is_array())
    return Unexpected(
        FaultIn(ErrorCode::kWrongType, "", "a text, a number, true, false or a list is wanted"));
  std::vector<std::string> items;
  for (const Json& one : value) {
    auto item = TomlOf(one, depth + 1);
    if (!item) return item;
    items.push_back(*std::move(item));
  }
  return BracketList(items);
}

Result<SheetTable> TableFrom(const Json& object) {
  if (!object.is_object())
    return Unexpected(FaultIn(ErrorCode::kWrongType, "tables", "an object is wanted here"));
  auto file = TextAt(object, "file");
  if (!file) return Unexpected(file.error());
  auto name = TextAt(object, "table");
  if (!name) return Unexpected(name.error());
  const auto keys = object.find("keys");
  if (keys == object.end() || !keys->is_object())
    return Unexpected(FaultIn(ErrorCode::kMissingKey, "keys", "an object is wanted here"));
  if (object.size() != 3)
    return Unexpected(FaultIn(ErrorCode::kUnknownKey, "tables", "there are more keys here"));
  if (!name->empty() && !IsBareKey(*name))
    return Unexpected(FaultIn(ErrorCode::kBadName, "table", "this is no name of a table"));
  SheetTable table{*std::move(file), *std::move(name), {}};
  for (const auto& [key, value] : keys->items()) {
    if (!IsBareKey(key))
      return Unexpected(FaultIn(ErrorCode::kBadName, key.substr(0, 64), "this is no name of a key"));
    auto text = TomlOf(value, 0);
    if (!text) return Unexpected(text.error());
    table.keys.emplace_back(key, *std::move(text));
  }
  return table;
}

}  // namespace

Result<WhatIfAsked> WhatIfAskedFromJson(std::string_view text) {
  const auto body = ReadBody(text, kAskedSchemaId, 3);
  if (!body) return Unexpected(body.error());
  WhatIfAsked asked;
  const auto changes = ListAt(*body, "changes", kMostChanges);
  if (!changes) return Unexpected(changes.error());
  for (const Json& change : **changes) {
    if (!change.is_string() || change.get_ref<const std::string&>().size() > kLongestText)
      return Unexpected(FaultIn(ErrorCode::kWrongType, "changes", "a change is KEY=VALUE"));
    asked.changes.push_back(change.get<std::string>());
  }
  auto requirement = TextAt(*body, "requirement");
  if (!requirement) return Unexpected(requirement.error());
  asked.requirement = *std::move(requirement);
  return asked;
}

Result<std::vector<SheetTable>> AdditionFromJson(std::string_view text) {
  const auto body = ReadBody(text, kAdditionSchemaId, 2);
  if (!body) return Unexpected(body.error());
  const auto list = ListAt(*body, "tables", kMostTables);
  if (!list) return Unexpected(list.error());
  std::vector<SheetTable> tables;
  for (const Json& one : **list) {
    auto table = TableFrom(one);
    if (!table) return Unexpected(table.error());
    tables.push_back(*std::move(table));
  }
  return tables;
}

std::string TextOfTable(const SheetTable& table) {
  const bool many = std::find(kManyOf.begin(), kManyOf.end(), table.table) != kManyOf.end();
  std::string out;
  if (!table.table.empty())
    out = fmt::format("\n{}{}{}\n", many ? "[[" : "[", table.table, many ? "]]" : "]");
  for (const auto& [key, value] : table.keys) out += fmt::format("{} = {}\n", key, value);
  return out;
}

}  // namespace fitwright::files
