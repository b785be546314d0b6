// Writing a file so that a reader finds either the old bytes or the new ones, never half of each.
#pragma once

#include <filesystem>
#include <string_view>

#include "fitwright/base/result.h"

namespace fitwright {

// Writes `bytes` to a new file beside `path`, flushes it to disk and renames it over `path`; the
// folder must exist. On failure the old file stays as it was and nothing else is left behind.
// Errors: kFileUnwritable, with the path and the system's reason.
Status WriteFileAtomically(const std::filesystem::path& path, std::string_view bytes);

}  // namespace fitwright
