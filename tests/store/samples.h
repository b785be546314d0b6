// Events, plans and folders for the tests of the build log.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "fitwright/store/build_log_store.h"

namespace fitwright::store_test {

namespace fs = std::filesystem;
using store::BuildLogStore;
using store::FollowedPlan;
using store::StoreOptions;

inline bool IsDeep() {
  const char* deep = std::getenv("FITWRIGHT_DEEP");
  return deep != nullptr && std::string(deep) == "1";
}

// A new folder that goes with its owner.
class TempFolder {
 public:
  TempFolder() {
    std::string name = (fs::path(::testing::TempDir()) / "build_log_XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path_ = name;
  }
  ~TempFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;
  const fs::path& path() const { return path_; }
  fs::path Log() const { return path_ / "build.db"; }

 private:
  fs::path path_;
};

inline std::string BytesOf(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
inline void WriteBytes(const fs::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

inline LogEvent Event(LogKind kind, const std::string& step, const std::string& text = "") {
  LogEvent event;
  event.kind = kind;
  event.time_ms = 1700000000000;
  event.part = PartId("body");
  event.step = StepId(step);
  event.text = text;
  return event;
}
inline LogEvent Note(const std::string& text) {
  LogEvent event = Event(LogKind::kNote, "", text);
  event.part = PartId();
  return event;
}
inline LogEvent ReadingOf(const std::string& step, double value_mm, const std::string& typed) {
  LogEvent event = Event(LogKind::kReading, step);
  event.reading = Reading{value_mm, typed, InstrumentId("micrometer_50"),
                          {PartId("body"), FeatureId("crank_bore")}};
  return event;
}
inline FollowedPlan PlanOf(const std::string& text) { return {text, "0123456789abcdef", 1700000000000}; }

// Everything of an event but its number.
inline std::string Spelt(const LogEvent& e) {
  std::string text = fmt::format("{} {} {} {} {} {} {} {}", e.id, e.time_ms, e.build, e.revision,
                                 WordOf(e.kind), e.part.text(), e.step.text(), e.text);
  if (e.reading) {
    text += fmt::format(" {:a} {} {} {}", e.reading->value_mm, e.reading->typed,
                        e.reading->instrument.text(), e.reading->feature.text());
  }
  return text;
}

inline std::map<std::string, int> CountIds(const BuildLog& log) {
  std::map<std::string, int> counts;
  for (const LogEvent& event : log.events) ++counts[event.id];
  return counts;
}

}  // namespace fitwright::store_test
