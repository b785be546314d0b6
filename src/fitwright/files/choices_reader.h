// choices.toml. Internal to files/.
#pragma once

#include "fitwright/files/table_reader.h"
#include "fitwright/model/plan.h"

namespace fitwright::files {

inline constexpr std::string_view kChoicesFormat = "fitwright-choices/1";

Choices ReadChoices(const SourceFile& file, LengthUnit unit, ReadLog& log);

}  // namespace fitwright::files
