// The build log as one file: out and in again, and what is refused.
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "fitwright/files/build_log_json.h"

namespace fitwright::files {
namespace {

using nlohmann::json;

BuildLog Sample() {
  BuildLog log;
  log.revisions = {{1, 1700000000000, "0123456789abcdef", "{\"a\": \"\\n\"}\n"}, {2, 1700000000001, "", "second"}};
  LogEvent reading;
  reading.number = 1;
  reading.id = std::string(32, 'a');
  reading.time_ms = 1700000000002;
  reading.revision = 2;
  reading.kind = LogKind::kReading;
  reading.part = PartId("ring#2");
  reading.step = StepId("s01.1");
  reading.reading = Reading{0.1 + 0.2, "0.3", InstrumentId("caliper"), {PartId("ring#2"), FeatureId("outside")}};
  LogEvent note;
  note.number = 2;
  note.id = std::string(32, 'b');
  note.build = 3;
  note.text = "caf\xC3\xA9 \"quoted\"\n\ttab";
  log.events = {reading, note};
  return log;
}

TEST(BuildLogJson, ComesBackEqual) {
  const BuildLog log = Sample();
  const std::string text = BuildLogToJson(log, Plans::kWith);
  const auto back = BuildLogFromJson(text, "log.json");
  ASSERT_TRUE(back) << Format(back.error());
  EXPECT_EQ(BuildLogToJson(*back, Plans::kWith), text);
  EXPECT_EQ(back->events[0].reading->value_mm, 0.1 + 0.2);
  EXPECT_EQ(back->events[0].reading->feature, log.events[0].reading->feature);
  EXPECT_EQ(back->events[1].text, log.events[1].text);
  EXPECT_EQ(back->revisions[0].plan_json, log.revisions[0].plan_json);
}

TEST(BuildLogJson, WithoutPlansIsToReadOnly) {
  const auto back = BuildLogFromJson(BuildLogToJson(Sample(), Plans::kWithout), "log.json");
  ASSERT_FALSE(back);
  EXPECT_EQ(back.error().code, ErrorCode::kMissingKey);
  EXPECT_EQ(back.error().where.key, "revisions[1]");
}

TEST(BuildLogJson, ClosedListIsTheModels) {
  std::ifstream file(std::string(FITWRIGHT_SOURCE_DIR) + "/schemas/log.schema.json");
  const json schema = json::parse(file);
  json words = json::array();
  for (const auto& entry : WordsOf<LogKind>::kAll) words.push_back(std::string(entry.word));
  EXPECT_EQ(schema.at("properties").at("events").at("items").at("properties").at("kind").at("enum"), words);
}

// Each change, and the code and key that it is refused with.
TEST(BuildLogJson, WhatIsNoLogIsRefused) {
  struct Case {
    const char* at;
    json value;
    ErrorCode code;
  };
  const std::vector<Case> cases = {{"/schema", "fitwright-log/2", ErrorCode::kSchemaVersion},
                                   {"/events", 3, ErrorCode::kWrongType},
                                   {"/events/0", 3, ErrorCode::kWrongType},
                                   {"/events/0/number", 7, ErrorCode::kWrongCount},
                                   {"/events/0/kind", "wish", ErrorCode::kUnknownWord},
                                   {"/events/0/revision", 9, ErrorCode::kOutOfRange},
                                   {"/events/0/build", 0, ErrorCode::kOutOfRange},
                                   {"/events/0/id", "", ErrorCode::kMissingKey},
                                   {"/events/0/time_ms", "noon", ErrorCode::kWrongType},
                                   {"/events/0/reading/value_mm", "wide", ErrorCode::kWrongType},
                                   {"/events/0/more", 1, ErrorCode::kUnknownKey},
                                   {"/events/1/reading", json::object(), ErrorCode::kMissingKey},
                                   {"/more", 1, ErrorCode::kUnknownKey},
                                   {"/revisions/1/number", 1, ErrorCode::kWrongCount}};
  for (const Case& c : cases) {
    json changed = json::parse(BuildLogToJson(Sample(), Plans::kWith));
    changed[json::json_pointer(c.at)] = c.value;
    const auto log = BuildLogFromJson(changed.dump(), "log.json");
    ASSERT_FALSE(log) << c.at;
    EXPECT_EQ(log.error().code, c.code) << c.at << " " << Format(log.error());
    EXPECT_EQ(log.error().where.file, "log.json");
  }
  EXPECT_EQ(BuildLogFromJson("{", "log.json").error().code, ErrorCode::kJsonSyntax);
  EXPECT_EQ(BuildLogFromJson("[]", "log.json").error().code, ErrorCode::kWrongType);
}

}  // namespace
}  // namespace fitwright::files
