#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <regex>

#include "fitwright/replay/in_process.h"
#include "fitwright/sheets/solid/picture.h"
#include "tests/support/replay_samples.h"
#include "tests/support/svg_page.h"

namespace fitwright::sheets {
namespace {

struct Drawn {
  std::string setup;
  std::string svg;
  std::string holes;
  std::vector<std::string> cuts;
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
    drawn.push_back({plan.setups[i].id.text(), *svg, *holes, DrawCuts(picture)});
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

TEST(Drawing, EveryLineOfLetteringCanBeRead) {
  for (const LengthUnit unit : {LengthUnit::kMillimetre, LengthUnit::kInch}) {
    for (const Drawn& d : DrawSample(unit)) {
      EXPECT_THAT(fitwright::testing::UnreadableOn(d.svg), ::testing::IsEmpty()) << d.setup;
      EXPECT_THAT(fitwright::testing::UnreadableOn(d.holes), ::testing::IsEmpty()) << d.setup;
      for (const std::string& page : d.cuts) EXPECT_THAT(fitwright::testing::UnreadableOn(page), ::testing::IsEmpty()) << d.setup;
    }
  }
}

TEST(Drawing, UnreadableLetteringIsFound) {
  Svg svg(kPageWidth_mm, kPageHeight_mm, "page");
  svg.Text({20, 50}, 2.5, "first");
  svg.Text({20, 100}, 2.5, "clear of all");
  EXPECT_THAT(fitwright::testing::UnreadableOn(svg.Finish()), ::testing::IsEmpty());
  svg.Text({24, 51}, 2.5, "second");
  svg.Text({20, kPageFoot_mm + 1}, 2.5, "struck through");
  svg.Text({kPageWidth_mm - 20, 70}, 8, "too broad");
  EXPECT_EQ(fitwright::testing::UnreadableOn(svg.Finish()).size(), 3U);
}

// The widths against figures read off the face's own table: 'M' 1767, '0' 1303 of 2048 units.
TEST(Drawing, LetteringIsAsBroadAsTheFacesTableSays) {
  EXPECT_NEAR(TextWidth_mm("M0", 0.72, false), (1767.0 + 1303.0) / 2048, 1e-9);
  EXPECT_NEAR(TextWidth_mm("M0", 0.72, true), (2038.0 + 1425.0) / 2048, 1e-9);
  const auto lines = WrapToWidth("one two three four", 2.5, TextWidth_mm("one two", 2.5));
  EXPECT_THAT(lines, ::testing::ElementsAre("one two", "three", "four"));
}

// Every step of a setup at a machine has its box on the pages of the cuts, and each that measures one for
// the reading.
TEST(Drawing, CutPagesHaveABoxForEachStepAndReading) {
  const Plan plan = samples::SamplePlan(samples::SampleShop());
  const auto& drawn = DrawSample(LengthUnit::kMillimetre);
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    std::string all;
    for (const std::string& page : drawn[i].cuts) all += page;
    if (plan.setups[i].contacts.empty()) continue;
    std::size_t readings = 0;
    for (std::size_t k = 0; k < plan.setups[i].steps.size(); ++k) {
      EXPECT_NE(all.find(fmt::format(">{}.{}</text>", plan.setups[i].number, k + 1)), std::string::npos);
      readings += plan.setups[i].steps[k].measure ? 1 : 0;
    }
    EXPECT_EQ(Count(all, ">MEASURED</text>"), readings);
    EXPECT_GE(Count(all, "<rect "), plan.setups[i].steps.size());
    EXPECT_NE(all.find("Eye protection"), std::string::npos);
    EXPECT_NE(all.find("date ____"), std::string::npos);
  }
}

}  // namespace
}  // namespace fitwright::sheets
