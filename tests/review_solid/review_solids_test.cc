#include "fitwright/review/solid/review_solids.h"

#include <gtest/gtest.h>

#include "../review/spoiled_example.h"

namespace fitwright::review {
namespace {

std::vector<Finding> ReviewDeep(const std::string& example, const std::vector<Change>& changes) {
  auto findings = ReviewSolids(LoadSpoiled(example, changes), {}, WorkOptions{});
  if (findings) return *std::move(findings);
  ADD_FAILURE() << Format(findings.error());
  return {};
}

TEST(ReviewSolids, SoundMachinesGiveNoFinding) {
  for (const std::string& machine : {std::string("bushed-block"), kWhole}) {
    const auto findings = ReviewDeep(machine, {});
    EXPECT_TRUE(findings.empty()) << machine << Listed(findings);
  }
}

// What the closed form says of the sheets shows on their solids too.
TEST(ReviewSolids, FaultsShowOnSolids) {
  const std::string housing = "parts/front_housing.toml";
  const auto findings =
      ReviewDeep(kWhole, {{"parts/body.toml", "count = 6, first = 30", "count = 6, first = 0"},
                          {housing, "count = 6, first = 30", "count = 6, first = 0"},
                          {"parts/driven_pulley.toml", "diameter = 48", "diameter = 80"},
                          {"parts/driven_pulley.toml", "diameter = 50", "diameter = 85"},
                          {"parts/reed_stop.toml", "x = [-3, 20.5]", "x = [-4, 20.5]"},
                          {"parts/reed_stop.toml", "discs = [[0, 0, 6]", "discs = [[0, 0, 8]"}});
  for (const Expected& expected :
       {Expected{Rule::kWallThin, "body.front_holes", "least 1.00 mm"},
        Expected{Rule::kPartsOverlap, "driven_pulley and base_plate", "share"},
        // The stop's root reaches 1 mm past the end of the chamber.
        Expected{Rule::kPartsOverlap, "reed_stop and head", "share 3.84 mm3"}}) {
    EXPECT_TRUE(Names(findings, expected)) << expected.where << Listed(findings);
  }
}

}  // namespace
}  // namespace fitwright::review
