// What pages send: events for the build log and changes of the sheets, once each, by whom may.
#include <fmt/format.h>
#include <httplib.h>

#include <atomic>
#include <nlohmann/json.hpp>
#include <thread>

#include "fitwright/server/rate_limit.h"
#include "tests/server/served.h"

namespace fitwright::server {
namespace {

using Json = nlohmann::json;

class Events : public Served {
 protected:
  void SetUp() override {
    Served::SetUp();
    SaveSmallPlan();
    Serve();
    token_ = Get("/api/token")["token"];
    plan_ = Get("/api/report?unit=mm")["plan"];
  }
  Json Get(const std::string& path) const {
    httplib::Client client("127.0.0.1", port());
    const auto answer = client.Get(path);
    EXPECT_TRUE(answer && answer->status == 200) << path;
    return answer ? Json::parse(answer->body) : Json();
  }
  httplib::Result Post(const std::string& path, const std::string& body,
                       const httplib::Headers& headers,
                       const char* type = "application/json") const {
    httplib::Client client("127.0.0.1", port());
    return client.Post(path, headers, body, type);
  }
  Json Tell(const std::string& path, const Json& body, int status = 200) const {
    const auto answer = Post(path, body.dump(), {{"Fitwright-Token", token_}});
    EXPECT_TRUE(answer);
    if (!answer) return {};
    EXPECT_EQ(answer->status, status) << answer->body;
    return Json::parse(answer->body);
  }
  Json Send(const std::vector<Json>& events) const {
    return Tell("/api/events?unit=mm", {{"schema", "fitwright-events/1"}, {"events", events}});
  }
  Json Event(const std::string& kind, const std::string& id,
             const std::string& step = "s01.1") const {
    return {{"id", std::string(32 - id.size(), '0') + id},
            {"time_ms", 1700000000000},
            {"build", 1},
            {"plan", plan_},
            {"kind", kind},
            {"part", "block"},
            {"step", step},
            {"text", ""}};
  }
  Json ReadingOf(const std::string& id, double value_mm) const {
    Json event = Event("reading", id);
    event["value_mm"] = value_mm;
    event["typed"] = fmt::format("{}mm", value_mm);
    event["instrument"] = "";
    return event;
  }

  std::string token_;
  std::string plan_;
};

TEST_F(Events, AreKeptOnceAndSayWhatStands) {
  const Json first = Send({ReadingOf("a1", 24.01)});
  EXPECT_EQ(first["schema"], "fitwright-build/1");
  EXPECT_EQ(first["kept"][0]["as"], "event");
  EXPECT_EQ(first["last"], 2) << "a reading within its limits says that its step is done";
  EXPECT_EQ(first["done"][0]["step"], "s01.1");
  EXPECT_EQ(first["done"][0]["part"], "block");
  EXPECT_EQ(first["readings"][0]["verdict"], "within");
  EXPECT_EQ(first["readings"][0]["instrument"], "bore_gauge") << "as the step has it";
  EXPECT_TRUE(first["next"].is_null());
  const Json again = Send({ReadingOf("a1", 24.01), Event("step_undone", "a2")});
  EXPECT_EQ(again["kept"][0]["as"], "known");
  EXPECT_EQ(again["last"], 3);
  EXPECT_TRUE(again["done"].empty());
  EXPECT_EQ(Get("/api/build")["last"], 3);
  server_.reset();
  Serve();
  EXPECT_EQ(Get("/api/build")["readings"][0]["value_mm"], 24.01) << "after a new start";
}

TEST_F(Events, AReadingOutsideLeavesItsStepOpenAndIsTakenBack) {
  Json answer = Send({ReadingOf("b1", 24.03)});
  EXPECT_EQ(answer["readings"][0]["verdict"], "over");
  EXPECT_TRUE(answer["done"].empty());
  EXPECT_EQ(answer["next"]["step"], "s01.1");
  EXPECT_NE(answer["kept"][0]["say"].dump().find("0.009 over the greatest"), std::string::npos)
      << answer["kept"];
  answer = Send({ReadingOf("b2", 24.05), Event("reading_undone", "b3")});
  EXPECT_EQ(answer["readings"][0]["value_mm"], 24.03) << "the one before stands again";
  answer = Send({Event("reading_undone", "b4")});
  EXPECT_TRUE(answer["readings"].empty());
  EXPECT_EQ(answer["last"], 4) << "nothing is gone from the log";
}

TEST_F(Events, WhatCannotBeReckonedIsSaidAtTheReading) {
  const Json answer = Send({ReadingOf("b5", 24.03)});
  const std::string say = answer["readings"][0]["say"].dump();
  EXPECT_NE(say.find("The reading is kept, but what it changes cannot be reckoned: "),
            std::string::npos)
      << "the small plan says of no setup how it is held: " << say;
  EXPECT_EQ(answer["readings"][0]["value_mm"], 24.03);
}

TEST_F(Events, WhatFollowsFromATickIsToldAfterItsAnswer) {
  const Json read = Send({ReadingOf("b6", 24.03)});
  const Json ticked = Send({Event("step_done", "b7")});
  EXPECT_EQ(ticked["readings"], read["readings"]) << "what was reckoned before it";
  Json now = ticked;
  for (int i = 0; i < 1000 && now["sign"] == ticked["sign"]; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
    now = Get("/api/build?unit=mm");
  }
  EXPECT_NE(now["sign"], ticked["sign"]) << "open pages ask again";
  EXPECT_EQ(now["last"], ticked["last"]);
  EXPECT_EQ(now["done"], ticked["done"]);
}

TEST_F(Events, WhatFitsNoPlanIsKeptInWords) {
  Json foreign = ReadingOf("c1", 24.01);
  foreign["plan"] = "0123456789abcdef";
  const Json answer = Send({foreign, Event("step_done", "c2", "s99.9")});
  EXPECT_EQ(answer["kept"][0]["as"], "note");
  EXPECT_EQ(answer["kept"][1]["as"], "note");
  EXPECT_TRUE(answer["done"].empty());
  EXPECT_NE(answer["lately"][1]["what"].get<std::string>().find("24.01mm"), std::string::npos);
}

TEST_F(Events, ThoseOfAPlanThatWasRecordedToStayItsOwn) {
  Send({Event("step_done", "d1")});
  std::ofstream(dir() / "plan.json", std::ios::app) << "\n";
  const Json changed = Get("/api/report?unit=mm");
  EXPECT_NE(changed["plan"], plan_);
  const Json answer = Send({Event("step_undone", "d2")});
  EXPECT_EQ(answer["kept"][0]["as"], "event");
  EXPECT_TRUE(answer["done"].empty()) << "the same work in both plans";
}

TEST_F(Events, OneThatCannotBeKeptHoldsNobodyUp) {
  Json bad = Event("reading", "e1");
  Json unknown = Event("singing", "e2");
  const Json answer = Send({bad, unknown, Event("step_done", "e3")});
  EXPECT_EQ(answer["kept"][0]["as"], "refused");
  EXPECT_EQ(answer["kept"][1]["as"], "refused");
  EXPECT_EQ(answer["kept"][2]["as"], "event");
}

TEST_F(Events, AreTakenFromWhoMayAndInTheirForm) {
  const std::string body =
      Json{{"schema", "fitwright-events/1"}, {"events", {Event("step_done", "f1")}}}.dump();
  const auto status = [&](const httplib::Headers& headers, const char* type,
                          const std::string& text) {
    const auto answer = Post("/api/events", text, headers, type);
    return answer ? answer->status : 0;
  };
  const httplib::Headers good = {{"Fitwright-Token", token_}};
  EXPECT_EQ(status({}, "application/json", body), 403);
  EXPECT_EQ(status({{"Fitwright-Token", std::string(32, '0')}}, "application/json", body), 403);
  EXPECT_EQ(status({{"Fitwright-Token", token_}, {"Origin", "http://evil.example"}},
                   "application/json", body),
            403);
  EXPECT_EQ(status({{"Fitwright-Token", token_}, {"Sec-Fetch-Site", "cross-site"}},
                   "application/json", body),
            403);
  EXPECT_EQ(status(good, "text/plain", body), 415);
  EXPECT_EQ(status(good, "application/json", std::string(300'000, ' ')), 413);
  const std::string deep(60'000, '[');
  for (const std::string& text :
       {std::string("{"), std::string("[]"), std::string("{\"schema\":\"fitwright-events/2\"}"),
        "{\"schema\":" + deep, deep + std::string(60'000, ']'),
        std::string("{\"schema\":\"fitwright-events/1\",\"events\":[{\"id\":\"x\"}]}"),
        std::string("{\"schema\":\"fitwright-events/1\",\"events\":[]}")}) {
    EXPECT_EQ(status(good, "application/json", text), 422) << text.substr(0, 60);
  }
  EXPECT_FALSE(fs::exists(dir() / "build.db")) << "nothing was kept";
  EXPECT_EQ(status(good, "application/json", body), 200);
  httplib::Client client("127.0.0.1", port());
  const auto read = client.Get("/api/events");
  ASSERT_TRUE(read);
  EXPECT_EQ(read->status, 405);
  EXPECT_EQ(read->get_header_value("Allow"), "POST");
}

TEST_F(Events, OpenPagesAreToldOfWhatOthersRecord) {
  std::atomic<int> signs{0};
  std::atomic<bool> enough{false};
  std::thread page([&] {
    httplib::Client client("127.0.0.1", port());
    client.set_read_timeout(20);
    client.Get("/api/live", [&](const char* data, std::size_t size) {
      if (std::string(data, size).find("data: ") != std::string::npos) ++signs;
      return !enough;
    });
  });
  const auto wait_for = [&](int count) {
    for (int i = 0; i < 1000 && signs < count; ++i)
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    return signs.load();
  };
  EXPECT_EQ(wait_for(1), 1) << "where it stands";
  Send({Event("step_done", "91")});
  EXPECT_EQ(wait_for(2), 2);
  enough = true;
  Send({Event("step_undone", "92")});
  page.join();
}

TEST_F(Events, AnOpenPageHoldsNoStopUp) {
  std::thread page([&] {
    httplib::Client client("127.0.0.1", port());
    client.set_read_timeout(20);
    client.Get("/api/live", [](const char*, std::size_t) { return true; });
  });
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  const auto begun = std::chrono::steady_clock::now();
  server_.reset();
  page.join();
  EXPECT_LT(std::chrono::steady_clock::now() - begun, std::chrono::seconds(8));
}

TEST_F(Events, ALineOfASheetIsChangedAndNothingElse) {
  const std::string before = ReadFile(dir() / "parts/bush.toml");
  const Json parts = Get("/api/parts?unit=mm");
  Json line;
  for (const Json& part : parts["parts"]) {
    for (const Json& one : part["lines"]) {
      if (part["name"] == "bush" && one["table"] == "feature spigot" && one["key"] == "fit")
        line = one;
    }
  }
  ASSERT_FALSE(line.is_null()) << parts.dump();
  Json edit = {{"schema", "fitwright-edit/1"}, {"file", "parts/bush.toml"}, {"line", line["line"]},
               {"text", line["text"]},         {"value", "\"f7\""},         {"confirm", false}};
  Tell("/api/edit", edit);
  const std::string after = ReadFile(dir() / "parts/bush.toml");
  std::string wanted = before;
  wanted.replace(wanted.find("\"g6\""), 4, "\"f7\"");
  EXPECT_EQ(after, wanted);
  EXPECT_EQ(Tell("/api/edit", edit, 400)["errors"][0]["message"],
            "this line is another one by now");
  edit["text"] = "fit = \"f7\"";
  edit["value"] = "\"zz99\"";
  const Json refused = Tell("/api/edit", edit, 422);
  EXPECT_EQ(refused["errors"][0]["file"], "parts/bush.toml");
  EXPECT_EQ(ReadFile(dir() / "parts/bush.toml"), wanted) << "nothing was written";
  for (const char* file :
       {"../secret.toml", "parts/../../x.toml", "plan.json", "/etc/passwd", ""}) {
    edit["file"] = file;
    EXPECT_EQ(Tell("/api/edit", edit, 400)["errors"][0]["code"], "usage") << file;
  }
}

TEST(TheRateLimit, LetsAShareThroughAndRefillsIt) {
  RateLimit limit(3, 10);
  const auto begun = RateLimit::Clock::now();
  for (int i = 0; i < 3; ++i) EXPECT_TRUE(limit.Take("a", begun));
  EXPECT_FALSE(limit.Take("a", begun));
  EXPECT_TRUE(limit.Take("b", begun)) << "another has a share of his own";
  EXPECT_TRUE(limit.Take("a", begun + std::chrono::milliseconds(110)));
  EXPECT_FALSE(limit.Take("a", begun + std::chrono::milliseconds(110)));
}

}  // namespace
}  // namespace fitwright::server
