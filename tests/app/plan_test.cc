// The whole run on the small example: plan, odds, replay, drawings, STEP.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

#include "fitwright/files/plan_json.h"
#include "fitwright/files/project.h"
#include "fitwright/sheets/report.h"
#include "tests/app/run_program.h"
#include "tests/support/printed_plan.h"
#include "tests/support/svg_page.h"

namespace fitwright::app {
namespace {

// Made once; every test works on the same planned project and leaves it as it was.
class Planned : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    folder_ = new Folder();
    dir_ = folder_->Example("bushed-block");
    ran_ = folder_->Run("plan bushed-block");
    text_ = ReadFile(dir_ / "plan.json");
  }
  static void TearDownTestSuite() { delete folder_; }

  static Folder* folder_;
  static fs::path dir_;
  static Ran ran_;
  static std::string text_;
};
Folder* Planned::folder_ = nullptr;
fs::path Planned::dir_;
Ran Planned::ran_;
std::string Planned::text_;

// Terminal report in mm and in inch against plan.json, figure by figure.
void ExpectPrintedAsPlanned(const fs::path& dir, std::size_t least_figures) {
  Diagnostics faults;
  const auto project = files::LoadProject(dir, {}, faults);
  const auto plan = files::LoadPlan(dir);
  ASSERT_TRUE(project && plan);
  for (const LengthUnit unit : {LengthUnit::kMillimetre, LengthUnit::kInch}) {
    sheets::ReportOptions options;
    options.unit = unit;
    options.width = 120;
    fitwright::testing::PrintedPlan printed(*plan, project->shop, unit, sheets::MakeReport(project->machine, project->shop, *plan, options));
    EXPECT_THAT(printed.Faults(), ::testing::IsEmpty());
    EXPECT_GT(printed.compared(), least_figures);
  }
}

void ExpectReadablePages(const Folder& folder, const std::string& example, const std::string& units) {
  const Ran drawn = folder.Run("draw " + example + " --out pages --units " + units);
  ASSERT_EQ(drawn.status, 0) << drawn.err;
  for (const auto& entry : fs::directory_iterator(folder.path() / "pages"))
    EXPECT_THAT(fitwright::testing::UnreadableOn(ReadFile(entry.path())), ::testing::IsEmpty()) << entry.path();
}

TEST_F(Planned, TheReportReadsAsABook) {
  EXPECT_EQ(ran_.status, 0) << ran_.err << ran_.out.substr(0, 3000);
  for (const char* page : {"Bushed block: build book", "What to do differently", "What to buy",
                           "Order of work", "Setup 1 of", "Will it fit", "What was assumed",
                           "Cautions", "The plan makes every part as drawn"}) {
    EXPECT_NE(ran_.out.find(page), std::string::npos) << page;
  }
  EXPECT_EQ(ran_.out.find('!'), std::string::npos);
  EXPECT_TRUE(ran_.err.empty()) << ran_.err;
}

// The reader of the printed figures finds a plan that was changed behind the print's back.
TEST_F(Planned, APrintThatIsNotThePlansIsFound) {
  Diagnostics faults;
  const auto project = files::LoadProject(dir_, {}, faults);
  auto plan = files::PlanFromJson(text_, "plan.json");
  ASSERT_TRUE(project && plan);
  ExpectPrintedAsPlanned(dir_, 50);
  sheets::ReportOptions options;
  options.width = 120;
  const std::string report = sheets::MakeReport(project->machine, project->shop, *plan, options);
  const auto faults_of = [&](const Plan& other) {
    return fitwright::testing::PrintedPlan(other, project->shop, LengthUnit::kMillimetre, report).Faults().size();
  };
  std::vector<Operation> seen;  // one of each kind
  for (fitwright::Setup& setup : plan->setups) {
    for (Step& step : setup.steps) {
      if (std::find(seen.begin(), seen.end(), step.operation) != seen.end()) continue;
      seen.push_back(step.operation);
      const Step kept = step;
      if (!step.coordinates.empty()) {
        step.coordinates.back().x_mm += 0.002;
        EXPECT_GE(faults_of(*plan), 1U) << kept.id.text();
        step = kept;
      }
      if (step.measure && step.measure->upper_mm > step.measure->lower_mm && !(step.aim && step.aim->kind == AimKind::kFitToMeasured)) {
        step.measure->upper_mm += 0.002;
        EXPECT_GE(faults_of(*plan), 1U) << kept.id.text();
        step = kept;
      }
    }
  }
  plan->odds.requirements.front().chance.odds *= 0.5;
  EXPECT_GE(faults_of(*plan), 1U);
}

TEST_F(Planned, SavedPlanIsReadBackAndTheSameRunGivesTheSameBytes) {
  const auto plan = files::PlanFromJson(text_, "plan.json");
  ASSERT_TRUE(plan) << Format(plan.error());
  EXPECT_EQ(plan->inputs_hash.size(), 16U);
  EXPECT_FALSE(plan->version.empty());
  for (const PlannedPart& part : plan->parts) EXPECT_GT(part.mass_g, 0) << part.name.text();
  for (const char* threads : {"1", "2", "8"}) {
    const Ran again = folder_->RunAnew(std::string("plan bushed-block --json --threads ") + threads);
    EXPECT_EQ(again.out, ReadFile(dir_ / "plan.json")) << threads;
    EXPECT_EQ(again.out, text_) << threads;
  }
}

TEST_F(Planned, TheCompressorsPlanMakesItsParts) {
  folder_->Example("compressor-core");
  const Ran ran = folder_->Run("plan compressor-core");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_EQ(ran.out.find("Do not cut to this plan"), std::string::npos);
  const Ran replayed = folder_->Run("replay compressor-core");
  EXPECT_EQ(replayed.status, 0) << replayed.out;
  ExpectReadablePages(*folder_, "compressor-core", "inch");
  ExpectPrintedAsPlanned(folder_->path() / "compressor-core", 500);
}

// What machinists asked of the pages when they read them: each is said where the compressor wants it.
void ExpectSaid(const std::string& report) {
  const std::string text = std::regex_replace(report, std::regex("\\s+"), " ");
  for (const char* words : {
           // Measured where flat jaws or shallow seats would mislead, and before nothing is left to take off.
           "along the wall that is nearest to the top, and measure with the caliper, one jaw under the pin, the other on the top as it is", "Before the last level measure so again",
           "a plug of 5.000 mm goes in by a thumb, one of 5.012 mm does not", "a slip 1.30 mm thick just goes in",
           "its stylus in the mouth of", "shims under them until an indicator reads alike along it", "A raw side under it may lean, a sawn end does", "nudge it until it runs as true as it goes",
           "First, while it is free, do the measuring of step 1.1, which sets z.",
           // What is laid out before, the sizes as the steps have them.
           "ground pin 5 mm", "soft wire 1 mm", "two blocks of one height, over 66 mm", "pair of parallels 12 mm high",
           // A flange is held in the place of a finished spigot; bonds one after the other; a guard.
           "by flange, 8.0 mm in the jaws, flange face seated", "When what was bonded before has gripped", "Cover the belt, both pulleys",
           "Keep the last level until R1 has been looked at below",
           // Cut so that nothing is led astray or run into.
           "Centre it, in until the 60 degree mouth opens", "Z is read at the tool's left corner", "power off a millimetre short of it, the rest by hand",
           "M3 second and plug taps", "It comes out into a gap at Z -7.8 mm and starts again at Z -16.2 mm",
           "bore is pressed oval between the jaws",
           "a light turn of a countersink by hand in each tapped hole", "Touch the outside on both sides, beside cross hole and what is in it, with the",
           // On the bench.
           "right under the hole, nothing that was joined carrying the blow; drive the slotted spring pin 3 x 18 in flush",
           "a pin of 6 mm has its top 20 mm above what the piece lies on",
           "until its disc end is flush with pin face, by a plate that pin face lies on",
           "until its disc end is flush with front face: front face down on two parallels higher than 66 mm, or on the open jaws of a bench vise with as much free below them, the crankshaft hanging",
           "The limits leave it 0.000 to 0.024 mm on the diameter", "At once, while it can still be moved, look at R6",
           "at most 0.003 mm in 6 mm", "add up what R3 comes to, head gap 0.50 at the top of the stroke: gasket plate,", "59.000 mm drawn, as made at step 4.", "Together 0.500 mm drawn, ________ as measured; 0.350 mm to 0.700 mm will do",
           "it down as fine as it reads, top of liner is cut to suit it in setup", "down to that seat as measured at step 2.",
           "body, foot left and foot right were cut in one go and stay together",
           "touch the first tool on the highest place of body itself, not of what is screwed to it,", "Look at R3: head gap 0.50 at the top of the stroke. 0.350 to 0.700 mm. "
           "All is drawn tight", "Then circlip into its groove in front housing from the spigot end with circlip pliers",
           "the short one that was made with it, both ends rubbed flat, about 4.6 mm long", "One more of these, 4.6 mm long over its ends, for the trial that spacer is cut to suit",
           "where it is out, crank bore is cut as much out the same way, for what counts is that the two are alike within 0.100 mm",
           "or alike within 0.100 mm with what cylinder bore was measured", "shoulder, the floor of seat, is cut as much out the same way, for what counts is what lies between the two, 22.000 mm within 0.072 mm",
           "the cutter passes 0.019 mm from the wall of skirt bore", "never by a pin, a rod or what is bonded on", "Until each is done it does not run", "see by the boxes of its sizes which is off", "A drill pushes outside of the three places",
           "put all of the trial together again, now with the spacer in", "set z to that less the height that the sum gives, about 3.030 mm", "no compressed air: it drives chips into eyes and bearings"}) {
    EXPECT_NE(text.find(words), std::string::npos) << words;
  }
  // A ring is there when it is tried, and an inside circlip stands proud of its bore.
  EXPECT_LT(text.find(": ring "), text.find("Try the ring in ring groove 1"));
  EXPECT_NE(text.find("sprung out against the groove's floor all round, its ears free; a slip 1.30 mm thick just goes in"), std::string::npos);
}

// Every part of the machine: planned, proved on solids, and nothing found against the design.
TEST_F(Planned, TheWholeCompressorsPlanMakesItsParts) {
  folder_->Example("airbrush-compressor");
  const Ran checked = folder_->Run("check airbrush-compressor --deep");
  EXPECT_EQ(checked.status, 0) << checked.out;
  const Ran ran = folder_->Run("plan airbrush-compressor");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_EQ(ran.out.find("Do not cut to this plan"), std::string::npos);
  const Ran replayed = folder_->Run("replay airbrush-compressor");
  EXPECT_EQ(replayed.status, 0) << replayed.out;
  ExpectSaid(ran.out);
  ExpectReadablePages(*folder_, "airbrush-compressor", "mm");
  ExpectPrintedAsPlanned(folder_->path() / "airbrush-compressor", 2000);
}

TEST_F(Planned, OddsAgreeWithThePlanAndMoveWithTheSeed) {
  const Ran same = folder_->Run("odds bushed-block --json");
  ASSERT_EQ(same.status, 0) << same.err;
  const std::regex all("\"all\": ([0-9.e-]+)");
  std::smatch in_plan;
  std::smatch in_odds;
  ASSERT_TRUE(std::regex_search(text_, in_plan, all));
  ASSERT_TRUE(std::regex_search(same.out, in_odds, all));
  EXPECT_EQ(in_plan[1], in_odds[1]);
  const Ran report = folder_->Run("odds bushed-block --builds 2000 --seed 7");
  EXPECT_EQ(report.status, 0);
  EXPECT_NE(report.out.find("From 2000 builds on paper, seed 7"), std::string::npos);
  EXPECT_EQ(report.out.find("older than the sheets"), std::string::npos);
}

TEST_F(Planned, WhatIfSaysBeforeAndAfterAndKnowsItsKeys) {
  const Ran half = folder_->Run("odds bushed-block --builds 500 --what-if jaw_lift=half --what-if bore_square.upper=x1.1");
  ASSERT_EQ(half.status, 0) << half.err;
  EXPECT_NE(half.out.find("0.02 to 0.01 mm"), std::string::npos) << half.out;
  EXPECT_NE(half.out.find("0.5 to 0.55 mrad"), std::string::npos) << half.out;
  EXPECT_NE(half.out.find("As planned"), std::string::npos);
  EXPECT_NE(half.out.find("bore square "), std::string::npos);
  const Ran wrong = folder_->Run("odds bushed-block --what-if jaw_lift");
  EXPECT_EQ(wrong.status, 2);
  const Ran unknown = folder_->Run("odds bushed-block --what-if jaw_lft=1");
  EXPECT_EQ(unknown.status, 2);
  EXPECT_NE(unknown.err.find("jaw_lift = 0.02 mm"), std::string::npos) << unknown.err;
}

TEST_F(Planned, OddsSayWhatWouldLessenTheMissesAndDrawThem) {
  const Ran ran = folder_->Run("odds bushed-block --builds 500 --json --svg " + (dir_ / "odds").string());
  ASSERT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("\"lessen\": [\n    {\"change\": {\"key\": \"jaw_lift\""), std::string::npos) << ran.out;
  EXPECT_TRUE(std::filesystem::exists(dir_ / "odds" / "odds-01-bore_square.svg"));
  std::filesystem::remove_all(dir_ / "odds");
}

TEST_F(Planned, AnOlderPlanIsCalledSo) {
  const std::string kept = ReadFile(dir_ / "machine.toml");
  WriteFile(dir_ / "machine.toml", kept + "\n# changed\n");
  const Ran ran = folder_->Run("odds bushed-block --builds 500");
  WriteFile(dir_ / "machine.toml", kept);
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("older than the sheets"), std::string::npos);
}

TEST_F(Planned, ReplayProvesIt) {
  const Ran ran = folder_->Run("replay bushed-block");
  EXPECT_EQ(ran.status, 0) << ran.out;
  EXPECT_NE(ran.out.find("breaks no rule"), std::string::npos);
  const Ran json = folder_->Run("replay bushed-block --json");
  EXPECT_EQ(json.status, 0);
  EXPECT_NE(json.out.find("\"ok\": true"), std::string::npos);
}

TEST_F(Planned, SpoiltPlanIsAnHonestNo) {
  auto plan = files::PlanFromJson(text_, "plan.json");
  ASSERT_TRUE(plan);
  for (auto& setup : plan->setups) {
    if (setup.steps.size() > 1) setup.steps.erase(setup.steps.begin());
  }
  ASSERT_TRUE(files::SavePlan(dir_, *plan));
  const Ran ran = folder_->Run("replay bushed-block");
  WriteFile(dir_ / "plan.json", text_);
  EXPECT_EQ(ran.status, 1);
  EXPECT_NE(ran.out.find("does not hold"), std::string::npos);
}

TEST_F(Planned, DrawsEverySetup) {
  const auto plan = files::PlanFromJson(text_, "plan.json");
  ASSERT_TRUE(plan);
  const Ran ran = folder_->Run("draw bushed-block --out drawings");
  ASSERT_EQ(ran.status, 0) << ran.err;
  std::size_t pages = 0;
  std::size_t hole_plans = 0;
  std::size_t cut_pages = 0;
  for (const auto& entry : fs::directory_iterator(folder_->path() / "drawings")) {
    const std::string svg = ReadFile(entry.path());
    EXPECT_EQ(svg.rfind("<svg ", 0), 0U) << entry.path();
    EXPECT_NE(svg.find("</svg>"), std::string::npos) << entry.path();
    EXPECT_THAT(fitwright::testing::UnreadableOn(svg), ::testing::IsEmpty()) << entry.path();
    const bool holes = entry.path().string().find("-holes") != std::string::npos;
    const bool cuts = entry.path().string().find("-cuts") != std::string::npos;
    (holes ? hole_plans : cuts ? cut_pages : pages) += 1;
  }
  EXPECT_EQ(pages, plan->setups.size());
  EXPECT_GE(hole_plans, 2U);
  EXPECT_GE(cut_pages, plan->setups.size() - 1);  // all but the bench
}

TEST_F(Planned, DrawsOneSetupAlike) {
  ASSERT_EQ(folder_->Run("draw bushed-block --out drawings").status, 0);
  const Ran ran = folder_->Run("draw bushed-block --out one --setup 2");
  ASSERT_EQ(ran.status, 0) << ran.err;
  std::size_t drawn = 0;
  for (const auto& entry : fs::directory_iterator(folder_->path() / "one")) {
    const std::string name = entry.path().filename();
    EXPECT_EQ(name.rfind("setup-02-", 0), 0U) << name;
    EXPECT_EQ(ReadFile(entry.path()), ReadFile(folder_->path() / "drawings" / name)) << name;
    ++drawn;
  }
  EXPECT_GE(drawn, 1U);
  const Ran none = folder_->Run("draw bushed-block --out none --setup 99");
  EXPECT_EQ(none.status, 2);
  EXPECT_NE(none.err.find("99: the plan has no such setup"), std::string::npos) << none.err;
  EXPECT_FALSE(fs::exists(folder_->path() / "none"));
}

TEST_F(Planned, ExportsAssemblyPartAndPieceInWork) {
  ASSERT_EQ(folder_->Run("export bushed-block --out whole.step").status, 0);
  ASSERT_EQ(folder_->Run("export bushed-block --out bush.step --part bush").status, 0);
  ASSERT_EQ(folder_->Run("export bushed-block --out half.step --part block --after 1.1").status, 0);
  for (const char* file : {"whole.step", "bush.step", "half.step"}) {
    const std::string text = ReadFile(folder_->path() / file);
    EXPECT_EQ(text.rfind("ISO-10303-21;", 0), 0U) << file;
  }
  EXPECT_EQ(folder_->Run("export bushed-block --out x.step --part wheel").status, 2);
  EXPECT_EQ(folder_->Run("export bushed-block --out x.step --part block --after 99.1").status, 2);
}

TEST_F(Planned, InchReportHoldsNoBareMillimetres) {
  const Ran ran = folder_->Run("odds bushed-block --builds 500 --units inch");
  EXPECT_EQ(ran.status, 0);
  EXPECT_FALSE(std::regex_search(ran.out, std::regex("[0-9] ?mm\\b"))) << ran.out;
}

}  // namespace
}  // namespace fitwright::app
