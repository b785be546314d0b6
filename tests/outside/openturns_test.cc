// Chances of the compressor's requirements against OpenTURNS: the program's named sources and forms go
// out, and what an independent library makes of them must lie in the interval that the program prints.
// Skipped where OpenTURNS is not installed (Debian: python3-openturns, python3-numpy).
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/odds.h"

namespace fitwright {
namespace {

using nlohmann::json;
using variation::Analysis;
using variation::Form;
using variation::Law;
using variation::RequirementForms;
using variation::Source;
using variation::TestKind;

std::string Said(const std::string& command) {
  std::string out;
  FILE* pipe = ::popen(command.c_str(), "r");
  if (pipe == nullptr) return out;
  for (char part[256]; std::fgets(part, sizeof part, pipe) != nullptr;) out += part;
  return ::pclose(pipe) == 0 ? out : std::string();
}

// A Python that has it.
std::string FindPython() {
  for (const char* python : {"python3", "/usr/bin/python3"}) {
    if (!Said(std::string(python) + " -c 'import numpy, openturns; print(1)' 2>/dev/null").empty()) return python;
  }
  return {};
}

// How OpenTURNS is to draw the source; nothing for what is drawn elsewhere (a joint's play). The two
// components of a vector of Rayleigh length in a uniform direction are independent normals; the median
// of the length is sqrt(2 ln 2) of their sigma. A size worked to is told by its rule: the last cut is
// good to half the spread of one made in one go, less what the reading before it adds.
std::optional<json> LawOf(const Analysis& analysis, const Source& source) {
  const variation::Figures& figures = analysis.figures;
  const SpreadFigure& figure = figures[variation::Place(source.spread)];
  const double mean = source.unit * figure.mean;
  const double spread = figure.spread == 0 ? 0 : source.unit * figure.spread + source.extra;
  switch (source.law) {
    case Law::kNormal:
      return json{{"law", "normal"}, {"mean", mean}, {"spread", spread}};
    case Law::kHalfNormal:
      return json{{"law", "half_normal"}, {"mean", mean}, {"spread", spread}};
    case Law::kRayleighX:
    case Law::kRayleighY:
      return json{{"law", "normal"}, {"mean", 0}, {"spread", spread / std::sqrt(2 * std::log(2.0))}};
    case Law::kUniform:
      return json{{"law", "uniform"}, {"mean", 0}, {"spread", spread}};
    case Law::kFromZero:
      return json{{"law", "from_zero"}, {"mean", 0}, {"spread", spread}};
    case Law::kFoldedX:
    case Law::kFoldedY:
      return json{{"law", "folded"}, {"mean", 0}, {"spread", spread}};
    case Law::kChip:
      return json{{"law", "chip"}, {"mean", 0}, {"spread", spread}};
    case Law::kWorked: {
      const variation::WorkedSize& size = analysis.sources.worked()[static_cast<std::size_t>(source.worked)];
      const double reading = figures[variation::Place(size.reading)].spread;
      const double last = 0.5 * source.unit * figures[variation::Place(size.cut)].spread;
      return json{{"law", "worked"}, {"mean", 0}, {"spread", last}, {"reading", reading},
                  {"cut", std::sqrt(std::max(0.0, last * last - reading * reading))},
                  {"low", size.low}, {"high", size.high}, {"safe_sign", size.safe_sign}};
    }
    default:
      return std::nullopt;
  }
}

// Two components of one vector are drawn together: not here.
bool SharesAVector(const Analysis& analysis, const std::map<variation::SourceIndex, std::size_t>& places) {
  std::set<std::uint64_t> keys;
  for (const auto& [index, place] : places) {
    const Source& source = analysis.sources[index];
    const bool folded = source.law == Law::kFoldedX || source.law == Law::kFoldedY;
    if (folded && (!keys.insert(source.key).second || !keys.insert(source.size_key).second)) return true;
  }
  return false;
}

json Limit(double limit) { return std::abs(limit) > 1e100 ? json() : json(limit); }

// The requirement's forms over the sources that it reads; nothing when one of them is of another kind.
std::optional<json> Exported(const Analysis& analysis, const RequirementForms& r, const Requirement& stated) {
  if (!(r.test == TestKind::kLinear && r.linear.size() == 1) && r.test != TestKind::kFormula) return std::nullopt;
  json data{{"lower", Limit(r.lower)}, {"upper", Limit(r.upper)}, {"sources", json::array()}, {"forms", json::array()}};
  data["formula"] = stated.formula ? stated.formula->expression : std::string();
  data["names"] = r.formula ? json(r.formula->names()) : json::array();
  std::map<variation::SourceIndex, std::size_t> places;
  for (const Form& form : r.linear) {
    json terms = json::array();
    for (const variation::Term& term : form.terms) {
      const auto [place, fresh] = places.try_emplace(term.source, places.size());
      if (fresh) {
        const auto law = LawOf(analysis, analysis.sources[term.source]);
        if (!law) return std::nullopt;
        data["sources"].push_back(*law);
      }
      terms.push_back({place->second, term.factor});
    }
    data["forms"].push_back({{"constant", form.constant}, {"terms", terms}});
  }
  if (SharesAVector(analysis, places)) return std::nullopt;
  return data;
}

class OpenTurns : public ::testing::Test {
 protected:
  void SetUp() override {
    python_ = FindPython();
    if (python_.empty()) GTEST_SKIP() << "OpenTURNS is not installed (Debian: python3-openturns, python3-numpy)";
    Diagnostics faults;
    auto project = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/airbrush-compressor", {}, faults);
    ASSERT_TRUE(project) << Format(project.error());
    planner::PlannerOptions options;
    options.search_builds = 64;
    options.final_builds = 100;
    const auto plan = planner::MakePlainPlan(project->machine, project->shop, project->choices, options);
    ASSERT_TRUE(plan) << Format(plan.error());
    const auto analysis = variation::Analyse(project->machine, project->shop, *plan);
    ASSERT_TRUE(analysis) << Format(analysis.error());
    variation::OddsOptions wanted;
    wanted.builds = 20000;
    wanted.shop_band = wanted.causes = false;
    const auto odds = variation::CalcOdds(project->machine, project->shop, *plan, wanted);
    ASSERT_TRUE(odds) << Format(odds.error());
    machine_ = project->machine;
    analysis_ = *analysis;
    odds_ = *odds;
  }

  void ExpectAgree(const std::string& name) {
    for (std::size_t i = 0; i < analysis_.requirements.size(); ++i) {
      const RequirementForms& r = analysis_.requirements[i];
      if (r.name.text() != name) continue;
      const auto data = Exported(analysis_, r, machine_.requirements[i]);
      ASSERT_TRUE(data) << name << " reads more than plain distributions";
      const auto file = std::filesystem::temp_directory_path() / ("fitwright_openturns_" + name + ".json");
      std::ofstream(file) << data->dump();
      std::istringstream said(Said(python_ + " " + FITWRIGHT_SOURCE_DIR + "/tests/outside/openturns_odds.py " + file.string()));
      std::filesystem::remove(file);
      double chance = -1;
      double off = 0;
      ASSERT_TRUE(said >> chance >> off);
      const Chance& printed = odds_.requirements[i].chance;
      std::printf("%s: OpenTURNS %.6f, printed %.6f (%.6f to %.6f)\n", name.c_str(), chance, printed.odds, printed.low, printed.high);
      EXPECT_GE(chance + off, printed.low);
      EXPECT_LE(chance - off, printed.high);
      return;
    }
    FAIL() << "no requirement " << name;
  }

  std::string python_;
  Machine machine_;
  Analysis analysis_;
  Odds odds_;
};

// Linear: a sum of independent errors, by the characteristic function.
TEST_F(OpenTurns, AxesMeet) { ExpectAgree("R2"); }

// Not linear: the volume that the piston sweeps, of a bore brought to size and a throw of two holes.
TEST_F(OpenTurns, SweptVolume) { ExpectAgree("swept_volume"); }

}  // namespace
}  // namespace fitwright
