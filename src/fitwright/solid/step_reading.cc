#include "fitwright/solid/step_reading.h"

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string_view>

#include "fitwright/base/child_process.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/solid_bytes.h"
#include "fitwright/solid/step_message.h"
#include "fitwright/solid/step_transfer.h"

namespace fitwright::solid {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
constexpr std::string_view kBegin = "ISO-10303-21";
constexpr std::string_view kEnd = "END-ISO-10303-21";
constexpr double kMostBytes = 1e9;

Error Unreadable(std::string message, std::string remedy) {
  return {ErrorCode::kFileUnreadable, std::move(message), "", std::move(remedy), {}};
}

Result<std::string> Load(const std::string& path) {
  std::error_code failure;
  if (!std::filesystem::exists(path, failure)) {
    return Unexpected(
        Error{ErrorCode::kFileMissing, "the file is missing", "", "check the path", {}});
  }
  const bool plain = std::filesystem::is_regular_file(path, failure);
  const auto size = plain ? std::filesystem::file_size(path, failure) : 0;
  if (!plain || failure) return Unexpected(Unreadable("it is no file", "name a STEP file"));
  if (static_cast<double>(size) > kMostBytes) {
    return Unexpected(
        Unreadable("it is larger than 1 GB", "export the parts wanted, not the whole"));
  }
  std::ifstream in(path, std::ios::binary);
  std::ostringstream all;
  all << in.rdbuf();
  if (!in) return Unexpected(Unreadable("it cannot be opened", "check its rights"));
  return std::move(all).str();
}

// Why the text is no STEP file, as far as a glance tells.
Error NotStep(std::string_view text) {
  const std::string remedy = "export it as STEP (AP203, AP214 or AP242)";
  if (text.empty()) return Unreadable("it is empty", remedy);
  if (text.starts_with("\x1f\x8b") || text.starts_with("PK")) {
    return Unreadable("it is packed (gzip or zip), not plain STEP text", "unpack it first");
  }
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF")) {
    return Unreadable("it is written in 16-bit characters; STEP is plain text",
                      "save it as plain or UTF-8 text");
  }
  return Unreadable("it does not begin with ISO-10303-21, so it is not a STEP file", remedy);
}

// The text from "ISO-10303-21" on, or why it cannot be one.
Result<std::string_view> Opened(std::string_view text) {
  std::string_view left = text;
  if (left.starts_with(kByteOrderMark)) left.remove_prefix(kByteOrderMark.size());
  const auto begin = left.find_first_not_of(" \t\r\n");
  left.remove_prefix(std::min(begin, left.size()));
  // Comments may stand before.
  const std::size_t found = left.starts_with("/*") ? left.substr(0, 4096).find(kBegin) : 0;
  if (found == std::string_view::npos || !left.substr(found).starts_with(kBegin)) {
    return Unexpected(NotStep(text));
  }
  left.remove_prefix(found);
  if (left.find("DATA;") == std::string_view::npos &&
      left.find("DATA(") == std::string_view::npos) {
    return Unexpected(
        Unreadable("it has no DATA section: it holds a header at most", "export it again"));
  }
  if (left.rfind(kEnd) == std::string_view::npos) {
    return Unexpected(
        Unreadable("it ends before END-ISO-10303-21: it is cut short", "export or copy it again"));
  }
  return left;
}

// The first word of FILE_SCHEMA, as the file has it.
std::string FindSchema(std::string_view text) {
  const auto at = text.substr(0, 1 << 16).find("FILE_SCHEMA");
  if (at == std::string_view::npos) return "";
  const auto from = text.find('\'', at);
  if (from == std::string_view::npos || from > at + 200) return "";
  const auto to = text.find('\'', from + 1);
  if (to == std::string_view::npos || to > from + 200) return "";
  return std::string(text.substr(from + 1, to - from - 1));
}

Error OutOfLimit(const ChildOutcome& outcome, const StepReadingLimits& limits) {
  switch (outcome.end) {
    case ChildEnd::kOutOfTime:
      return Unreadable(
          fmt::format("reading it took longer than {:g} s and was stopped", limits.seconds),
          "leave out modelled threads and lettering, or allow more time");
    case ChildEnd::kOutOfMemory:
      return Unreadable(fmt::format("reading it took more than {:g} MB of memory and was stopped",
                                    limits.memory_mb),
                        "export the parts wanted, not the whole");
    default:
      break;
  }
  return Unreadable(outcome.signal == 0
                        ? "the reader gave up on it without a word"
                        : fmt::format("the reader broke down on it (signal {})", outcome.signal),
                    "export it again, by other settings or from another program");
}

Result<StepContents> Unpacked(StepMessage message) {
  StepContents contents;
  for (const std::string& bytes : message.shapes) {
    Result<Solid> solid = FromBytes(bytes);
    if (!solid) return Unexpected(solid.error());
    contents.shapes.push_back(*std::move(solid));
  }
  contents.face_labels = std::move(message.face_labels);
  contents.placed = std::move(message.placed);
  contents.limits = std::move(message.limits);
  contents.written_in = message.written_in;
  contents.notes = std::move(message.notes);
  return contents;
}

// Whether the text seems to demand something of faces: reading that costs time, and the reader's
// life on some files.
bool StatesLimits(std::string_view text) {
  for (const std::string_view word : {"DIMENSIONAL_SIZE", "_TOLERANCE"}) {
    if (text.find(word) != std::string_view::npos) return true;
  }
  return false;
}

Result<ChildOutcome> ReadInChild(const std::string& path, std::string_view text,
                                 const StepReadingLimits& limits, bool stated) {
  const ChildLimits child{.seconds = limits.seconds, .memory_mb = limits.memory_mb};
  return RunInChild(child, [&] { return ToText(TransferStep(path, std::string(text), stated)); });
}

Result<StepContents> Read(const std::string& path, const StepReadingLimits& limits) {
  const Result<std::string> loaded = Load(path);
  if (!loaded) return Unexpected(loaded.error());
  const Result<std::string_view> text = Opened(*loaded);
  if (!text) return Unexpected(text.error());
  const bool stated = StatesLimits(*text);
  Result<ChildOutcome> outcome = ReadInChild(path, *text, limits, stated);
  const bool again = stated && outcome && outcome->end == ChildEnd::kDied;
  if (again) outcome = ReadInChild(path, *text, limits, false);
  if (!outcome) return Unexpected(outcome.error());
  if (outcome->end != ChildEnd::kDone) return Unexpected(OutOfLimit(*outcome, limits));
  Result<StepMessage> message = FromText(outcome->output);
  if (!message) return Unexpected(message.error());
  Result<StepContents> contents = Unpacked(*std::move(message));
  if (contents) contents->schema = FindSchema(*text);
  if (contents && again)
    contents->notes.emplace_back(
        "The reader broke down on the tolerances in the file: none of them was taken over.");
  return contents;
}

}  // namespace

Result<StepContents> ReadStep(const std::string& path, const StepReadingLimits& limits) {
  Result<StepContents> contents = Read(path, limits);
  if (contents) return contents;
  Error error = contents.error();
  error.where.file = path;
  return Unexpected(std::move(error));
}

}  // namespace fitwright::solid
