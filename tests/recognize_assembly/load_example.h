#pragma once

#include <gtest/gtest.h>

#include <string>
#include <utility>

#include "fitwright/files/project.h"

namespace fitwright {

inline Machine Load(const std::string& example) {
  Diagnostics faults;
  auto project =
      files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/" + example, {}, faults);
  EXPECT_TRUE(project.has_value());
  return project ? std::move(project->machine) : Machine{};
}

}  // namespace fitwright
