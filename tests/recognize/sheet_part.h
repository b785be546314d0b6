// A part from the text of its sheet.
#pragma once

#include <gtest/gtest.h>

#include <optional>
#include <string>

#include "fitwright/files/project.h"
#include "tests/files/sample_project.h"
#include "tests/support/random_part.h"

namespace fitwright::recognize_test {

inline std::optional<Part> LoadSheet(const std::string& name, const std::string& sheet) {
  testing::RandomPart one;
  one.name = name;
  const files_test::ProjectFolder folder({{"machine.toml", testing::MachineOfOne(one)}, {"parts/" + name + ".toml", sheet}});
  Diagnostics faults;
  const auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault) << "\n" << sheet;
  if (!project) return std::nullopt;
  return project->machine.parts.front();
}

// `features` after the head of a sheet: an envelope, a stock that is not looked at here.
inline std::optional<Part> LoadPart(const std::string& envelope, const std::string& features) {
  return LoadSheet("part", "format = \"fitwright-part/1\"\nmaterial = \"steel\"\nunit = \"mm\"\n\n[envelope]\n" + envelope + "\n" + features);
}

}  // namespace fitwright::recognize_test
