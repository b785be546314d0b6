#include "fitwright/model/build_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/utf8.h"

namespace fitwright {
namespace {

constexpr std::size_t kIdDigits = 32;

Error Fault(ErrorCode code, const char* key, std::string message, std::string value,
            std::string remedy) {
  return {code, std::move(message), std::move(value), std::move(remedy), {"", 0, 0, key}};
}

bool IsId(const std::string& id) {
  return id.size() == kIdDigits && id.find_first_not_of("0123456789abcdef") == std::string::npos;
}

std::optional<Error> FindBadText(const LogEvent& event) {
  const Reading none;
  const Reading& reading = event.reading ? *event.reading : none;
  const std::string* texts[] = {&event.text,
                                &reading.typed,
                                &event.part.text(),
                                &event.step.text(),
                                &reading.instrument.text(),
                                &reading.feature.part.text(),
                                &reading.feature.feature.text()};
  const bool good = std::all_of(std::begin(texts), std::end(texts),
                                [](const std::string* text) { return IsUtf8(*text); });
  if (good) return std::nullopt;
  return Fault(ErrorCode::kBadText, "text", "not text in UTF-8", "", "write it in plain letters");
}

// What each kind must have.
std::optional<Error> FindMissing(const LogEvent& event) {
  const bool of_step = event.kind == LogKind::kStepDone || event.kind == LogKind::kStepUndone ||
                       event.kind == LogKind::kReading || event.kind == LogKind::kReadingUndone;
  const bool in_words = event.kind == LogKind::kNote || event.kind == LogKind::kPhoto ||
                        event.kind == LogKind::kShopChange;
  const std::string kind(WordOf(event.kind));
  if (of_step && event.step.empty()) {
    return Fault(ErrorCode::kMissingKey, "step", kind + " wants a step", "", "say which");
  }
  if (event.kind == LogKind::kPartRemade && event.part.empty()) {
    return Fault(ErrorCode::kMissingKey, "part", kind + " wants a part", "", "say which");
  }
  if (in_words && event.text.empty()) {
    return Fault(ErrorCode::kMissingKey, "text", kind + " wants words", "", "say what");
  }
  if (event.reading.has_value() != (event.kind == LogKind::kReading)) {
    return Fault(ErrorCode::kMissingKey, "value_mm", "a reading has a value, and nothing else has",
                 kind, "give one to a reading only");
  }
  return std::nullopt;
}

}  // namespace

std::optional<Error> FindFault(const LogEvent& event) {
  if (!event.id.empty() && !IsId(event.id)) {
    return Fault(ErrorCode::kBadName, "id", "an id is 32 hex digits", event.id, "leave it empty");
  }
  if (event.build < 1 || event.build > kHighestBuild) {
    return Fault(ErrorCode::kOutOfRange, "build", fmt::format("builds are 1 to {}", kHighestBuild),
                 fmt::format("{}", event.build), "count them from 1");
  }
  if (!event.step.empty() && event.revision < 1) {
    return Fault(ErrorCode::kOutOfRange, "revision", "a step is a step of a plan",
                 fmt::format("{}", event.revision), "give the plan with it");
  }
  if (event.reading && !std::isfinite(event.reading->value_mm)) {
    return Fault(ErrorCode::kNotFinite, "value_mm", "a reading is a number", event.reading->typed,
                 "write a length, such as 40.03 or 1.576in");
  }
  if (auto missing = FindMissing(event)) return missing;
  return FindBadText(event);
}

}  // namespace fitwright
