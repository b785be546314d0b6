// An assembly read from its solids is a project that the reader accepts, with every reason beside
// its value.
#include "fitwright/files/project.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "fitwright/files/machine_writer.h"
#include "fitwright/files/part_writer.h"
#include "fitwright/recognize/assembly_reading.h"

namespace fitwright {
namespace {

namespace fs = std::filesystem;
using recognize::AssemblyReading;
using recognize::PlacedReading;

// Every body of the example as a solid of its own.
std::vector<PlacedReading> SolidsOf(const std::string& example) {
  Diagnostics faults;
  const auto project =
      files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/" + example, {}, faults);
  EXPECT_TRUE(project.has_value());
  std::vector<PlacedReading> solids;
  if (!project) return solids;
  const Machine& machine = project->machine;
  for (const auto* uses : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& use : *uses) {
      PlacedReading one;
      one.reading.part = *machine.FindPart(use.part);
      if (one.reading.part.material.empty()) one.reading.part.material = "steel";
      one.reading.part.mirror_of.reset();
      one.reading.inferred.push_back({"material", "the file names none"});
      one.X_WP = use.X_WP;
      solids.push_back(one);
      for (const Pose& copy : use.copies_X_WP) {
        one.X_WP = copy;
        solids.push_back(one);
      }
    }
  }
  return solids;
}

std::vector<files::Remark> Remarks(const std::vector<recognize::Inference>& inferred) {
  std::vector<files::Remark> remarks;
  for (const auto& one : inferred) remarks.push_back({one.where, one.words});
  return remarks;
}

// The sheets of the reading, in a fresh folder that goes away with the object.
class Written {
 public:
  explicit Written(const AssemblyReading& reading)
      : dir_(fs::temp_directory_path() / ("fitwright_assembly_" + std::to_string(::getpid()))) {
    fs::remove_all(dir_);
    fs::create_directories(dir_ / "parts");
    Write("machine.toml", files::WriteMachine(reading.machine, Remarks(reading.inferred)));
    for (std::size_t i = 0; i < reading.machine.parts.size(); ++i) {
      const Part& part = reading.machine.parts[i];
      const std::string file = "parts/" + part.name.text() + ".toml";
      const auto pair =
          std::find_if(reading.mirrors.begin(), reading.mirrors.end(),
                       [&](const recognize::MirrorPair& one) { return one.part == part.name; });
      if (pair != reading.mirrors.end()) {
        Write(file, files::WriteMirror(pair->of, pair->axis));
        continue;
      }
      const auto text = files::WritePart(part, Remarks(reading.parts[i]));
      EXPECT_TRUE(text.has_value()) << part.name.text();
      Write(file, text ? *text : "");
    }
  }
  ~Written() {
    std::error_code ignored;
    fs::remove_all(dir_, ignored);
  }
  const fs::path& dir() const { return dir_; }
  const std::string& machine() const { return machine_; }

 private:
  void Write(const std::string& file, const std::string& text) {
    std::ofstream(dir_ / file, std::ios::binary) << text;
    if (file == "machine.toml") machine_ = text;
  }
  fs::path dir_;
  std::string machine_;
};

class AssemblyProject : public ::testing::TestWithParam<const char*> {};

TEST_P(AssemblyProject, IsAccepted) {
  const auto reading = recognize::ReadAssembly(SolidsOf(GetParam()), "read from its solids");
  ASSERT_TRUE(reading.has_value());
  const Written written(*reading);
  Diagnostics faults;
  const auto project = files::LoadProject(written.dir(), {}, faults);
  std::string words;
  for (const Error& fault : faults.errors()) words += "\n  " + Format(fault);
  ASSERT_TRUE(project.has_value()) << words << "\n" << written.machine();
  EXPECT_EQ(project->machine.joints.size(), reading->machine.joints.size());
  EXPECT_EQ(project->machine.parts.size(), reading->machine.parts.size());
  std::size_t proposed = 0;
  for (std::size_t at = 0; (at = written.machine().find("# proposed: ", at)) != std::string::npos;
       ++at)
    ++proposed;
  EXPECT_GE(proposed, reading->machine.joints.size() + reading->machine.requirements.size());
}

INSTANTIATE_TEST_SUITE_P(Examples, AssemblyProject,
                         ::testing::Values("airbrush-compressor", "compressor-core",
                                           "bushed-block"),
                         [](const auto& one) {
                           std::string name = one.param;
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

}  // namespace
}  // namespace fitwright
