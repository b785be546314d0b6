// One part sheet read, planned and proved: what the tests of made-up parts share.
#pragma once

#include <gtest/gtest.h>

#include <optional>
#include <string>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"
#include "tests/files/sample_project.h"
#include "tests/support/random_part.h"

namespace fitwright::random_parts {

inline planner::PlannerOptions Quick() {
  planner::PlannerOptions options;
  options.search_builds = 64;
  options.threads = 1;
  options.work.budget = 12;  // the search's quality is tested elsewhere; here it has to find a way
  return options;
}

inline std::optional<files::Project> Load(const testing::RandomPart& part) {
  files_test::Texts texts = {{"machine.toml", MachineOfOne(part)}, {"parts/" + part.name + ".toml", part.sheet}};
  if (!part.shop.empty()) texts["shop.toml"] = part.shop;
  const files_test::ProjectFolder folder(texts);
  Diagnostics faults;
  auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault) << "\n" << part.sheet;
  if (!project) return std::nullopt;
  return std::move(*project);
}

inline std::string Words(const ReplayReport& report) {
  std::string text;
  for (const ReplayPart& part : report.parts) {
    text += fmt::format("difference {} mm3\n", part.difference_mm3);
    for (const ReplayViolation& v : part.violations) text += fmt::format("  {} {}: {}\n", v.step.text(), v.rule, v.say);
  }
  return text;
}

}  // namespace fitwright::random_parts
