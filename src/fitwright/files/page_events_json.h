// What a page sends: events for the build log (fitwright-events/1), a line of a sheet changed
// (fitwright-edit/1).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/build_log.h"

namespace fitwright::files {

inline constexpr std::string_view kPageEventsSchemaId = "fitwright-events/1";
inline constexpr std::size_t kMostPageEvents = 200;
inline constexpr std::size_t kMostPageText = 2000;  // bytes of one text

struct PageEvent {
  LogEvent event;              // without number and revision
  std::string plan;            // PlanId of the plan that was followed; empty: none
  std::optional<Error> fault;  // it cannot be kept as it is; event.id is good all the same
};

// {schema, events: [{id, time_ms, build, plan, kind, part, step, text, value_mm, typed,
// instrument}]}; the last three with kind "reading" and with no other, the others always. What is
// wrong with one event is said beside it. Errors, for all of it: kJsonSyntax, kSchemaVersion,
// kWrongType, kMissingKey, kUnknownKey, kOutOfRange (too many), kBadName (an event without a good
// id, or an id twice).
Result<std::vector<PageEvent>> PageEventsFromJson(std::string_view text);

inline constexpr std::string_view kEditSchemaId = "fitwright-edit/1";

struct SheetEdit {
  std::string file;      // "parts/bush.toml", "machine.toml"
  int line = 0;          // from 1
  std::string text;      // the line as it was when it was looked at
  std::string value;     // in the place of the one there; empty: the same one
  bool confirm = false;  // what was proposed stands: its remark goes
};
// {schema, file, line, text, value, confirm}. Errors: kJsonSyntax, kSchemaVersion, kWrongType,
// kMissingKey, kUnknownKey.
Result<SheetEdit> SheetEditFromJson(std::string_view text);

}  // namespace fitwright::files
