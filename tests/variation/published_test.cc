// Worked examples of the guides on uncertainty, as formula requirements over sources drawn as the
// odds draw them. Published values from memory, recomputed by quadrature or with 2e7 draws
// elsewhere.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "fitwright/stats/intervals.h"
#include "fitwright/variation/causes.h"
#include "fitwright/variation/compiled_builds.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

struct Input {
  std::string name;
  Law law;
  double middle;
  double spread;  // sigma, or half-width of kUniform
};

constexpr std::array kGroups = {SpreadId::kEdgeFinder, SpreadId::kPaperTouch,
                                SpreadId::kLockShift,  SpreadId::kBoreForm,
                                SpreadId::kCaliper,    SpreadId::kMicrometer};

Analysis Reckoned(const std::string& value, const std::vector<Input>& inputs) {
  Analysis analysis;
  RequirementForms r;
  r.name = RequirementId("value");
  r.kind = RequirementKind::kFormula;
  r.test = TestKind::kFormula;
  r.formula = *Expression::Parse(value);
  for (const std::string& name : r.formula->names()) {
    const auto found =
        std::find_if(inputs.begin(), inputs.end(), [&](const Input& i) { return name == i.name; });
    const auto place = static_cast<std::size_t>(found - inputs.begin());
    const SpreadId group = kGroups[place % kGroups.size()];
    Source source;
    source.key = 1000 + place;
    source.law = found->law;
    source.spread = group;
    source.unit = found->spread;
    analysis.figures[Place(group)].spread = 1;
    Form form = FormOf(analysis.sources.Add(source));
    form.constant = found->middle;
    r.linear.push_back(form);
  }
  analysis.requirements.push_back(std::move(r));
  return analysis;
}

constexpr int kMany = 1 << 18;

std::vector<double> Drawn(const Analysis& analysis) {
  stats::TrialRun run;
  run.trials = kMany;
  std::vector<double> values = MeasuredValues(
      analysis, CompileBuilds(analysis, analysis.figures), analysis.figures, run);
  std::sort(values.begin(), values.end());
  return values;
}

// Five sampling errors of a mean, a sigma and a 95 % end at 2^18 draws: 1, 1 and 2 % of a sigma.
void ExpectDrawn(const std::vector<double>& values, double mean, double sigma, double low,
                 double high) {
  const auto seen = stats::MeanAndSigma(values);
  EXPECT_NEAR(seen.mean, mean, 0.01 * sigma);
  EXPECT_NEAR(seen.sigma, sigma, 0.01 * sigma);
  EXPECT_NEAR(stats::QuantileOfSorted(values, 0.025), low, 0.02 * sigma);
  EXPECT_NEAR(stats::QuantileOfSorted(values, 0.975), high, 0.02 * sigma);
}

// JCGM 101:2008, 9.3: a weight's deviation from 100 g in air, mg; published 1.2341, u 0.0754,
// [1.0834, 1.3825] (shortest); symmetric ends recomputed with 2e7 draws.
TEST(Published, Jcgm101Clause9_3MassCalibration) {
  const Analysis analysis = Reckoned("(m + dm) * (1 + (air - 1.2) * (1 / w - 1 / r)) - 100000",
                                     {{"m", Law::kNormal, 100000, 0.05},
                                      {"dm", Law::kNormal, 1.234, 0.02},
                                      {"air", Law::kUniform, 1.2, 0.1},
                                      {"w", Law::kUniform, 8000, 1000},
                                      {"r", Law::kUniform, 8000, 50}});
  ExpectDrawn(Drawn(analysis), 1.234, 0.0755, 1.0845, 1.3836);
}

// JCGM 101:2008, 9.4: comparison loss x1^2 + x2^2, u = 0.005 each, in 1e-6; closed form by the
// non-central chi-square.
TEST(Published, Jcgm101Clause9_4ComparisonLoss) {
  struct Loss {
    double x1, y, u, low, high;
  };
  for (const Loss& row :
       {Loss{0, 50, 50, 1.26589, 184.44397}, Loss{0.01, 150, 111.8034, 8.54684, 427.12328},
        Loss{0.05, 2550, 502.4938, 1638.4771, 3603.3581}}) {
    SCOPED_TRACE(row.x1);
    const Analysis analysis =
        Reckoned("(x1 ^ 2 + x2 ^ 2) * 1000000",
                 {{"x1", Law::kNormal, row.x1, 0.005}, {"x2", Law::kNormal, 0, 0.005}});
    const std::vector<double> values = Drawn(analysis);
    const auto seen = stats::MeanAndSigma(values);
    EXPECT_NEAR(seen.mean, row.y, 0.01 * row.u);
    // An exponential's sigma is known to sqrt(2) of its own share only: twice as wide.
    EXPECT_NEAR(seen.sigma, row.u, 0.02 * row.u);
    EXPECT_NEAR(stats::QuantileOfSorted(values, 0.025), row.low, 0.02 * row.u);
    // The thin tail of an exponential: density 0.025 a sigma at its end.
    EXPECT_NEAR(stats::QuantileOfSorted(values, 0.975), row.high, 0.07 * row.u);
  }
}

// JCGM 100:2008, H.1: a 50 mm gauge block. To first order u = 31.7 nm (printed 32), shares of it as
// printed; with the products of small quantities 33.9 nm (printed 34).
TEST(Published, GumH1EndGauge) {
  const Analysis analysis =
      Reckoned("ls + d - ls * (da * th + as * dt) / 1000000", {{"ls", Law::kNormal, 50000623, 25},
                                                               {"d", Law::kNormal, 215, 9.7},
                                                               {"da", Law::kNormal, 0, 0.58},
                                                               {"th", Law::kNormal, -0.1, 0.41},
                                                               {"as", Law::kNormal, 11.5, 1.2},
                                                               {"dt", Law::kNormal, 0, 0.029}});
  const auto seen = stats::MeanAndSigma(Drawn(analysis));
  EXPECT_NEAR(seen.mean, 50000838, 0.5);
  EXPECT_NEAR(seen.sigma, 33.9111, 0.01 * 33.9);

  const auto causes = CalcCauses(ShippedShop(), analysis, {});
  const auto share_of = [&](SpreadId id) {
    for (const CauseShare& cause : causes[0]) {
      if (cause.group == GroupOf(id)) return cause.share;
    }
    return 0.0;
  };
  // Printed contributions 25, 9.7, 2.9, 16.6 nm to 0.1 nm.
  const double whole = 31.7106 * 31.7106;
  EXPECT_NEAR(share_of(kGroups[0]), 25.0 * 25.0 / whole, 0.005);
  EXPECT_NEAR(share_of(kGroups[1]), 9.7 * 9.7 / whole, 0.005);
  EXPECT_NEAR(share_of(kGroups[2]), 2.9 * 2.9 / whole, 0.005);
  EXPECT_NEAR(share_of(kGroups[5]), 16.6 * 16.6 / whole, 0.005);
}

// Student's t with nu degrees of freedom as a standard normal over the root of a mean of nu squares
// of others; the normals are named z_NAME and q_NAME_1 up. Adds the inputs and returns the text.
std::string StudentText(const std::string& name, int nu, std::vector<Input>& inputs) {
  inputs.push_back({"z_" + name, Law::kNormal, 0, 1});
  std::string squares;
  for (int i = 1; i <= nu; ++i) {
    inputs.push_back({fmt::format("q_{}_{}", name, i), Law::kNormal, 0, 1});
    squares += fmt::format("{}{} ^ 2", i > 1 ? " + " : "", inputs.back().name);
  }
  return fmt::format("z_{} / sqrt(({}) / {})", name, squares, nu);
}

// Curvilinear trapezoid over -a .. a whose half-width is known to within d (JCGM 101:2008, 6.4.3.2):
// uniform between two ends, of which one is uniform itself.
std::string TrapezoidText(const std::string& name, double a, double d, std::vector<Input>& inputs) {
  inputs.push_back({"e_" + name, Law::kUniform, 0, d});
  inputs.push_back({"u_" + name, Law::kUniform, 0, 1});
  return fmt::format("({} + e_{}) * u_{}", a, name, name);
}

// JCGM 101:2008, 9.5: a 50 mm gauge block against a standard, nm over 50 mm. Published 838, u 36,
// 99 % from 745 to 932; recomputed with 2e7 draws 837.99, 35.806, 744.37 to 931.65 (symmetric).
TEST(Published, Jcgm101Clause9_5GaugeBlock) {
  std::vector<Input> inputs{{"as", Law::kUniform, 11.5, 2},
                            {"t0", Law::kNormal, -0.1, 0.2},
                            {"swing", Law::kUniform, 0, 90}};
  const std::string standard = "(50000623 + 25 * " + StudentText("s", 18, inputs) + ")";
  const std::string difference = "(215 + 6 * " + StudentText("d", 24, inputs) + " + 4 * " +
                                 StudentText("r", 5, inputs) + " + 7 * " +
                                 StudentText("c", 8, inputs) + ")";
  const std::string warm = "(t0 + 0.5 * sin(swing))";  // degrees: an arcsine distribution
  const std::string apart = TrapezoidText("dt", 0.05, 0.025, inputs);
  const std::string alpha = TrapezoidText("da", 1, 0.1, inputs);
  const std::string value = fmt::format(
      "({} * (1 + as * ({} - {}) / 1000000) + {}) / (1 + (as + {}) * {} / 1000000) - 50000000",
      standard, warm, apart, difference, alpha, warm);
  const std::vector<double> values = Drawn(Reckoned(value, inputs));
  const auto seen = stats::MeanAndSigma(values);
  // Five sampling errors of a mean and of a sigma of these tails at 2^18 draws.
  EXPECT_NEAR(seen.mean, 837.99, 0.4);
  EXPECT_NEAR(seen.sigma, 35.806, 0.4);
  // Published ends are good to 2 nm; five sampling errors of a 99.5 % end are 1.2 nm.
  EXPECT_NEAR(stats::QuantileOfSorted(values, 0.005), 744.37, 2);
  EXPECT_NEAR(stats::QuantileOfSorted(values, 0.995), 931.65, 2);
}

// Pressure between a shaft and the hub pressed on it: Lame's thick-walled cylinders as quoted in
// Shigley's Mechanical Engineering Design, 9th ed., 3-16 and 3-56 (from memory; the values were
// computed elsewhere). N/mm2, mm. The interference is what shaft and bore leave, each drawn.
TEST(Published, LamePressFits) {
  struct Fit {
    double d, inner, outer, hub_E, hub_nu, shaft_E, shaft_nu, interference, pressure;
  };
  for (const Fit& fit : {Fit{50, 0, 80, 210000, 0.3, 210000, 0.3, 0.04, 51.1875},
                         Fit{20, 8, 40, 70000, 0.33, 210000, 0.3, 0.02, 29.69896963},
                         Fit{12, 0, 30, 100000, 0.34, 210000, 0.3, 0.015, 60.84840056}}) {
    SCOPED_TRACE(fit.d);
    const std::string value = fmt::format(
        "(shaft - bore) / ({0} * (1 / {1} * (({2} ^ 2 + {0} ^ 2) / ({2} ^ 2 - {0} ^ 2) + {3}) + 1 "
        "/ {4} * (({0} ^ 2 + {5} ^ 2) / ({0} ^ 2 - {5} ^ 2) - {6})))",
        fit.d, fit.hub_E, fit.outer, fit.hub_nu, fit.shaft_E, fit.inner, fit.shaft_nu);
    const double shaft_sigma = 0.002;
    const double bore_half = 0.003;
    const std::vector<double> values =
        Drawn(Reckoned(value, {{"shaft", Law::kNormal, fit.d + fit.interference, shaft_sigma},
                               {"bore", Law::kUniform, fit.d, bore_half}}));
    // The pressure is in proportion to the interference: so is its spread.
    const double sigma = fit.pressure / fit.interference * std::hypot(shaft_sigma, bore_half / std::sqrt(3.0));
    const auto seen = stats::MeanAndSigma(values);
    EXPECT_NEAR(seen.mean, fit.pressure, 0.01 * sigma);
    EXPECT_NEAR(seen.sigma, sigma, 0.01 * sigma);
  }
}

}  // namespace
}  // namespace fitwright::variation
