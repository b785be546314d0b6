// Part sheets made up from a seed: the whole vocabulary of docs/FORMATS.md in sizes that a small shop
// meets, and now and then something that the default shop cannot make. Shared by tests and benchmarks.
#pragma once

#include <cstdint>
#include <set>
#include <string>

namespace fitwright::testing {

struct RandomPart {
  std::string name;             // also the sheet's file name
  std::string sheet;            // the text of parts/NAME.toml
  std::set<std::string> words;  // stock, kinds and special wishes in it, for counting what was covered
};

// A pure function of the seed. Every sheet is one that the reader accepts.
RandomPart MakeRandomPart(std::uint64_t seed);

// machine.toml for one such part alone.
std::string MachineOfOne(const RandomPart& part);

}  // namespace fitwright::testing
