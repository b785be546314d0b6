// A project folder read into plain data: machine.toml, parts/*.toml, shop.toml, choices.toml.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/diagnostics.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::files {

struct LoadOptions {
  // Read instead of the project's shop.toml; must exist when given.
  std::optional<std::filesystem::path> shop_file;
  // Overrides the level of the shop read.
  std::optional<ShopLevel> shop_level;
};

struct Project {
  std::filesystem::path dir;
  Machine machine;  // parts complete: faces, hole entries, depths, limits and stock
  Shop shop;
  Choices choices;
  std::vector<std::string> assumed;   // every default taken, one sentence each, in file order
  std::vector<std::string> warnings;  // what looks like a slip but can be read, one sentence each
  std::string inputs_hash;            // 16 hex digits over the bytes of sheets, shop and choices
};

// Reads and checks the whole folder. Every fault found goes to `faults` (the first 50 and a count),
// with file, line, column, key, value as written and a remedy; the Error returned is the first of
// them. Writes nothing. Files are named in faults relative to `dir` ("parts/bush.toml").
Result<Project> LoadProject(const std::filesystem::path& dir, const LoadOptions& options,
                            Diagnostics& faults);

// The default shop: data/default_shop.toml and data/spreads.csv as they stood at the build.
Shop DefaultShop();

// The default shop with the changes that `file` makes to it. Faults as in LoadProject.
Result<Shop> LoadShop(const std::filesystem::path& file, Diagnostics& faults);

}  // namespace fitwright::files
