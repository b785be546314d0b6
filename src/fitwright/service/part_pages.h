// The parts and the shop for the page: what was read, in the reader's unit.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/service/use_cases.h"
#include "fitwright/sheets/sheet_model.h"

namespace fitwright::service {

inline constexpr std::string_view kPartsSchemaId = "fitwright-parts/1";
inline constexpr std::string_view kShopSchemaId = "fitwright-shop-page/1";

// Machines, what they hold with, tools, instruments, and every spread with where it comes from.
std::vector<sheets::Piece> MakeShopPage(const Opened& opened);

// Of each made part: material, stock, features with limits and where these come from, what was
// assumed, not understood or found against it. {schema, unit, parts: [{name, file, quantity, pieces,
// lines}], machine: {file, lines}}; pieces as book_json.h says, lines of the sheet as sheet_lines.h
// says. A part that mirrors another has no lines of its own but for that. Errors: kFileUnreadable.
Result<std::string> PartsToJson(const Opened& opened);
// {schema, unit, name, pieces}.
std::string ShopToJson(const Opened& opened);

}  // namespace fitwright::service
