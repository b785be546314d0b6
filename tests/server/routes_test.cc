// What the addresses answer to a real client.
#include <httplib.h>

#include <nlohmann/json.hpp>
#include <thread>
#include <vector>

#include "tests/server/served.h"

namespace fitwright::server {
namespace {

using Json = nlohmann::json;

class Answers : public Served {
 protected:
  httplib::Result Get(const std::string& path) const {
    httplib::Client client("127.0.0.1", port());
    client.set_read_timeout(60);
    return client.Get(path.c_str());
  }
  Json GetJson(const std::string& path, int status) const {
    const auto result = Get(path);
    EXPECT_TRUE(result) << path;
    if (!result) return {};
    EXPECT_EQ(result->status, status) << path << ": " << result->body;
    EXPECT_EQ(result->get_header_value("Content-Type"), "application/json") << path;
    return Json::parse(result->body);
  }
};

TEST_F(Answers, ThePageAndItsFilesForbidForeignScript) {
  Serve();
  const auto page = Get("/");
  ASSERT_TRUE(page);
  EXPECT_EQ(page->status, 200);
  EXPECT_EQ(page->get_header_value("Content-Type"), "text/html; charset=utf-8");
  const std::string policy = page->get_header_value("Content-Security-Policy");
  EXPECT_NE(policy.find("default-src 'none'"), std::string::npos);
  EXPECT_NE(policy.find("script-src 'self';"), std::string::npos);
  EXPECT_NE(policy.find("frame-ancestors 'none'"), std::string::npos);
  EXPECT_EQ(policy.find("unsafe"), std::string::npos);
  EXPECT_EQ(page->get_header_value("X-Content-Type-Options"), "nosniff");
  EXPECT_EQ(page->get_header_value("Access-Control-Allow-Origin"), "");
  EXPECT_EQ(page->body.find("style="), std::string::npos)
      << "the policy forbids styles in the page";
  EXPECT_EQ(page->body.find("<script>"), std::string::npos)
      << "the policy forbids scripts in the page";
}

// Brotli, as the library has it, takes a second of processor for a book.
TEST_F(Answers, WhatIsSentIsPackedByGzipWhateverElseIsTaken) {
  Serve();
  httplib::Client client("127.0.0.1", port());
  const auto packed = client.Get("/api/project", {{"Accept-Encoding", "gzip, deflate, br, zstd"}});
  ASSERT_TRUE(packed);
  EXPECT_EQ(packed->get_header_value("Content-Encoding"), "gzip");
  const auto plain = client.Get("/api/project", {{"Accept-Encoding", "identity"}});
  ASSERT_TRUE(plain);
  EXPECT_FALSE(plain->has_header("Content-Encoding"));
  EXPECT_EQ(packed->body, plain->body);
}

TEST_F(Answers, APageFileIsNotSentTwice) {
  Serve();
  const auto page = Get("/");
  ASSERT_TRUE(page);
  httplib::Client client("127.0.0.1", port());
  const auto again = client.Get("/", {{"If-None-Match", page->get_header_value("ETag")}});
  ASSERT_TRUE(again);
  EXPECT_EQ(again->status, 304);
  EXPECT_TRUE(again->body.empty());
}

TEST_F(Answers, ProjectWithoutPlanSaysSo) {
  Serve();
  const Json project = GetJson("/api/project", 200);
  EXPECT_EQ(project["schema"], "fitwright-project/1");
  EXPECT_EQ(project["plan"], "none");
  EXPECT_EQ(project["version"], "test");
  EXPECT_EQ(GetJson("/api/plan", 404)["errors"][0]["code"], "file_missing");
  EXPECT_EQ(GetJson("/api/report", 404)["errors"][0]["code"], "file_missing");
  EXPECT_EQ(GetJson("/api/drawing?setup=1", 404)["errors"][0]["code"], "file_missing");
  EXPECT_EQ(GetJson("/api/check", 200)["schema"], "fitwright-check/1");
}

TEST_F(Answers, TheBookIsThePlans) {
  SaveSmallPlan();
  Serve();
  EXPECT_EQ(GetJson("/api/project", 200)["plan"], "current");
  EXPECT_EQ(GetJson("/api/plan", 200), Json::parse(ReadFile(dir() / "plan.json")));
  const Json book = GetJson("/api/report?unit=mm", 200);
  EXPECT_EQ(book["schema"], "fitwright-book/1");
  EXPECT_EQ(book["unit"], "mm");
  ASSERT_EQ(book["setups"].size(), 1U);
  const Json& setup = book["setups"][0];
  EXPECT_EQ(setup["number"], 1);
  EXPECT_EQ(setup["parts"], Json({"block"}));
  EXPECT_EQ(setup["steps"][0]["id"], "s01.1");
  EXPECT_EQ(setup["steps"][0]["measure"]["feature"], "block.bore");
  EXPECT_EQ(setup["steps"][0]["measure"]["upper_mm"], 24.021);
  EXPECT_EQ(setup["pieces"][0]["kind"], "heading");
  bool ticked = false;
  for (const Json& piece : setup["pieces"]) {
    if (piece["kind"] != "tick") continue;
    ticked = true;
    EXPECT_EQ(piece["number"], "1.1");
    EXPECT_EQ(piece["text"], "Bore to size, \"slowly\".");
  }
  EXPECT_TRUE(ticked);
  EXPECT_EQ(book["overview"][0]["level"], 1);
  EXPECT_EQ(book["cautions"][0]["text"], "Cautions");
}

TEST_F(Answers, LengthsComeInTheUnitAskedFor) {
  SaveSmallPlan();
  Serve();
  const auto inch = Get("/api/report?unit=inch");
  const auto mm = Get("/api/report?unit=mm");
  ASSERT_TRUE(inch && mm);
  EXPECT_NE(inch->body.find("0.9449 to 0.9457"), std::string::npos) << inch->body;
  EXPECT_NE(mm->body.find("24.000 to 24.021"), std::string::npos) << mm->body;
}

TEST_F(Answers, AChangedSheetMakesThePlanOlder) {
  SaveSmallPlan();
  Serve();
  std::ofstream(dir() / "machine.toml", std::ios::app) << "\n# looked at again\n";
  EXPECT_EQ(GetJson("/api/project", 200)["plan"], "older");
  EXPECT_EQ(GetJson("/api/report", 200)["older_than_sheets"], true);
}

TEST_F(Answers, FaultsOfTheSheetsComeAllAtOnceWithTheirLines) {
  std::ofstream(dir() / "machine.toml", std::ios::app) << "\n[nonsense]\na = 1\n";
  Serve();
  const Json answer = GetJson("/api/project", 422);
  ASSERT_GE(answer["errors"].size(), 1U);
  EXPECT_EQ(answer["errors"][0]["file"], "machine.toml");
  EXPECT_GT(answer["errors"][0]["line"].get<int>(), 0);
}

TEST_F(Answers, WrongValuesAreRefused) {
  SaveSmallPlan();
  Serve();
  for (const char* path :
       {"/api/report?unit=furlong", "/api/report?unit=mm&unit=inch", "/api/report?units=mm",
        "/api/plan?unit=mm", "/api/drawing", "/api/drawing?setup=", "/api/drawing?setup=0",
        "/api/drawing?setup=-1", "/api/drawing?setup=1e3", "/api/drawing?setup=1.0",
        "/api/drawing?setup=99999999999999999999", "/api/drawing?setup=1&kind=..%2F..%2Fetc",
        "/api/drawing?setup=1%00", "/api/drawing?setup=../machine.toml",
        "/api/drawing?setup=1&kind="}) {
    EXPECT_EQ(GetJson(path, 400)["errors"][0]["code"], "usage") << path;
  }
  EXPECT_EQ(GetJson("/api/drawing?setup=2", 404)["errors"][0]["code"], "file_missing");
  EXPECT_FALSE(fs::exists(dir() / "drawn.txt")) << "nothing was to be drawn";
}

TEST_F(Answers, NoAddressLeadsToAFile) {
  SaveSmallPlan();
  std::ofstream(folder_ / "secret.txt") << "secret";
  Serve();
  for (const char* path :
       {"/machine.toml", "/plan.json", "/../secret.txt", "/..%2fsecret.txt", "/%2e%2e/secret.txt",
        "/api/../machine.toml", "/api/", "/api", "/api/project/", "/api/projectx", "//",
        "/index.html", "/etc/passwd", "/api/plan/../../secret.txt"}) {
    const auto result = Get(path);
    ASSERT_TRUE(result) << path;
    EXPECT_EQ(result->status, 404) << path;
    EXPECT_EQ(result->body.find("secret\n"), std::string::npos) << path;
    EXPECT_EQ(Json::parse(result->body)["schema"], "fitwright-errors/1") << path;
  }
}

TEST_F(Answers, ADrawingIsMadeOnceForItsPlan) {
  SaveSmallPlan();
  Serve();
  for (int i = 0; i < 2; ++i) {
    const auto svg = Get("/api/drawing?setup=1&unit=inch");
    ASSERT_TRUE(svg);
    EXPECT_EQ(svg->status, 200) << svg->body;
    EXPECT_EQ(svg->get_header_value("Content-Type"), "image/svg+xml");
    EXPECT_EQ(svg->body, "<svg><title>setup 1 in inch</title></svg>\n");
  }
  EXPECT_EQ(GetJson("/api/drawing?setup=1&kind=holes&unit=inch", 404)["errors"][0]["code"],
            "file_missing");
  EXPECT_EQ(ReadFile(dir() / "drawn.txt"), "drawn\n");
}

TEST_F(Answers, ManyWhoAskForOneDrawingShareIt) {
  WriteProgram(std::string(kDraws) + "sleep 0.3\n");
  SaveSmallPlan();
  Serve();
  std::vector<std::thread> clients;
  std::vector<int> status(8, 0);
  for (std::size_t i = 0; i < status.size(); ++i) {
    clients.emplace_back([this, i, &status] {
      if (const auto svg = Get("/api/drawing?setup=1&unit=mm")) status[i] = svg->status;
    });
  }
  for (std::thread& client : clients) client.join();
  EXPECT_EQ(status, std::vector<int>(8, 200));
  EXPECT_EQ(ReadFile(dir() / "drawn.txt"), "drawn\n");
}

TEST_F(Answers, ACrashOfTheProgramThatDrawsCostsOneRequest) {
  WriteProgram("#!/bin/sh\nkill -SEGV $$\n");
  SaveSmallPlan();
  Serve();
  EXPECT_EQ(GetJson("/api/drawing?setup=1", 500)["errors"][0]["code"], "kernel");
  EXPECT_EQ(GetJson("/api/project", 200)["plan"], "current");
  WriteProgram(kDraws);
  const auto svg = Get("/api/drawing?setup=1");
  ASSERT_TRUE(svg);
  EXPECT_EQ(svg->status, 200) << "the next one is drawn";
}

TEST_F(Answers, WhatTheProgramThatDrawsSaysIsPassedOn) {
  WriteProgram(
      "#!/bin/sh\necho 'first line' >&2\necho 'the plan has no such setup [unknown_feature]' "
      ">&2\nexit 2\n");
  SaveSmallPlan();
  Serve();
  const Json answer = GetJson("/api/drawing?setup=1", 500);
  EXPECT_EQ(answer["errors"][0]["value"], "the plan has no such setup [unknown_feature]");
}

TEST_F(Answers, ADrawingThatTakesTooLongIsEndedWithAllItStarted) {
  WriteProgram("#!/bin/sh\nsleep 300 &\necho $! > \"$2/child.txt\"\nwait\n");
  SaveSmallPlan();
  ServerOptions options = Options();
  options.drawing_seconds = 0.5;
  Serve(options);
  const Json answer = GetJson("/api/drawing?setup=1", 500);
  EXPECT_EQ(answer["errors"][0]["message"], "the drawings took too long");
  const int child = std::stoi(ReadFile(dir() / "child.txt"));
  bool gone = false;
  for (int i = 0; i < 200 && !gone; ++i) {
    gone =
        ReadFile("/proc/" + std::to_string(child) + "/cmdline").find("sleep") == std::string::npos;
    if (!gone) std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  EXPECT_TRUE(gone);
}

TEST_F(Answers, WithoutTheProgramThatDrawsAllElseWorks) {
  SaveSmallPlan();
  ServerOptions options = Options();
  options.solid_program = folder_ / "absent";
  Serve(options);
  EXPECT_EQ(GetJson("/api/drawing?setup=1", 404)["errors"][0]["remedy"],
            "install it beside this program");
  EXPECT_EQ(GetJson("/api/report", 200)["schema"], "fitwright-book/1");
}

TEST_F(Answers, StoppingEndsADrawingUnderWayAndAnswersIt) {
  WriteProgram("#!/bin/sh\ntouch \"$2/begun.txt\"\nexec sleep 300\n");
  SaveSmallPlan();
  Serve();
  int status = 0;
  std::thread client([&] {
    if (const auto svg = Get("/api/drawing?setup=1")) status = svg->status;
  });
  while (!fs::exists(dir() / "begun.txt"))
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  server_.reset();
  client.join();
  EXPECT_EQ(status, 503);
}

TEST_F(Answers, ATakenPortAndAnAbsentFolderAreSaid) {
  Serve();
  ServerOptions second = Options();
  second.port = port();
  const auto taken = Server::Start(second);
  ASSERT_FALSE(taken);
  EXPECT_EQ(taken.error().message, "the port is taken");
  second.port = 0;
  second.dir = folder_ / "absent";
  const auto absent = Server::Start(second);
  ASSERT_FALSE(absent);
  EXPECT_EQ(absent.error().code, ErrorCode::kFileMissing);
}

}  // namespace
}  // namespace fitwright::server
