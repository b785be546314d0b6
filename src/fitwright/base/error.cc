#include "fitwright/base/error.h"

#include <array>

#include "fitwright/base/check.h"

namespace fitwright {
namespace {

struct Row {
  std::string_view name;
  int exit_status;
  int http_status;
};

constexpr auto kRows = std::to_array<Row>({
#define FW_ERROR(name, text, exit_status, http_status) {text, exit_status, http_status},
#include "fitwright/base/error_codes.inc"
#undef FW_ERROR
});

const Row& RowOf(ErrorCode code) { return kRows.at(static_cast<std::size_t>(code)); }

}  // namespace

std::string_view NameOf(ErrorCode code) { return RowOf(code).name; }
int ExitStatusOf(ErrorCode code) { return RowOf(code).exit_status; }
int HttpStatusOf(ErrorCode code) { return RowOf(code).http_status; }

std::string Format(const Error& error) {
  std::string text;
  if (!error.where.file.empty()) {
    text += error.where.file;
    if (error.where.line > 0) text += fmt::format(":{}", error.where.line);
    text += ": ";
  }
  if (!error.where.key.empty()) {
    text += error.where.key;
    text += error.value.empty() ? ": " : fmt::format(" = {}: ", error.value);
  } else if (!error.value.empty()) {
    text += fmt::format("{}: ", error.value);
  }
  text += error.message;
  if (!error.remedy.empty()) text += fmt::format("; {}", error.remedy);
  return text + fmt::format(" [{}]", NameOf(error.code));
}

}  // namespace fitwright
