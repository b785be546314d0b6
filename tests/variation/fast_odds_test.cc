// Odds by characteristic functions against builds drawn, for every law and for a plan.
#include "fitwright/variation/fast_odds.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "fitwright/variation/odds.h"
#include "fitwright/variation/outcomes.h"
#include "fitwright/variation/what_if.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation::fast_odds_tests {
namespace {

using namespace fitwright::testing;

constexpr std::int64_t kBuilds = 1 << 17;

Source Of(Law law, std::uint64_t key, std::uint64_t size_key, double unit) {
  Source s;
  s.law = law;
  s.key = key;
  s.size_key = size_key;
  s.unit = unit;
  return s;
}

// Every law twice, the second with the first's length or tool where it has one; a worked size.
Analysis TwoOfEach() {
  Analysis a;
  a.figures[Place(SpreadId::kEdgeFinder)] = {0.05, 0.3};
  a.figures[Place(SpreadId::kBoringHeadDiameter)] = {0, 0.5};
  a.figures[Place(SpreadId::kBoreGauge)] = {0, 0.15};
  std::uint64_t key = 1;
  for (const Law law :
       {Law::kNormal, Law::kHalfNormal, Law::kRayleighX, Law::kRayleighY, Law::kFoldedX,
        Law::kUniform, Law::kFromZero, Law::kLognormal, Law::kChip}) {
    for (int copy = 0; copy < 2; ++copy)
      a.sources.Add(Of(law, key++, 1000 + static_cast<std::uint64_t>(law), 1 + 0.3 * copy));
  }
  WorkedSize size;
  size.cut = SpreadId::kBoringHeadDiameter;
  size.reading = SpreadId::kBoreGauge;
  size.low = -0.2;
  size.high = 0.15;
  Source s = Of(Law::kWorked, key, 0, 1);
  s.spread = size.cut;
  a.sources.AddWorked(s, size);
  return a;
}

RequirementForms Held(Form form, double lower, double upper) {
  RequirementForms r;
  r.name = RequirementId("q");
  r.test = TestKind::kLinear;
  r.linear = {std::move(form)};
  r.lower = lower;
  r.upper = upper;
  return r;
}

double Sampled(const Analysis& analysis, std::size_t requirement) {
  OutcomeMemo memo;
  BuildsWanted wanted;
  wanted.builds = kBuilds;
  const auto answers = Outcomes(analysis, memo).Of({requirement}, wanted);
  return static_cast<double>(CountOf(answers.front()->met)) / static_cast<double>(kBuilds);
}

void ExpectSampled(const Analysis& a, std::size_t r, const std::string& what) {
  LawMemo memo;
  const auto fast = CalcFastOdds(a.sources, a.figures, a.requirements[r], memo);
  ASSERT_TRUE(fast.has_value()) << what;
  const double seen = Sampled(a, r);
  const double sigma = std::sqrt(std::max(1e-5, seen * (1 - seen)) / static_cast<double>(kBuilds));
  EXPECT_NEAR(fast->odds, seen, 4.5 * sigma + 1e-4) << what;
}

TEST(FastOdds, EveryLawHasTheOddsOfTheBuilds) {
  Analysis a = TwoOfEach();
  // Each pair beside one normal, then all together.
  for (SourceIndex s = 2; s + 1 < a.sources.size(); s += 2) {
    Form form = Plus(FormOf(0, 0.3), Plus(FormOf(s, 0.8), FormOf(s + 1, -0.6)));
    form.constant = 0.03;
    a.requirements.push_back(Held(form, -0.15, 0.2));
  }
  Form all;
  for (SourceIndex s = 0; s < a.sources.size(); ++s)
    all.terms.push_back({s, 0.5 - 0.2 * static_cast<double>(s * 7 % 5)});
  a.requirements.push_back(Held(all, -0.3, 0.6));
  for (std::size_t r = 0; r < a.requirements.size(); ++r)
    ExpectSampled(a, r, "requirement " + std::to_string(r));
}

TEST(FastOdds, EqualAndOppositeFormsAreOneQuantity) {
  Analysis a = TwoOfEach();
  RequirementForms r = Held(Plus(FormOf(0), FormOf(2)), -0.5, 0.6);
  r.linear.push_back(Scaled(r.linear.front(), -1));
  r.linear.back().constant = 0.1;
  a.requirements.push_back(r);
  ExpectSampled(a, 0, "opposite");
  a.requirements.front().linear.push_back(FormOf(1));
  EXPECT_FALSE(FindOneQuantity(a.sources, a.requirements.front()).has_value());
}

TEST(FastOdds, FloatsAreHandedOver) {
  Analysis a = TwoOfEach();
  const SourceIndex play = a.sources.Add(Of(Law::kPlay, 500, 0, 1));
  LawMemo memo;
  EXPECT_FALSE(CalcFastOdds(a.sources, a.figures, Held(FormOf(play), 0, 1), memo).has_value());
}

// One coarse uniform by itself ends too slowly to be summed: said, not guessed.
TEST(FastOdds, WhatEndsTooSlowlyIsHandedOver) {
  Analysis a = TwoOfEach();
  LawMemo memo;
  const auto worst = CalcFastOdds(a.sources, a.figures, Held(FormOf(10, 1), -0.1, 0.2), memo);
  if (worst) {
    EXPECT_LE(worst->error, kHandOver);
    EXPECT_NEAR(worst->odds, 0.5, 2 * kHandOver);
  }
}

// A cover on a block: by coordinates or spotted through, the holes wider, in shops between careful
// and worn; those of the hard range are compared with many builds. FITWRIGHT_DEEP: 240 of them,
// 300,000 builds.
struct Tried {
  int shop = 0;
  std::vector<FastOdds> fast;
  std::vector<double> counted;
};

std::vector<Tried> TryTechniques(int shops, std::int64_t builds, std::int64_t fast_builds) {
  std::vector<Tried> all;
  LawMemo laws;
  for (int shop = 0; shop < shops; ++shop) {
    for (const int first : {0, 1, 2, 4}) {  // 0: by coordinates
      for (const double eased : {-0.25, -0.22, -0.19, -0.16, -0.1}) {
        const Machine machine = CoverMachine();
        Project project{
            machine,
            ShippedShop(),
            first == 0 ? CoverByCoordinates(machine) : CoverSpottedThrough(machine, first),
            {{JointId("screws"), eased}}};
        auto analysis = AnalyseProject(project);
        EXPECT_TRUE(analysis);
        analysis->figures = DrawnFigures(project.shop, 11, static_cast<std::uint64_t>(shop));
        Tried one;
        one.shop = shop;
        const auto fast =
            FastJudge(*analysis, {fast_builds}, laws).Of({0, 1, 2}, analysis->figures);
        EXPECT_TRUE(fast);
        one.fast = *fast;
        OddsOptions many;
        many.builds = builds;
        many.seed = 99;
        many.shop_band = many.causes = many.values = many.seldom = false;
        const auto odds = CalcOddsOf(*analysis, project.shop, many);
        EXPECT_TRUE(odds);
        for (const RequirementOdds& r : odds->requirements) one.counted.push_back(r.chance.odds);
        all.push_back(std::move(one));
      }
    }
  }
  return all;
}

TEST(FastOdds, TechniquesAreAsTheBuildsHaveThemAndRankAlike) {
  const bool deep = std::getenv("FITWRIGHT_DEEP") != nullptr;
  const std::vector<Tried> all =
      TryTechniques(deep ? 12 : 1, deep ? 300000 : 4096, deep ? 1 << 15 : 4096);
  double worst_law = 0;
  double worst = 0;
  double squares = 0;
  int hard = 0;
  for (const Tried& t : all) {
    for (std::size_t r = 0; r < t.fast.size(); ++r) {
      const double off = std::abs(t.fast[r].odds - t.counted[r]);
      if (t.fast[r].exact) {
        worst_law = std::max(worst_law, off);
      } else if (t.counted[r] > 0.3 && t.counted[r] < 0.7) {
        worst = std::max(worst, off);
        squares += off * off;
        ++hard;
      }
    }
  }
  int swapped = 0;
  int pairs = 0;
  for (const Tried& a : all) {
    for (const Tried& b : all) {
      if (a.counted[0] - b.counted[0] <= (deep ? 0.01 : 0.06)) continue;
      ++pairs;
      swapped += a.fast[0].odds <= b.fast[0].odds ? 1 : 0;
    }
  }
  if (std::getenv("FITWRIGHT_SHOW") != nullptr) {
    std::printf(
        "%zu techniques: by law worst %.4f; screws in 30-70 (%d) rms %.4f worst %.4f; %d of %d "
        "pairs swapped\n",
        all.size(), worst_law, hard, hard > 0 ? std::sqrt(squares / hard) : 0, worst, swapped,
        pairs);
  }
  const double noise = 4.5 * std::sqrt(0.25 / (deep ? 300000 : 2048));
  EXPECT_LT(worst_law, 0.0005 + noise);
  EXPECT_LT(worst, 0.01 + noise);
  EXPECT_EQ(swapped, 0);
  EXPECT_GT(hard, 0);
  EXPECT_GT(pairs, 0);
}

}  // namespace
}  // namespace fitwright::variation::fast_odds_tests
