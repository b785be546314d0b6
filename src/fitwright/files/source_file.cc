#include "fitwright/files/source_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <system_error>

#include "fitwright/base/utf8.h"

namespace fitwright::files {
namespace {

constexpr std::uintmax_t kLargestFile_bytes = 4u << 20;
constexpr std::size_t kShownValue_chars = 60;

Error TextError(ErrorCode code, const std::string& name, int line, int column, std::string value,
                std::string message, std::string remedy) {
  return Error{code, std::move(message), std::move(value), std::move(remedy),
               Where{name, line, column, ""}};
}

enum class Place { kPlain, kComment, kBasic, kLiteral, kLongBasic, kLongLiteral };

// Where the scanner stands after the bytes at i; advances i past what it has consumed beyond one
// byte.
Place NextPlace(Place place, std::string_view text, std::size_t& i) {
  const char c = text[i];
  const bool triple = text.substr(i).size() >= 3 && text[i + 1] == c && text[i + 2] == c;
  switch (place) {
    case Place::kPlain:
      if (c == '#') return Place::kComment;
      if (c == '"' || c == '\'') {
        if (triple) i += 2;
        if (c == '"') return triple ? Place::kLongBasic : Place::kBasic;
        return triple ? Place::kLongLiteral : Place::kLiteral;
      }
      return place;
    case Place::kComment:
      return c == '\n' ? Place::kPlain : place;
    case Place::kBasic:
    case Place::kLongBasic:
      if (c == '\\' && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0x80) ++i;
      if (c == '\n' && place == Place::kBasic) return Place::kPlain;
      break;
    case Place::kLiteral:
      if (c == '\n') return Place::kPlain;
      break;
    case Place::kLongLiteral:
      break;
  }
  if (c == '"' && place == Place::kBasic) return Place::kPlain;
  if (c == '\'' && place == Place::kLiteral) return Place::kPlain;
  const char quote = place == Place::kLongBasic ? '"' : '\'';
  const bool is_long = place == Place::kLongBasic || place == Place::kLongLiteral;
  if (is_long && c == quote && triple) {
    i += 2;
    // Up to two more quotes may stand before the closing three.
    for (int extra = 0; extra < 2 && i + 1 < text.size() && text[i + 1] == quote; ++extra) ++i;
    return Place::kPlain;
  }
  return place;
}

// The parser's behaviour is undefined on other than ASCII outside strings and comments.
std::optional<Error> FindBadText(std::string_view text, const std::string& name) {
  Place place = Place::kPlain;
  int line = 1;
  int column = 1;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const std::size_t length = Utf8Length(text.substr(i));
    const auto byte = static_cast<unsigned char>(text[i]);
    if (length == 0 || byte == 0) {
      return TextError(ErrorCode::kBadText, name, line, column, fmt::format("byte 0x{:02X}", byte),
                       "the file is not text in UTF-8", "save it as plain UTF-8 text");
    }
    if (length > 1 && place == Place::kPlain) {
      return TextError(ErrorCode::kNotAscii, name, line, column,
                       std::string(text.substr(i, length)),
                       "a letter outside ASCII stands outside strings and comments",
                       "write it in ASCII, or put it in quotes or in a comment");
    }
    const std::size_t first = i;
    if (length > 1) {
      i += length - 1;
    } else {
      place = NextPlace(place, text, i);
    }
    column += length > 1 ? 1 : static_cast<int>(i - first) + 1;
    // A backslash swallows the byte after it, which may be the end of the line.
    if (text[i] == '\n') {
      ++line;
      column = 1;
    }
  }
  return std::nullopt;
}

std::vector<std::size_t> LineStarts(std::string_view text) {
  std::vector<std::size_t> starts{0};
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\n') starts.push_back(i + 1);
  }
  return starts;
}

// Byte offset of a position that counts characters.
std::size_t OffsetOf(const SourceFile& file, const toml::source_position& position) {
  if (position.line < 1 || position.line > file.line_starts.size()) return file.text.size();
  std::size_t offset = file.line_starts[position.line - 1];
  if (position.line == 1 && file.text.rfind("\xEF\xBB\xBF", 0) == 0) offset += 3;
  for (std::size_t c = 1; c < position.column && offset < file.text.size(); ++c) {
    const std::size_t length = Utf8Length(std::string_view(file.text).substr(offset));
    offset += std::max<std::size_t>(length, 1);
  }
  return std::min(offset, file.text.size());
}

}  // namespace

Result<std::string> ReadBytes(const std::filesystem::path& path, const std::string& name) {
  const auto fail = [&](ErrorCode code, std::string message, std::string remedy) {
    return Unexpected(TextError(code, name, 0, 0, "", std::move(message), std::move(remedy)));
  };
  std::error_code trouble;
  const auto status = std::filesystem::status(path, trouble);
  if (!std::filesystem::exists(status)) {
    return fail(ErrorCode::kFileMissing, "there is no such file", "write it, or mend the name");
  }
  if (!std::filesystem::is_regular_file(status)) {
    return fail(ErrorCode::kFileUnreadable, "this is not a file", "put a text file in its place");
  }
  const std::uintmax_t size = std::filesystem::file_size(path, trouble);
  if (trouble || size > kLargestFile_bytes) {
    return fail(ErrorCode::kFileUnreadable, "the file is over 4 MB", "a sheet is a few kB of text");
  }
  std::ifstream stream(path, std::ios::binary);
  std::string bytes(static_cast<std::size_t>(size), '\0');
  stream.read(bytes.data(), static_cast<std::streamsize>(size));
  if (!stream || static_cast<std::uintmax_t>(stream.gcount()) != size) {
    return fail(ErrorCode::kFileUnreadable, "the file cannot be read", "look at its permissions");
  }
  return bytes;
}

Result<SourceFile> ParseSource(std::string text, const std::string& name) {
  std::string_view body = text;
  if (body.substr(0, 3) == "\xEF\xBB\xBF") body.remove_prefix(3);
  if (auto bad = FindBadText(body, name)) return Unexpected(*std::move(bad));
  SourceFile file;
  file.name = name;
  try {
    file.table = toml::parse(body, std::string_view(name));
  } catch (const toml::parse_error& e) {
    const auto& at = e.source().begin;
    return Unexpected(TextError(ErrorCode::kTomlSyntax, name, static_cast<int>(at.line),
                                static_cast<int>(at.column), "", std::string(e.description()),
                                "mend the line: key = value, text in quotes, each key once"));
  }
  file.line_starts = LineStarts(text);
  file.text = std::move(text);
  return file;
}

std::string Written(const SourceFile& file, const toml::source_region& region) {
  const std::size_t begin = OffsetOf(file, region.begin);
  const std::size_t end = OffsetOf(file, region.end);
  if (end <= begin) return "";
  std::string shown;
  bool gap = false;
  std::size_t characters = 0;
  for (std::size_t i = begin; i < end; ++i) {
    const char c = file.text[i];
    if (c == ' ' || c == '\n' || c == '\r' || c == '\t') {
      gap = !shown.empty();
      continue;
    }
    if (gap) {
      shown += ' ';
      ++characters;
    }
    gap = false;
    const bool starts = (static_cast<unsigned char>(c) & 0xC0) != 0x80;
    if (starts && ++characters > kShownValue_chars) return shown + "...";
    shown += c;
  }
  return shown;
}

}  // namespace fitwright::files
