// The compiled plan against the builds it was compiled from: the same joint distribution, fewer
// draws.
#include "fitwright/variation/compiled_builds.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <numeric>
#include <vector>

#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/outcomes.h"
#include "tests/support/part_stack.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr std::int64_t kCompiledBuilds = 1 << 16;
constexpr std::size_t kWords = kCompiledBuilds / 64;

std::vector<Bits> Compiled(const CompiledBuilds& compiled, std::int64_t builds = kCompiledBuilds) {
  stats::TrialRun run;
  run.seed = 3;
  run.trials = builds;
  const std::vector<std::uint64_t> words = stats::RunTrials(compiled.program, run);
  const auto each = static_cast<std::ptrdiff_t>(builds / 64);
  std::vector<Bits> bits;
  for (std::ptrdiff_t o = 0; o < static_cast<std::ptrdiff_t>(compiled.requirements.size()); ++o)
    bits.emplace_back(words.begin() + o * each, words.begin() + (o + 1) * each);
  return bits;
}

// The same builds with every source drawn for itself by the C library's functions.
std::vector<Bits> Sampled(const Analysis& analysis, const std::vector<std::size_t>& requirements) {
  OutcomeMemo memo;
  BuildsWanted wanted;
  wanted.builds = kCompiledBuilds;
  std::vector<Bits> bits;
  for (const auto& outcome : Outcomes(analysis, memo).Of(requirements, wanted))
    bits.push_back(outcome->met);
  return bits;
}

std::int64_t Both(const Bits& a, const Bits& b) {
  std::int64_t count = 0;
  for (std::size_t w = 0; w < kWords; ++w) count += std::popcount(a[w] & b[w]);
  return count;
}

// Two shares of as many builds each, at five sigma of their difference.
void ExpectSameShare(std::int64_t a, std::int64_t b, const std::string& what) {
  const double n = static_cast<double>(kCompiledBuilds);
  const double p = (static_cast<double>(a + b) + 1) / (2 * n + 2);
  EXPECT_NEAR(static_cast<double>(a) / n, static_cast<double>(b) / n,
              5 * std::sqrt(2 * p * (1 - p) / n))
      << what;
}

// Alone and in pairs, so that what requirements share shows.
void ExpectSameOdds(const Analysis& analysis, const CompiledBuilds& compiled) {
  const std::vector<Bits> a = Compiled(compiled);
  const std::vector<Bits> b = Sampled(analysis, compiled.requirements);
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      ExpectSameShare(Both(a[i], a[j]), Both(b[i], b[j]),
                      analysis.requirements[compiled.requirements[i]].name.text() + " and " +
                          analysis.requirements[compiled.requirements[j]].name.text());
    }
  }
}

// Sources of every law, some vectors with a common length, and figures for them.
Analysis EveryLaw() {
  Analysis a;
  a.figures[Place(SpreadId::kEdgeFinder)] = {0.02, 0.3};
  a.figures[Place(SpreadId::kBoringHeadDiameter)] = {0, 0.5};
  a.figures[Place(SpreadId::kBoreGauge)] = {0, 0.15};
  std::uint64_t key = 1;
  for (int copy = 0; copy < 3; ++copy) {
    for (const Law law :
         {Law::kNormal, Law::kHalfNormal, Law::kRayleighX, Law::kRayleighY, Law::kFoldedX,
          Law::kFoldedY, Law::kUniform, Law::kFromZero, Law::kLognormal, Law::kChip}) {
      Source s;
      s.law = law;
      const bool second = law == Law::kRayleighY || law == Law::kFoldedY;
      s.key = second ? key - 1 : key++;
      // The first two Rayleigh vectors have one length.
      s.size_key = law == Law::kRayleighX || law == Law::kRayleighY
                       ? 1000 + static_cast<std::uint64_t>(copy / 2)
                       : 2000 + s.key;
      s.unit = 1 + 0.2 * copy;
      a.sources.Add(s);
    }
    WorkedSize size;
    size.cut = SpreadId::kBoringHeadDiameter;
    size.reading = SpreadId::kBoreGauge;
    size.low = -0.2;
    size.high = 0.3;
    size.safe_sign = copy == 1 ? -1 : 1;
    Source s;
    s.key = key++;
    s.spread = size.cut;
    a.sources.AddWorked(s, size);
  }
  return a;
}

Form FormOver(const Analysis& a, std::size_t start, std::size_t step) {
  Form form;
  form.constant = 0.05 * static_cast<double>(start);
  for (std::size_t s = start; s < a.sources.size(); s += step)
    form.terms.push_back(
        {static_cast<SourceIndex>(s), 0.4 - 0.17 * static_cast<double>(s * 7 % 5)});
  return form;
}

RequirementForms MakeForms(const std::string& name, TestKind test, double lower, double upper) {
  RequirementForms r;
  r.name = RequirementId(name);
  r.test = test;
  r.lower = lower;
  r.upper = upper;
  return r;
}

TEST(CompiledBuilds, EveryLawAndEveryTestHasTheOddsOfTheBuilds) {
  Analysis a = EveryLaw();
  for (std::size_t k = 1; k <= 3; ++k) {
    RequirementForms line = MakeForms("line" + std::to_string(k), TestKind::kLinear, -0.8, 0.9);
    line.linear = {FormOver(a, k, k), Scaled(FormOver(a, k, k), -1), FormOver(a, 0, k + 1)};
    a.requirements.push_back(line);
    RequirementForms length =
        MakeForms("length" + std::to_string(k), TestKind::kMagnitude, -1e300, 1.2);
    length.vectors = {{FormOver(a, k, 2), FormOver(a, k, 3)},
                      {FormOver(a, k, 5), FormOver(a, 0, 4)}};
    if (k == 2) length.linear = {FormOver(a, 3, 4), FormOver(a, 2, 6)};
    a.requirements.push_back(length);
    RequirementForms room = MakeForms("room" + std::to_string(k), TestKind::kClearance, -1, 1.5);
    room.linear = {FormOver(a, k, 2), FormOver(a, k, 3)};
    if (k > 1) room.vectors = {{FormOver(a, k, 3), FormOver(a, k, 6)}};
    room.tilt_length_mm = 0.7;
    a.requirements.push_back(room);
  }
  // Each source alone, at about its middle.
  for (std::size_t s = 0; s < 22; ++s) {
    RequirementForms one = MakeForms("source" + std::to_string(s), TestKind::kLinear, -0.1, 0.2);
    one.linear = {FormOf(static_cast<SourceIndex>(s))};
    a.requirements.push_back(one);
  }
  const CompiledBuilds compiled = CompileBuilds(a, a.figures);
  ExpectSameOdds(a, compiled);
}

// Rows' covariances of the merged normals are those of the forms.
TEST(CompiledBuilds, MergedNormalsHaveTheSameCovariance) {
  Analysis a;
  a.figures[Place(SpreadId::kEdgeFinder)] = {0.01, 0.3};
  for (std::uint64_t s = 0; s < 40; ++s) {
    Source source;
    source.key = s + 1;
    source.unit = 0.5 + 0.03 * static_cast<double>(s);
    a.sources.Add(source);
  }
  for (std::size_t k = 1; k <= 6; ++k) {
    RequirementForms r = MakeForms("r" + std::to_string(k), TestKind::kLinear, -1, 1);
    r.linear = {FormOver(a, k, k)};
    if (k == 6)
      r.linear = {Plus(FormOver(a, 1, 1), FormOver(a, 2, 2), -2)};  // depends on two before
    a.requirements.push_back(r);
  }
  const CompiledBuilds compiled = CompileBuilds(a, a.figures);
  const stats::TrialProgram& p = compiled.program;
  EXPECT_EQ(p.draws.size(), 5U);
  EXPECT_EQ(compiled.sources_read, 39U);
  ASSERT_EQ(p.rows.size(), 6U);
  for (std::size_t i = 0; i < 6; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double wanted = 0;
      const Form& f = a.requirements[i].linear.front();
      const Form& g = a.requirements[j].linear.front();
      for (const Term& t : f.terms) {
        const double sigma = 0.3 * a.sources[t.source].unit;
        wanted += t.factor * FactorOf(g, t.source) * sigma * sigma;
      }
      double got = 0;
      for (std::uint32_t t = 0; t < p.rows[i].terms; ++t) {
        for (std::uint32_t u = 0; u < p.rows[j].terms; ++u) {
          const stats::TrialTerm& x = p.terms[p.rows[i].first_term + t];
          const stats::TrialTerm& y = p.terms[p.rows[j].first_term + u];
          if (x.column == y.column) got += x.factor * y.factor;
        }
      }
      const double sign = (f.terms.front().factor < 0) != (g.terms.front().factor < 0) ? -1 : 1;
      EXPECT_NEAR(sign * got, wanted, 1e-12) << i << " " << j;
    }
  }
}

// Other figures change factors and constants, never what is drawn.
TEST(CompiledBuilds, ShopsHaveTheSameRandomNumbers) {
  const Machine machine = CoverMachine();
  const auto analysis = Analyse(machine, ShippedShop(), CoverSpottedThrough(machine, 1));
  ASSERT_TRUE(analysis) << Format(analysis.error());
  Figures wider = analysis->figures;
  for (std::size_t i = 0; i < wider.size(); ++i)
    wider[i].spread *= 1.1 + 0.05 * static_cast<double>(i % 3);
  const BuildCompiler compiler(*analysis);
  const stats::TrialProgram one = compiler.At(analysis->figures).program;
  const stats::TrialProgram other = compiler.At(wider).program;
  ASSERT_EQ(one.draws.size(), other.draws.size());
  for (std::size_t d = 0; d < one.draws.size(); ++d) {
    EXPECT_EQ(one.draws[d].law, other.draws[d].law);
    EXPECT_EQ(one.draws[d].key, other.draws[d].key);
    EXPECT_EQ(one.draws[d].column, other.draws[d].column);
  }
}

TEST(CompiledBuilds, NothingRandomIsExact) {
  Analysis a = EveryLaw();
  a.figures = {};
  for (const double upper : {0.2, 0.3}) {
    RequirementForms r = MakeForms("r" + std::to_string(upper), TestKind::kLinear, 0, upper);
    r.linear = {FormOver(a, 5, 1)};  // 0.25 with every source at 0
    a.requirements.push_back(r);
  }
  const CompiledBuilds compiled = CompileBuilds(a, a.figures);
  EXPECT_TRUE(compiled.program.draws.empty());
  const std::vector<Bits> bits = Compiled(compiled, 64);
  EXPECT_EQ(bits[0].front(), 0U);
  EXPECT_EQ(bits[1].front(), ~std::uint64_t{0});
}

// A plan: floats, screws and all.
TEST(CompiledBuilds, ACoverSpottedThrough) {
  const Machine machine = CoverMachine();
  const auto analysis = Analyse(machine, ShippedShop(), CoverSpottedThrough(machine, 1));
  ASSERT_TRUE(analysis) << Format(analysis.error());
  const CompiledBuilds compiled = CompileBuilds(*analysis, analysis->figures);
  ASSERT_EQ(compiled.requirements.size(), analysis->requirements.size());
  ExpectSameOdds(*analysis, compiled);
}

// Towers of parts with floats below floats: fewer draws than sources, the same odds.
TEST(CompiledBuilds, TowersOfParts) {
  const Analysis analysis = MakePartStack(12);
  const CompiledBuilds compiled = CompileBuilds(analysis, analysis.figures);
  EXPECT_LT(compiled.program.draws.size(), 0.8 * static_cast<double>(compiled.sources_read));
  ExpectSameOdds(analysis, compiled);
}

// Asked for alone, a requirement has the builds that it has among the others.
TEST(CompiledBuilds, OnlyOneHasTheSameBuilds) {
  const Machine machine = CoverMachine();
  const auto analysis = Analyse(machine, ShippedShop(), CoverSpottedThrough(machine, 1));
  ASSERT_TRUE(analysis) << Format(analysis.error());
  const BuildCompiler compiler(*analysis);
  MetWanted wanted;
  wanted.builds = 1000;
  const auto all = CountMet(compiler, analysis->figures, wanted);
  ASSERT_TRUE(all);
  EXPECT_LE(all->all, *std::min_element(all->met.begin(), all->met.end()));
  for (std::size_t r = 0; r < all->met.size(); ++r) {
    wanted.only = {r};
    wanted.threads = 1 + static_cast<int>(r % 3);
    const auto one = CountMet(compiler, analysis->figures, wanted);
    ASSERT_TRUE(one);
    EXPECT_EQ(one->met[r], all->met[r]);
    EXPECT_EQ(one->all, all->met[r]);
  }
}

}  // namespace
}  // namespace fitwright::variation
