// Any bytes as a CAD file, all the way to a project: read, or refused with an error and nothing
// left behind. A death of the reading process is no finding; of this one it is, and so are a
// success whose project cannot be opened or holds nothing, and anything left after a refusal.
#include <unistd.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "tests/support/read_any.h"
#include "tests/support/step_text.h"

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

namespace {

const std::filesystem::path& Folder() {
  static const std::filesystem::path folder = [] {
    const auto made = std::filesystem::temp_directory_path() /
                      ("fitwright_step_fuzz_" + std::to_string(::getpid()));
    std::filesystem::create_directories(made);
    return made;
  }();
  return folder;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::ofstream(Folder() / "any.step", std::ios::binary)
      .write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
  const std::string wrong = fitwright::testing::ReadAny(Folder(), "any.step");
  if (wrong.empty()) return 0;
  std::fprintf(stderr, "%s\n", wrong.c_str());
  std::abort();
}

// Mostly faults in the file's own terms; plain bytes seldom pass the reader.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size,
                                               std::size_t most, unsigned seed) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const bool whole = text.find("DATA;") != std::string::npos &&
                     text.find("ENDSEC;", text.find("DATA;")) != std::string::npos;
  fitwright::testing::Dice dice(seed);
  if (!whole || dice.Chance(0.2)) return LLVMFuzzerMutate(data, size, most);
  const std::string spoilt = fitwright::testing::Spoilt(text, dice);
  if (spoilt.size() > most) return LLVMFuzzerMutate(data, size, most);
  std::copy(spoilt.begin(), spoilt.end(), data);
  return spoilt.size();
}
