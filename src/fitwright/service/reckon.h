// The use case of a reckoning by name: text values in; text, JSON or a drawing out.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/reckon/catalogue.h"
#include "fitwright/sheets/text.h"

namespace fitwright::service {

inline constexpr std::string_view kReckonSchemaId = "fitwright-reckon/1";

struct ReckonUse {
  std::string what;                 // "" lists all
  std::vector<std::string> values;  // NAME=VALUE; none: what it needs, when it needs any
  LengthUnit unit = LengthUnit::kMillimetre;
  // `speed` takes the spindle's steps and the power of this shop's lathe or mill, where they are not given.
  std::optional<std::filesystem::path> shop = {};
};
struct ReckonAnswer {
  std::string text;
  std::string json;
  std::string svg;  // empty when there is nothing to draw
};
// Errors as reckon::FindReckoning, reckon::ReadGiven and the reckoning's own.
Result<ReckonAnswer> Reckon(const ReckonUse& use, const sheets::TextOptions& options);

}  // namespace fitwright::service
