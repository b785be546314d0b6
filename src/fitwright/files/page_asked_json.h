// What a page asks and adds: "what if" (fitwright-asked/1), tables for its sheets
// (fitwright-addition/1).
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::files {

inline constexpr std::string_view kAskedSchemaId = "fitwright-asked/1";
inline constexpr std::size_t kMostChanges = 100;

struct WhatIfAsked {
  std::vector<std::string> changes;  // KEY=VALUE, see variation/what_if.h
  std::string requirement;           // whose spread is wanted; may be empty
};
// {schema, changes, requirement}. Errors: kJsonSyntax, kSchemaVersion, kWrongType, kMissingKey,
// kUnknownKey, kOutOfRange (too many).
Result<WhatIfAsked> WhatIfAskedFromJson(std::string_view text);

inline constexpr std::string_view kAdditionSchemaId = "fitwright-addition/1";
inline constexpr std::size_t kMostTables = 40;

// One table of a sheet to be.
struct SheetTable {
  std::string file;   // "machine.toml", "parts/bush.toml"
  std::string table;  // "feature"; empty: keys of the whole file, before the first table
  std::vector<std::pair<std::string, std::string>> keys;  // name and value, the value as TOML
};
// {schema, tables: [{file, table, keys: {name: value, ...}}]}; a value is a text, a number, true or
// false, a list or an object of these, in the order given. Errors as above, and kBadName (a key of
// other signs than letters, digits, - and _).
Result<std::vector<SheetTable>> AdditionFromJson(std::string_view text);

// A blank line, its header and its keys: "[[feature]]" where the file holds many of that name, else
// "[stock]".
std::string TextOfTable(const SheetTable& table);

}  // namespace fitwright::files
