// The rows of build.db as plain data and back. Private to this layer. Each row carries a digest
// over the row before and itself, so that a row changed by anything else is found.
#pragma once

#include <vector>

#include "fitwright/model/build_log.h"
#include "fitwright/store/sqlite.h"

namespace fitwright::store {

// In the order of their numbers, which must be 1, 2, 3 ... Errors: kFileUnreadable for rows that
// are not as they were written, and those of ErrorOf.
Result<std::vector<PlanRevision>> ReadRevisions(const Database& database);
Result<std::vector<LogEvent>> ReadEvents(const Database& database);

// The number of the plan with these bytes, 0 where the log has not got it.
Result<int> FindRevision(const Database& database, const std::string& plan_json);
// The event as the log has it, by its id.
Result<std::optional<LogEvent>> FindEvent(const Database& database, const std::string& id);

// Behind the last row, inside a transaction; return the row's number.
Result<int> AddRevision(const Database& database, PlanRevision revision);
Result<std::int64_t> AddEvent(const Database& database, LogEvent event);

}  // namespace fitwright::store
