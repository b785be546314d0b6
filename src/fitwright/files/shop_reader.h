// shop.toml, the default shop and its table of spreads. Internal to files/.
#pragma once

#include <string_view>

#include "fitwright/files/table_reader.h"
#include "fitwright/model/shop.h"

namespace fitwright::files {

inline constexpr std::string_view kShopFormat = "fitwright-shop/1";

// The files of data/ as they stood at the build.
extern const std::string_view kDefaultShopText;
extern const std::string_view kSpreadsText;

// Replaces, adds and takes away in `shop` what the file says.
void ReadShop(const SourceFile& file, Shop& shop, ReadLog& log);

// Rows of a spreads table by id. Errors: bad_text with the row's line.
Result<std::map<std::string, Spread>> ParseSpreads(std::string_view text, const std::string& name);

}  // namespace fitwright::files
