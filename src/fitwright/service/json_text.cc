#include "fitwright/service/json_text.h"

#include <fmt/format.h>

namespace fitwright::service {

std::string JsonString(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (byte < 0x20) {
      out += fmt::format("\\u{:04x}", byte);
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string JsonStrings(const std::vector<std::string>& texts) {
  std::string out = "[";
  for (std::size_t i = 0; i < texts.size(); ++i) {
    if (i > 0) out += ", ";
    out += JsonString(texts[i]);
  }
  return out + "]";
}

std::string ErrorsToJson(const std::vector<Error>& errors, std::size_t not_shown) {
  std::string out = fmt::format("{{\n  \"schema\": \"{}\",\n  \"errors\": [", kErrorsSchemaId);
  for (std::size_t i = 0; i < errors.size(); ++i) {
    const Error& e = errors[i];
    out += fmt::format(
        "{}\n    {{\"code\": {}, \"message\": {}, \"value\": {}, \"remedy\": {}, \"file\": {}, "
        "\"line\": {}, \"column\": {}, \"key\": {}}}",
        i > 0 ? "," : "", JsonString(NameOf(e.code)), JsonString(e.message), JsonString(e.value),
        JsonString(e.remedy), JsonString(e.where.file), e.where.line, e.where.column,
        JsonString(e.where.key));
  }
  return out + fmt::format("\n  ],\n  \"not_shown\": {}\n}}\n", not_shown);
}

}  // namespace fitwright::service
