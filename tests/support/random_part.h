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
  std::string shop;             // shop.toml where the part wants another than the default shop
};

// A pure function of the seed. Every sheet is one that the reader accepts.
RandomPart MakeRandomPart(std::uint64_t seed);

// One that wants the fixed steady, the faceplate, the tailstock set over or an expanding mandrel (its words
// say which), in a stream of its own: a fifth each for rollers, headed shanks, long cones, plates and bushes.
RandomPart MakeHeldPart(std::uint64_t seed);

// machine.toml for one such part alone.
std::string MachineOfOne(const RandomPart& part);

}  // namespace fitwright::testing
