// A project folder of the test's own, served on a port that was free, with a made-up program that
// draws.
#pragma once

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/server/server.h"

namespace fitwright::server {

namespace fs = std::filesystem;

inline std::string ReadFile(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

// Draws one setup as the solid program would: draw DIR --out FOLDER --setup N --units U.
inline constexpr const char* kDraws =
    "#!/bin/sh\nmkdir -p \"$4\"\n"
    "echo \"<svg><title>setup $6 in $8</title></svg>\" > \"$4/setup-0$6-block.svg\"\n"
    "echo drawn >> \"$2/drawn.txt\"\n";

class Served : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
    folder_ = fs::path(::testing::TempDir()) /
              ("served_" + std::string(test->name()) + "_" + std::to_string(getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    fs::copy(fs::path(FITWRIGHT_SOURCE_DIR) / "examples/bushed-block", dir(),
             fs::copy_options::recursive);
    fs::remove(dir() / "plan.json");
    WriteProgram(kDraws);
  }
  void TearDown() override {
    server_.reset();
    fs::remove_all(folder_);
  }

  fs::path dir() const { return folder_ / "project"; }
  void WriteProgram(const std::string& script) const {
    std::ofstream(folder_ / "draws", std::ios::binary) << script;
    fs::permissions(folder_ / "draws", fs::perms::owner_all);
  }

  // A plan of one setup with one step, made from the sheets as they stand.
  void SaveSmallPlan() const {
    Diagnostics faults;
    const auto project = files::LoadProject(dir(), {}, faults);
    ASSERT_TRUE(project) << Format(project.error());
    Plan plan;
    plan.project = project->machine.name;
    plan.version = "test";
    plan.inputs_hash = project->inputs_hash;
    fitwright::Setup setup;
    setup.id = SetupId("s01");
    setup.number = 1;
    setup.machine = MachineToolId("mill");
    setup.parts.push_back({PartId("block"), Pose::Identity(), true});
    Step step;
    step.id = StepId("s01.1");
    step.features = {FeatureRef{PartId("block"), FeatureId("bore")}};
    step.operation = Operation::kBore;
    step.words = "Bore to size, \"slowly\".";
    step.measure = MeasureLine{step.features[0], InstrumentId("bore_gauge"),
                               "measure the bore at two depths", 24, 24.021};
    setup.steps.push_back(step);
    plan.setups.push_back(setup);
    const auto saved = files::SavePlan(dir(), plan);
    ASSERT_TRUE(saved) << Format(saved.error());
  }

  ServerOptions Options() const {
    ServerOptions options;
    options.dir = dir();
    options.version = "test";
    options.solid_program = folder_ / "draws";
    options.cache_folder = folder_ / "cache";
    return options;
  }
  void Serve(const ServerOptions& options) {
    auto server = Server::Start(options);
    ASSERT_TRUE(server) << Format(server.error());
    server_ = *std::move(server);
  }
  void Serve() { Serve(Options()); }
  int port() const { return server_->port(); }

  fs::path folder_;
  std::unique_ptr<Server> server_;
};

}  // namespace fitwright::server
