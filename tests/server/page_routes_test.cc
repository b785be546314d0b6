// Sheets begun and added to by the page's forms.
#include <httplib.h>

#include <nlohmann/json.hpp>

#include "tests/server/served.h"

namespace fitwright::server {
namespace {

using FormJson = nlohmann::ordered_json;

class PageForms : public Served {
 protected:
  void Begin(bool empty) {
    if (empty) {
      fs::remove_all(dir());
      fs::create_directories(dir());
    }
    Serve();
    httplib::Client client("127.0.0.1", port());
    token_ = FormJson::parse(client.Get("/api/token")->body)["token"];
  }
  int Add(const std::vector<FormJson>& tables) {
    httplib::Client client("127.0.0.1", port());
    const FormJson body = {{"schema", "fitwright-addition/1"}, {"tables", tables}};
    const auto answer =
        client.Post("/api/add", {{"Fitwright-Token", token_}}, body.dump(), "application/json");
    EXPECT_TRUE(answer);
    said_ = answer ? answer->body : "";
    return answer ? answer->status : 0;
  }
  static FormJson Table(const std::string& file, const std::string& name, const FormJson& keys) {
    return {{"file", file}, {"table", name}, {"keys", keys}};
  }
  // A machine of one plate.
  static std::vector<FormJson> Plate() {
    return {Table("machine.toml", "",
                  {{"format", "fitwright-machine/1"}, {"name", "a press"}, {"units", "mm"}}),
            Table("machine.toml", "part", {{"sheet", "plate"}}),
            Table("parts/plate.toml", "",
                  {{"format", "fitwright-part/1"}, {"material", "aluminium"}, {"unit", "mm"}}),
            Table("parts/plate.toml", "envelope",
                  {{"block", {{"x", {0, 60}}, {"y", {0, 40}}, {"z", {0, 12}}}}})};
  }

  std::string token_;
  std::string said_;
};

TEST_F(PageForms, BeginAProjectInAnEmptyFolder) {
  Begin(true);
  ASSERT_EQ(Add(Plate()), 200) << said_;
  Diagnostics faults;
  const auto project = files::LoadProject(dir(), {}, faults);
  ASSERT_TRUE(project) << Format(project.error());
  EXPECT_EQ(project->machine.name, "a press");
  ASSERT_EQ(project->machine.parts.size(), 1U);
  EXPECT_EQ(project->machine.parts[0].name.text(), "plate");
}

TEST_F(PageForms, AddBehindWhatStandsAndLeaveEveryByteOfIt) {
  Begin(false);
  const std::string before = ReadFile(dir() / "parts/foot.toml");
  ASSERT_EQ(Add({Table("parts/foot.toml", "feature",
                       {{"name", "oil_hole"},
                        {"kind", "hole"},
                        {"from", "+y"},
                        {"at", {0, 6}},
                        {"diameter", 2},
                        {"through", true}})}),
            200)
      << said_;
  EXPECT_EQ(ReadFile(dir() / "parts/foot.toml"),
            before +
                "\n[[feature]]\nname = \"oil_hole\"\nkind = \"hole\"\nfrom = \"+y\"\nat = [0, 6]\n"
                "diameter = 2\nthrough = true\n");
}

TEST_F(PageForms, WriteNothingWhereTheProjectCouldNotBeReadAnyMore) {
  Begin(false);
  const std::string sheet = ReadFile(dir() / "parts/foot.toml");
  const std::string machine = ReadFile(dir() / "machine.toml");
  const FormJson hole =
      Table("parts/foot.toml", "feature",
            {{"name", "bad"}, {"kind", "hole"}, {"from", "+y"}, {"diameter", -2}});
  EXPECT_GE(Add({Table("machine.toml", "joint",
                       {{"name", "fine"},
                        {"kind", "face_contact"},
                        {"fixed", "block.left"},
                        {"moving", "foot.mount"}}),
                 hole}),
            400);
  EXPECT_NE(said_.find("parts/foot.toml"), std::string::npos) << said_;
  EXPECT_EQ(ReadFile(dir() / "parts/foot.toml"), sheet);
  EXPECT_EQ(ReadFile(dir() / "machine.toml"), machine);
}

TEST_F(PageForms, NameNoFileButSheetsAndNoneTwice) {
  Begin(false);
  for (const char* file : {"../x.toml", "parts/../machine.toml", "shop.toml", "parts/.toml",
                           "build.db", "/etc/x.toml"})
    EXPECT_EQ(Add({Table(file, "feature", {{"name", "a"}})}), 400) << file;
  EXPECT_EQ(Add({Table("parts/foot.toml", "", {{"format", "fitwright-part/1"}})}), 400) << said_;
  EXPECT_EQ(Add({}), 400) << said_;
}

TEST_F(PageForms, WhatIfOfAPlanThatIsNotThereIsSaid) {
  Begin(false);
  httplib::Client client("127.0.0.1", port());
  EXPECT_EQ(client.Get("/api/knobs")->status, 404);
  EXPECT_EQ(client.Get("/api/learning")->status, 404);
  EXPECT_EQ(client.Get("/api/learning?build=0")->status, 400);
  EXPECT_EQ(client.Get("/api/knobs?build=none")->status, 400);
  EXPECT_EQ(client.Get("/api/knobs?as-planned=maybe")->status, 400);
  const auto answer = client.Post("/api/what-if", {{"Fitwright-Token", token_}},
                                  R"({"schema":"fitwright-asked/1","changes":[],"requirement":""})",
                                  "application/json");
  EXPECT_EQ(answer->status, 404);
  EXPECT_NE(answer->body.find("plan"), std::string::npos);
  EXPECT_EQ(client.Post("/api/what-if", "{}", "application/json")->status, 403)
      << "without the token";
}

}  // namespace
}  // namespace fitwright::server
