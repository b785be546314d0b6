// Any file read all the way to a project, and what must hold however that ends.
#pragma once

#include <filesystem>
#include <string>

#include "fitwright/files/project.h"
#include "fitwright/service/solid/read_file.h"

namespace fitwright::testing {

// `folder` holds the file alone. Empty, or what is wrong: a success whose project cannot be opened
// or holds nothing, an error without words, anything left behind. The project is taken away again.
// Files that refer to themselves keep the reader until its time is over, so that it gets little.
inline std::string ReadAny(const std::filesystem::path& folder, const std::string& file,
                           bool* was_read = nullptr) {
  namespace fs = std::filesystem;
  const fs::path project = folder / "project";
  const auto read =
      service::ReadFile({folder / file, project, "steel", {}, {}, {.seconds = 5, .memory_mb = 2048}});
  if (was_read != nullptr) *was_read = read.has_value();
  std::string wrong;
  if (read) {
    Diagnostics faults;
    const auto opened = files::LoadProject(project, {}, faults);
    if (!opened)
      wrong = "read, and cannot be opened: " +
              Format(faults.empty() ? opened.error() : faults.errors().front());
    if (opened && opened->machine.parts.empty() && opened->machine.bought.empty())
      wrong = "read, and holds nothing";
    fs::remove_all(project);
  } else if (read.error().message.empty() || read.error().remedy.empty()) {
    wrong = "refused without words: " + Format(read.error());
  }
  for (const auto& left : fs::directory_iterator(folder)) {
    if (left.path().filename() != file) wrong += " left behind: " + left.path().string();
  }
  return wrong;
}

}  // namespace fitwright::testing
