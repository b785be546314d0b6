// Odds of whole plans: exactness without spreads, monotony, intervals, threads, techniques.
#include "fitwright/variation/odds.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "fitwright/stats/random.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/play_rest.h"
#include "fitwright/variation/outcomes.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

OddsOptions Plain(std::int64_t builds, std::uint64_t seed = 1) {
  OddsOptions options;
  options.builds = builds;
  options.seed = seed;
  options.shop_band = options.causes = false;
  return options;
}

void ExpectSame(const Odds& a, const Odds& b) {
  EXPECT_EQ(a.all.odds, b.all.odds);
  EXPECT_EQ(a.all.low, b.all.low);
  EXPECT_EQ(a.all.shop_low, b.all.shop_low);
  EXPECT_EQ(a.all.shop_high, b.all.shop_high);
  ASSERT_EQ(a.requirements.size(), b.requirements.size());
  for (std::size_t r = 0; r < a.requirements.size(); ++r) {
    EXPECT_EQ(a.requirements[r].chance.odds, b.requirements[r].chance.odds);
    EXPECT_EQ(a.requirements[r].chance.shop_low, b.requirements[r].chance.shop_low);
    EXPECT_EQ(a.requirements[r].mean, b.requirements[r].mean);
    EXPECT_EQ(a.requirements[r].sigma, b.requirements[r].sigma);
    ASSERT_EQ(a.requirements[r].causes.size(), b.requirements[r].causes.size());
    for (std::size_t c = 0; c < a.requirements[r].causes.size(); ++c) {
      EXPECT_EQ(a.requirements[r].causes[c].group, b.requirements[r].causes[c].group);
      EXPECT_EQ(a.requirements[r].causes[c].share, b.requirements[r].causes[c].share);
    }
  }
}

TEST(Odds, SameForAnyNumberOfThreads) {
  const Machine machine = CoverMachine();
  const Plan plan = CoverSpottedThrough(machine, 1);
  OddsOptions options;
  options.builds = 3000;
  options.threads = 1;
  const auto one = CalcOdds(machine, ShippedShop(), plan, options);
  ASSERT_TRUE(one) << Format(one.error());
  for (const int threads : {2, 8}) {
    options.threads = threads;
    const auto many = CalcOdds(machine, ShippedShop(), plan, options);
    ASSERT_TRUE(many);
    ExpectSame(*one, *many);
  }
}

// Without spreads every requirement is met or failed as by hand: the spigot as aimed 29.989, the
// bore 30.007, so 0.018 of play; bore square; screws 0.1365 clear.
TEST(Odds, NoSpreadsNoChance) {
  Machine machine = CoverMachine();
  Shop shop = ShippedShop();
  shop.spread_scale = 0;
  const auto met = CalcOdds(machine, shop, CoverByCoordinates(machine), Plain(256));
  ASSERT_TRUE(met) << Format(met.error());
  EXPECT_EQ(met->all.odds, 1);
  EXPECT_NEAR(met->requirements[1].mean, 0.018, 1e-9);
  EXPECT_EQ(met->requirements[1].sigma, 0);
  EXPECT_EQ(met->requirements[2].mean, 0);
  EXPECT_NEAR(met->requirements[0].mean, -0.5 * (3.2 - 2.927), 1e-6);
  machine.requirements[1].upper = 0.018 - 1e-6;
  const auto failed = CalcOdds(machine, shop, CoverByCoordinates(machine), Plain(256));
  ASSERT_TRUE(failed);
  EXPECT_EQ(failed->requirements[1].chance.odds, 0);
  EXPECT_EQ(failed->all.odds, 0);
  machine.requirements[1].upper = 0.018;
  const auto just = CalcOdds(machine, shop, CoverByCoordinates(machine), Plain(256));
  ASSERT_TRUE(just);
  EXPECT_EQ(just->all.odds, 1);
}

// Same plan, aims, seed: a tighter limit never raises its own odds nor the joint odds.
TEST(Odds, TighteningNeverHelps) {
  Machine machine = CoverMachine();
  const Plan plan = CoverByCoordinates(machine);
  double own = 2;
  double all = 2;
  for (const double upper : {1.2e-3, 0.7e-3, 0.4e-3, 0.2e-3, 0.05e-3}) {
    machine.requirements[2].upper = upper;
    const auto odds = CalcOdds(machine, ShippedShop(), plan, Plain(2000));
    ASSERT_TRUE(odds);
    EXPECT_LE(odds->requirements[2].chance.odds, own);
    EXPECT_LE(odds->all.odds, all);
    own = odds->requirements[2].chance.odds;
    all = odds->all.odds;
  }
  EXPECT_LT(own, 0.5);
}

// Over 100 seeds the 95 % interval covers the long-run value at least 90 times for the joint odds,
// and pooled over the requirements at least 92 in 100.
TEST(Odds, IntervalsCover) {
  Machine machine = CoverMachine(3.1);
  const Plan plan = CoverByCoordinates(machine);
  const auto analysis = Analyse(machine, ShippedShop(), plan);
  ASSERT_TRUE(analysis) << Format(analysis.error());
  const auto long_run = CalcOdds(machine, ShippedShop(), plan, Plain(200000, 987654321));
  ASSERT_TRUE(long_run);
  int joint = 0;
  int pooled = 0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const auto odds = CalcOdds(machine, ShippedShop(), plan, Plain(500, seed));
    ASSERT_TRUE(odds);
    const double truth = long_run->all.odds;
    joint += truth >= odds->all.low && truth <= odds->all.high ? 1 : 0;
    for (std::size_t r = 0; r < 3; ++r) {
      const double one = long_run->requirements[r].chance.odds;
      pooled += one >= odds->requirements[r].chance.low && one <= odds->requirements[r].chance.high
                    ? 1
                    : 0;
    }
  }
  EXPECT_GE(joint, 90);
  EXPECT_GE(pooled, 276);  // 92 in 100 of 300
}

TEST(Odds, ShopBandHoldsTheOddsAndNarrowsWhenMeasured) {
  const Machine machine = CoverMachine(3.1);
  const Plan plan = CoverByCoordinates(machine);
  OddsOptions options = Plain(4000);
  options.shop_band = true;
  const auto loose = CalcOdds(machine, ShippedShop(), plan, options);
  Shop measured = ShippedShop();
  for (auto& [id, spread] : measured.spreads) spread.origin = SpreadOrigin::kMeasured;
  const auto tight = CalcOdds(machine, measured, plan, options);
  Shop stated = ShippedShop();
  for (auto& [id, spread] : stated.spreads) spread.origin = SpreadOrigin::kStated;
  const auto fixed = CalcOdds(machine, stated, plan, options);
  ASSERT_TRUE(loose && tight && fixed);
  for (const auto* odds : {&*loose, &*tight, &*fixed}) {
    EXPECT_LE(odds->all.shop_low, odds->all.odds);
    EXPECT_GE(odds->all.shop_high, odds->all.odds);
  }
  const auto width = [](const Odds& o) { return o.all.shop_high - o.all.shop_low; };
  EXPECT_GT(width(*loose), 2 * width(*tight));
  // What is left with stated figures is the sampling of the virtual shops against the whole.
  EXPECT_LT(width(*fixed), 0.05);
}

TEST(Odds, CausesAddUpAndNameTheWorst) {
  const Machine machine = CoverMachine(3.1);
  Shop shop = ShippedShop();
  shop.spreads["jaw_lift"].usual.spread = 0.08;
  OddsOptions options = Plain(4000);
  options.causes = true;
  const auto odds = CalcOdds(machine, shop, CoverByCoordinates(machine), options);
  ASSERT_TRUE(odds);
  for (const RequirementOdds& r : odds->requirements) {
    double sum = 0;
    ASSERT_FALSE(r.causes.empty());
    for (std::size_t i = 0; i < r.causes.size(); ++i) {
      sum += r.causes[i].share;
      EXPECT_GE(r.causes[i].share, 0);
    }
    EXPECT_NEAR(sum, 1, 1e-9);
    EXPECT_EQ(r.causes.back().group, "rest");
  }
  EXPECT_EQ(odds->requirements[2].causes.front().group, "jaw_lift");
  EXPECT_EQ(odds->requirements[2].causes.front().source, shop.spreads["jaw_lift"].words);
}

// Tight clearance: taking the holes through the cover beats coordinates; wide clearance: no
// difference.
TEST(Odds, SpottingThroughPaysWhereClearanceIsSmall) {
  const Shop shop = ShippedShop();
  const Machine tight = CoverMachine(3.0);
  // A 3.0 drill for the holes and for spotting through them.
  Shop with_drill = shop;
  for (Tool& tool : with_drill.tools) {
    if (tool.name == ToolId("drill_32")) tool.diameter_mm = 3.0;
  }
  const auto numbers = CalcOdds(tight, with_drill, CoverByCoordinates(tight), Plain(4000));
  ASSERT_TRUE(numbers) << Format(numbers.error());
  double last = 0;
  for (const int first : {0, 1, 2}) {
    const auto through =
        CalcOdds(tight, with_drill, CoverSpottedThrough(tight, first), Plain(4000));
    ASSERT_TRUE(through) << Format(through.error());
    EXPECT_GT(through->requirements[0].chance.odds, numbers->requirements[0].chance.odds + 0.05)
        << first;
    last = through->requirements[0].chance.odds;
  }
  EXPECT_GT(last, 0.8);
  for (Tool& tool : with_drill.tools) {
    if (tool.name == ToolId("drill_32")) tool.diameter_mm = 3.9;
  }
  const Machine wide = CoverMachine(3.9);
  const auto a = CalcOdds(wide, with_drill, CoverByCoordinates(wide), Plain(4000));
  const auto b = CalcOdds(wide, with_drill, CoverSpottedThrough(wide, 1), Plain(4000));
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->requirements[0].chance.odds, b->requirements[0].chance.odds, 0.005);
  EXPECT_GT(a->requirements[0].chance.odds, 0.99);
}

// A spotting drill that does not fill the hole it goes through wanders in it.
TEST(Odds, SpottingDrillMustFillTheHole) {
  const Machine machine = CoverMachine();
  Plan plan = CoverSpottedThrough(machine, 0);
  const auto fills = CalcOdds(machine, ShippedShop(), plan, Plain(4000));
  for (fitwright::Setup& setup : plan.setups) {
    for (Step& step : setup.steps) {
      if (step.operation == Operation::kSpotThrough) step.tool = ToolId("drill_25");
    }
  }
  const auto wanders = CalcOdds(machine, ShippedShop(), plan, Plain(4000));
  ASSERT_TRUE(fills && wanders);
  EXPECT_GT(fills->requirements[0].chance.odds, wanders->requirements[0].chance.odds + 0.1);
}

// The fast judge and the full one look at the same model.
TEST(Odds, QuickAgreesWithFull) {
  for (const double clearance : {3.1, 3.2, 3.4}) {
    const Machine machine = CoverMachine(clearance);
    const Plan plan = CoverByCoordinates(machine);
    QuickOptions options;
    options.builds = 4096;
    const auto quick = CalcQuickOdds(machine, ShippedShop(), plan, options);
    const auto full = CalcOdds(machine, ShippedShop(), plan, Plain(40000));
    ASSERT_TRUE(quick && full);
    // Five standard errors of 4096 builds at most.
    EXPECT_NEAR(quick->all, full->all.odds, 0.04);
    for (std::size_t r = 0; r < 3; ++r)
      EXPECT_NEAR(quick->per_requirement[r], full->requirements[r].chance.odds, 0.04);
    EXPECT_GT(quick->scrap_chance, 0);
    EXPECT_GT(quick->rework_min, 0);
    EXPECT_GT(quick->remedy_min, 0);
  }
}

// What is kept from other plans, and read back from bytes, changes no figure.
TEST(Odds, KeptOutcomesChangeNothing) {
  OutcomeMemo kept;
  for (const double clearance : {3.4, 3.2}) {
    const Machine other = CoverMachine(clearance);
    ASSERT_TRUE(CalcOdds(other, ShippedShop(), CoverByCoordinates(other), Plain(2000), &kept));
    ASSERT_TRUE(CalcQuickOdds(other, ShippedShop(), CoverByCoordinates(other), {}, &kept));
  }
  const std::string bytes = kept.ToBytes();
  OutcomeMemo read;
  ASSERT_TRUE(read.AddBytes(bytes));
  EXPECT_FALSE(read.AddBytes(bytes.substr(0, bytes.size() - 1)));
  for (const double clearance : {3.2, 3.1}) {
    const Machine machine = CoverMachine(clearance);
    const Plan plan = CoverByCoordinates(machine);
    const auto fresh = CalcOdds(machine, ShippedShop(), plan, Plain(2000));
    const auto again = CalcOdds(machine, ShippedShop(), plan, Plain(2000), &read);
    const auto quick = CalcQuickOdds(machine, ShippedShop(), plan, {});
    const auto quick_again = CalcQuickOdds(machine, ShippedShop(), plan, {}, &read);
    ASSERT_TRUE(fresh && again && quick && quick_again);
    EXPECT_EQ(fresh->all.odds, again->all.odds);
    EXPECT_EQ(quick->all, quick_again->all);
    EXPECT_EQ(quick->remedy_min, quick_again->remedy_min);
    EXPECT_EQ(quick->rework_min, quick_again->rework_min);
    for (std::size_t r = 0; r < fresh->requirements.size(); ++r) {
      EXPECT_EQ(fresh->requirements[r].chance.odds, again->requirements[r].chance.odds);
      EXPECT_EQ(fresh->requirements[r].sigma, again->requirements[r].sigma);
    }
  }
}

TEST(Odds, QuickRemediesCost) {
  const Machine machine = CoverMachine(3.1);
  const Plan plan = CoverByCoordinates(machine);
  Shop shop = ShippedShop();
  const auto remade = CalcQuickOdds(machine, shop, plan, {});
  shop.remedies.push_back({"screws_enter", "open the holes out by hand", 1, 1});
  const auto mended = CalcQuickOdds(machine, shop, plan, {});
  ASSERT_TRUE(remade && mended);
  EXPECT_LT(mended->remedy_min, remade->remedy_min);
  EXPECT_EQ(mended->all, remade->all);
}

// A part made again the same way fails as often as before: 1 / odds times, ten at most.
TEST(Odds, ARemakeIsRepeatedUntilItFits) {
  RequirementForms forms;
  forms.remake_min = 30;
  EXPECT_DOUBLE_EQ(RemedyMinutes(forms, 1), 30);
  EXPECT_DOUBLE_EQ(RemedyMinutes(forms, 0.5), 60);
  EXPECT_DOUBLE_EQ(RemedyMinutes(forms, 0), 300);
  forms.mend_min = 40;
  forms.mends = 0.75;
  EXPECT_DOUBLE_EQ(RemedyMinutes(forms, 1), 30);           // the remake is cheaper
  EXPECT_DOUBLE_EQ(RemedyMinutes(forms, 0.5), 40 + 15);    // a quarter of 60
}

TEST(Odds, BuildsOutOfRangeAndCancelled) {
  const Machine machine = CoverMachine();
  const Plan plan = CoverByCoordinates(machine);
  const auto few = CalcOdds(machine, ShippedShop(), plan, Plain(10));
  ASSERT_FALSE(few);
  EXPECT_EQ(few.error().code, ErrorCode::kOutOfRange);
  CancelFlag cancel;
  cancel.Cancel();
  OddsOptions options = Plain(2000);
  options.cancel = &cancel;
  const auto stopped = CalcOdds(machine, ShippedShop(), plan, options);
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.error().code, ErrorCode::kStopped);
}

TEST(Odds, BlundersStayOutside) {
  const Machine machine = CoverMachine();
  Shop shop = ShippedShop();
  const auto odds = CalcOdds(machine, shop, CoverByCoordinates(machine), Plain(1000));
  ASSERT_TRUE(odds);
  // Five setups, one with a printed check: 1.5 % each, a third of it with the check.
  EXPECT_NEAR(odds->blunders_expected, 0.015 * (4 + 1.0 / 3), 1e-12);
  shop.spreads["blunder_per_setup"].usual.spread = 50;
  const auto more = CalcOdds(machine, shop, CoverByCoordinates(machine), Plain(1000));
  ASSERT_TRUE(more);
  EXPECT_EQ(more->all.odds, odds->all.odds);
  EXPECT_TRUE(std::any_of(odds->assumed.begin(), odds->assumed.end(), [](const std::string& s) {
    return s.find("heat while cutting") != std::string::npos;
  }));
}

// A float left to chance is uniform over what the limits let in: against plain rejection from a
// large box.
TEST(Play, ChanceIsUniform) {
  PlayCase play;
  play.stream = 99;
  for (int i = 0; i < 3; ++i) {
    ScrewPlane p;
    const double a = 2 * kPi * i / 3 + 0.2;
    p.q = 20 * Vec2(std::cos(a), std::sin(a));
    p.offset = 0.04 * Vec2(std::cos(3 * a + i), std::sin(2 * a));
    p.room = 0.12;
    p.screw = i;
    play.limits.planes.push_back(p);
  }
  constexpr std::uint64_t kDraws = 20000;
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  Eigen::Matrix3d square = Eigen::Matrix3d::Zero();
  for (std::uint64_t b = 0; b < kDraws; ++b) {
    play.build = b;
    PlanarMove m = RestOf(play);
    EXPECT_LE(ExcessAt(play.limits, m), 1e-6);
    m[2] *= 20;
    mean += m / static_cast<double>(kDraws);
    square += m * m.transpose() / static_cast<double>(kDraws);
  }
  Eigen::Vector3d mean_box = Eigen::Vector3d::Zero();
  Eigen::Matrix3d square_box = Eigen::Matrix3d::Zero();
  double in = 0;
  for (std::uint64_t b = 0; in < 20000; ++b) {
    const stats::Pair t = stats::UniformPair(5, b, 0);
    PlanarMove m(0.5 * (t.first - 0.5), 0.5 * (t.second - 0.5),
                 0.025 * (stats::Uniform(5, b, 1) - 0.5));
    if (ExcessAt(play.limits, m) > 0) continue;
    in += 1;
    m[2] *= 20;
    mean_box += m;
    square_box += m * m.transpose();
  }
  mean_box /= in;
  square_box /= in;
  // The box has side 0.5: errors of a mean of 20000 points of sigma 0.06 are 0.0004; five times
  // that.
  EXPECT_LT((mean - mean_box).norm(), 0.004);
  EXPECT_LT((square - square_box).norm(), 0.0006);
}

// Pushed one way a spigot lies on the rim of its play; between two screws it goes as far as the
// first stops it.
TEST(Play, PushedGoesToTheRim) {
  PlayCase play;
  play.kind = FloatKind::kPushed;
  play.push = Vec2(0, -1);
  ScrewPlane disc;
  disc.room = 0.01;
  play.limits.planes = {disc};
  const PlanarMove m = RestOf(play);
  EXPECT_NEAR(m[0], 0, 1e-9);
  EXPECT_NEAR(m[1], -0.01, 1e-9);
}

TEST(Play, AdjustedGoesToTheTargetWithinTheLimits) {
  PlayCase play;
  play.kind = FloatKind::kAdjustedByIndicator;
  ScrewPlane disc;
  disc.room = 0.1;
  play.limits.planes = {disc};
  play.target_values = {0.06};
  const std::vector<std::array<double, 3>> factors = {{0, 1, 0}};
  play.target_factors = factors;
  play.target_tolerances = {0.05};
  EXPECT_NEAR(RestOf(play)[1], -0.06, 1e-9);
  play.target_values = {0.3};
  EXPECT_NEAR(RestOf(play)[1], -0.1, 1e-9);
}

// Returning on its marks: near where it was, never outside what the screws allow.
TEST(Play, ReturnsWithinTheFloat) {
  PlayCase play;
  play.returns = true;
  play.before = PlanarMove(0.09, 0, 0);
  play.residual = PlanarMove(0.05, 0, 0);
  ScrewPlane disc;
  disc.room = 0.1;
  play.limits.planes = {disc};
  EXPECT_NEAR(RestOf(play)[0], 0.1, 1e-9);
}

}  // namespace
}  // namespace fitwright::variation
