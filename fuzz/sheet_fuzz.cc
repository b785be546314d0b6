// Any bytes as the one part sheet of a project: read, or refused with faults; never a crash.
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <fstream>

#include "fitwright/files/project.h"

namespace {

const std::filesystem::path& ProjectFolder() {
  static const std::filesystem::path dir = [] {
    const auto made = std::filesystem::temp_directory_path() / "fitwright_sheet_fuzz";
    std::filesystem::create_directories(made / "parts");
    std::ofstream(made / "machine.toml") << "format = \"fitwright-machine/1\"\nname = \"m\"\n[[part]]\nsheet = \"p\"\n";
    return made;
  }();
  return dir;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::ofstream(ProjectFolder() / "parts/p.toml", std::ios::binary)
      .write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
  fitwright::Diagnostics faults;
  (void)fitwright::files::LoadProject(ProjectFolder(), {}, faults);
  return 0;
}
