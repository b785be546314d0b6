// A TOML file as text and as parsed tables, with the way back from a value to its bytes. Internal
// to files/.
#pragma once

#include <toml++/toml.h>

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::files {

struct SourceFile {
  std::string name;  // as faults show it
  std::string text;  // the file's bytes
  std::vector<std::size_t> line_starts;
  toml::table table;
};

// The bytes of a regular file of at most 4 MB. Errors: file_missing, file_unreadable.
Result<std::string> ReadBytes(const std::filesystem::path& path, const std::string& name);

// Errors: bad_text (not UTF-8, NUL), not_ascii (outside strings and comments), toml_syntax.
Result<SourceFile> ParseSource(std::string text, const std::string& name);

// The bytes of a value as the file has them, on one line and at most 60 characters.
std::string Written(const SourceFile& file, const toml::source_region& region);

}  // namespace fitwright::files
