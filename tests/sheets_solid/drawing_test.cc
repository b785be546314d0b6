#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <regex>

#include "fitwright/replay/in_process.h"
#include "fitwright/sheets/solid/picture.h"
#include "tests/support/replay_samples.h"

namespace fitwright::sheets {
namespace {

struct Drawn {
  std::string setup;
  std::string svg;
  std::string holes;
};

const std::vector<Drawn>& DrawSample(LengthUnit unit) {
  static std::map<LengthUnit, std::vector<Drawn>> kept;
  std::vector<Drawn>& drawn = kept[unit];
  if (!drawn.empty()) return drawn;
  const Shop shop = samples::SampleShop();
  const Machine machine = samples::SampleMachine();
  const Plan plan = samples::SamplePlan(shop);
  const auto pieces = replay::MakeSetupPieces(machine, shop, plan);
  EXPECT_TRUE(pieces);
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    SetupPicture picture{machine, shop, plan, plan.setups[i], {}, {}, unit};
    for (const auto& piece : (*pieces)[i].before) picture.before_P.push_back(piece.solid_P);
    for (const auto& piece : (*pieces)[i].after) picture.after_P.push_back(piece.solid_P);
    const auto svg = DrawSetup(picture);
    const auto holes = DrawHolePlan(picture);
    EXPECT_TRUE(svg && holes);
    drawn.push_back({plan.setups[i].id.text(), *svg, *holes});
  }
  const std::filesystem::path folder = std::filesystem::path(FITWRIGHT_BINARY_DIR) / "drawings";
  std::filesystem::create_directories(folder);
  for (const Drawn& d : drawn) {
    std::ofstream(folder / (d.setup + ".svg")) << d.svg;
    if (!d.holes.empty()) std::ofstream(folder / (d.setup + "-holes.svg")) << d.holes;
  }
  return drawn;
}

std::size_t Count(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
    ++count;
  }
  return count;
}

TEST(Drawing, EverySetupHasItsPage) {
  const auto& drawn = DrawSample(LengthUnit::kMillimetre);
  ASSERT_FALSE(drawn.empty());
  for (const Drawn& d : drawn) {
    EXPECT_EQ(Count(d.svg, "<svg "), 1U);
    EXPECT_EQ(Count(d.svg, "<g "), Count(d.svg, "</g>")) << d.setup;
    EXPECT_EQ(Count(d.svg, "<clipPath "), Count(d.svg, "</clipPath>")) << d.setup;
    EXPECT_GT(Count(d.svg, "stroke-width=\"0.5\""), 10U) << d.setup;   // edges of the piece
    EXPECT_EQ(d.svg.find("nan"), std::string::npos) << d.setup;
    EXPECT_EQ(d.svg.find("inf\""), std::string::npos) << d.setup;
  }
}

TEST(Drawing, HolePlanReadsAsTheDials) {
  const auto& drawn = DrawSample(LengthUnit::kMillimetre);
  std::size_t plans = 0;
  for (const Drawn& d : drawn) plans += d.holes.empty() ? 0U : 1U;
  EXPECT_GE(plans, 1U);
}

TEST(Drawing, InchPageSaysInchAndHoldsFourDecimals) {
  for (const Drawn& d : DrawSample(LengthUnit::kInch)) {
    EXPECT_NE(d.svg.find(">in</text>"), std::string::npos);
    if (d.holes.empty()) continue;
    EXPECT_NE(d.holes.find("X in"), std::string::npos);
    EXPECT_TRUE(std::regex_search(d.holes, std::regex(">-?[0-9]+\\.[0-9]{4}</text>")));
  }
}

}  // namespace
}  // namespace fitwright::sheets
