// What comes next, and what a reading means.
#include "fitwright/service/build_words.h"
#include "fitwright/store/build_log_store.h"
#include "tests/workshop/bushed_block.h"

namespace fitwright::workshop_test {
namespace {

std::string Joined(const std::vector<std::string>& lines) {
  std::string all;
  for (const std::string& line : lines) all += line + "\n";
  return all;
}

TEST(Next, GoesThroughThePlanInOrderPieceByPiece) {
  Workplace place;
  std::vector<std::string> order;
  for (std::string next = place.NextUp(); !next.empty() && order.size() < 20; next = place.NextUp()) {
    order.push_back(next);
    place.Done(next.substr(0, next.find(' ')));
    place.now_ms += 3600 * 1000;
  }
  EXPECT_EQ(order, (std::vector<std::string>{"1.1 block", "1.2 block", "1.3 block", "2.1 bush", "3.1 foot",
                                             "3.2 foot", "3.1 foot#2", "3.2 foot#2", "4.1 block", "4.2 block",
                                             "4.3 block"}));
}

TEST(Next, AStepUndoneComesAgainAndAnEarlierOneFirst) {
  const Workplace place;
  place.Done("1");
  EXPECT_EQ(place.NextUp(), "2.1 bush");
  service::RecordUse undone = place.Use("1.2");
  undone.undone = true;
  place.Keep(undone);
  EXPECT_EQ(place.NextUp(), "1.2 block");
}

TEST(Next, BuildsAreKeptApart) {
  const Workplace place;
  place.Done("1");
  EXPECT_EQ(place.NextUp(2), "1.1 block");
  service::RecordUse second = place.Use("1.1");
  second.done = true;
  second.build = 2;
  place.Keep(second);
  EXPECT_EQ(place.NextUp(2), "1.2 block");
  EXPECT_EQ(place.NextUp(1), "2.1 bush");
}

TEST(Next, APartRemadeIsBegunAnewWithWhatItWasPutTo) {
  const Workplace place;
  for (const char* setup : {"1", "2", "3", "3", "4"}) place.Done(setup);
  EXPECT_EQ(place.NextUp(), "");
  service::RecordUse remade = place.Use("");
  remade.remade = "foot#2";
  place.Keep(remade);
  EXPECT_EQ(place.NextUp(), "3.1 foot#2");
  place.Done("3");
  EXPECT_EQ(place.NextUp(), "");
  remade.remade = "bush";
  place.Keep(remade);
  EXPECT_EQ(place.NextUp(), "2.1 bush");
  place.Done("2");
  EXPECT_EQ(place.NextUp(), "4.1 block");
}

TEST(Next, WaitsUntilItHasSetAndSaysWhatToDoMeanwhile) {
  Workplace place;
  for (const char* step : {"1", "2", "4.1", "4.2"}) place.Done(step);
  place.Done("3");
  place.Done("3.1");
  const auto ask = [&] { return *service::AskNext({{place.dir(), std::nullopt, std::nullopt}, 1, place.now_ms}); };
  EXPECT_EQ(place.NextUp(), "3.2 foot#2");
  place.Done("3.2");
  place.now_ms += 59 * 60 * 1000;
  auto answer = ask();
  ASSERT_TRUE(answer.next.step);
  EXPECT_EQ(answer.next.step->place.number(), "4.3");
  ASSERT_EQ(answer.next.step->waits.size(), 1U);
  EXPECT_EQ(answer.next.step->waits[0].until_ms, 1700000000000 + 60 * 60 * 1000);
  EXPECT_FALSE(answer.next.meanwhile);
  place.now_ms += 60 * 1000;
  EXPECT_TRUE(ask().next.step->waits.empty());
}

TEST(Next, MeanwhileIsTheFirstThatWaitsForNothing) {
  Plan plan = ShortPlan();
  std::swap(plan.setups[2], plan.setups[3]);  // the feet last
  Workplace place(plan);
  for (const char* step : {"1", "2", "4.1", "4.2"}) place.Done(step);
  const auto answer = *service::AskNext({{place.dir(), std::nullopt, std::nullopt}, 1, place.now_ms});
  EXPECT_EQ(answer.next.step->place.number(), "4.3");
  ASSERT_TRUE(answer.next.meanwhile);
  EXPECT_EQ(answer.next.meanwhile->place.number(), "3.1");
}

TEST(Next, AnotherPlanKeepsTheWorkThatIsTheSameAndNamesTheRest) {
  const Workplace place;
  place.Done("1");
  place.Done("2");
  Plan other = ShortPlan();
  other.setups.erase(other.setups.begin() + 1);       // no bush
  other.setups[0].steps.erase(other.setups[0].steps.begin());  // its face not cut: 1.2 is now 1.1
  for (std::size_t i = 0; i < other.setups[0].steps.size(); ++i) {
    other.setups[0].steps[i].id = StepId("s1." + std::to_string(i + 1));
  }
  place.Follow(other);
  EXPECT_EQ(place.NextUp(), "3.1 foot");
  const auto answer = *service::AskNext({{place.dir(), std::nullopt, std::nullopt}, 1, place.now_ms});
  ASSERT_EQ(answer.progress.elsewhere.size(), 2U);
  EXPECT_EQ(answer.progress.elsewhere[0].step.text(), "s1.1");
  EXPECT_EQ(answer.progress.elsewhere[1].step.text(), "s2.1");
}

TEST(Record, WithinSaysHowFarAndTheStepIsDone) {
  const Workplace place;
  place.Done("1.1");
  const auto answer = place.Keep(place.Use("1.2", "25.012"));
  ASSERT_TRUE(answer.check);
  EXPECT_EQ(answer.check->verdict, Verdict::kWithin);
  const std::string words = Joined(service::RecordWords(answer));
  EXPECT_NE(words.find("Within its limits, 25.000 to 25.021 mm: 0.012 above the least, 0.009 below the greatest."),
            std::string::npos)
      << words;
  EXPECT_NE(words.find("Step 1.2 is done."), std::string::npos) << words;
  EXPECT_EQ(place.NextUp(), "1.3 block");
  ASSERT_EQ(answer.events.size(), 2U);
  EXPECT_EQ(answer.events[0].reading->instrument.text(), "bore_gauge_35");
  EXPECT_EQ(answer.events[0].reading->feature.text(), "block.bore");
}

TEST(Record, OutsideIsKeptSaidAndLeftOpen) {
  const Workplace place;
  place.Done("1.1");
  const auto under = place.Keep(place.Use("1.2", "24.95"));
  EXPECT_EQ(under.check->verdict, Verdict::kUnder);
  EXPECT_NEAR(under.check->off_mm, 0.05, 1e-9);
  std::string words = Joined(service::RecordWords(under));
  EXPECT_NE(words.find("0.050 under the least."), std::string::npos) << words;
  EXPECT_NE(words.find("metal to take off yet"), std::string::npos) << words;
  EXPECT_EQ(place.NextUp(), "1.2 block");
  const auto over = place.Keep(place.Use("1.2", "25.03"));
  words = Joined(service::RecordWords(over));
  EXPECT_NE(words.find("0.009 over the greatest."), std::string::npos) << words;
  EXPECT_NE(words.find("cannot be put back"), std::string::npos) << words;
  EXPECT_EQ(place.NextUp(), "1.2 block");
  const auto log = store::BuildLogStore::OpenToRead(place.dir() / "build.db");
  ASSERT_TRUE(log);
  EXPECT_EQ(log->Read()->events.size(), 3U);
}

TEST(Record, InchesAsTyped) {
  const Workplace place;
  const auto answer = place.Keep(place.Use("1.2", "0.9847in"));
  EXPECT_EQ(answer.check->verdict, Verdict::kWithin);
  EXPECT_NEAR(answer.events[0].reading->value_mm, 0.9847 * 25.4, 1e-12);
  EXPECT_EQ(answer.events[0].reading->typed, "0.9847in");
  service::RecordUse inch = place.Use("1.2", "0.9843");  // as the inch page prints the least
  inch.open.unit = LengthUnit::kInch;
  const auto least = place.Keep(inch);
  EXPECT_EQ(least.check->verdict, Verdict::kWithin);
  EXPECT_NE(Joined(service::RecordWords(least)).find("0.9843 to 0.9851 in"), std::string::npos)
      << Joined(service::RecordWords(least));
}

TEST(Record, AForgottenUnitIsAskedAfter) {
  const Workplace place;
  const auto answer = place.Keep(place.Use("1.2", "0.9847"));
  EXPECT_EQ(answer.check->verdict, Verdict::kUnder);
  EXPECT_NE(Joined(answer.remarks).find("record 0.9847in"), std::string::npos) << Joined(answer.remarks);
}

TEST(Record, WhatIsMadeToSuitFollowsItsMatesReading) {
  const Workplace place;
  place.Keep(place.Use("1.2", "25.021"));
  place.Keep(place.Use("1.3", "40"));  // the bore's depth is no size of the mate
  const auto fits = place.Keep(place.Use("2.1", "24.982"));
  ASSERT_TRUE(fits.check->limits->mate_mm);
  EXPECT_NEAR(fits.check->limits->lower_mm, 25.021 - 0.041, 1e-9);
  EXPECT_NEAR(fits.check->limits->upper_mm, 25.021 - 0.007, 1e-9);
  EXPECT_EQ(fits.check->verdict, Verdict::kWithin);
  EXPECT_NE(Joined(service::RecordWords(fits)).find("Reckoned from the block bore as measured, 25.021."),
            std::string::npos);
  // 24.975 would have been within what was expected.
  EXPECT_EQ(place.Keep(place.Use("2.1", "24.975")).check->verdict, Verdict::kUnder);
}

TEST(Record, AFeatureOfAnotherPartIsNamedWithItsPart) {
  Plan plan = ShortPlan();
  plan.setups[3].steps[2].measure = Measure("bush", "spigot", "caliper", 0, 0);
  const Workplace place(plan);
  const auto answer = place.Keep(place.Use("4.3", "0.03"));
  EXPECT_EQ(answer.check->verdict, Verdict::kNoLimits);
  const std::string words = Joined(service::RecordWords(answer));
  EXPECT_NE(words.find("Step 4.3, block: bush spigot 0.030 mm"), std::string::npos) << words;
  EXPECT_NE(words.find("no figures"), std::string::npos) << words;
  EXPECT_EQ(place.NextUp(), "1.1 block");
}

TEST(Record, AnotherBuildsMateDoesNotCount) {
  const Workplace place;
  place.Keep(place.Use("1.2", "25.021"));
  service::RecordUse use = place.Use("2.1", "24.975");
  use.build = 2;
  const auto answer = place.Keep(use);
  EXPECT_FALSE(answer.check->limits->mate_mm);
  EXPECT_EQ(answer.check->verdict, Verdict::kWithin);
}

TEST(Record, ByFeatureTakesTheStepWhoseFiguresAreNearest) {
  const Workplace place;
  EXPECT_EQ(place.Keep(place.Use("block.bore", "25.01")).events[0].step.text(), "s1.2");
  EXPECT_EQ(place.Keep(place.Use("block.bore", "40.2")).events[0].step.text(), "s1.3");
}

TEST(Record, CopiesAreKeptApart) {
  const Workplace place;
  service::RecordUse second = place.Use("3.1");
  second.done = true;
  second.copy = 2;
  EXPECT_EQ(place.Keep(second).events[0].part.text(), "foot#2");
  EXPECT_EQ(place.Done("3.1").events[0].part.text(), "foot");
  second.copy = 3;
  EXPECT_EQ(service::Record(second).error().code, ErrorCode::kUnknownCopy);
}

TEST(Record, InstrumentByNameKindOrAsSaid) {
  const Workplace place;
  service::RecordUse use = place.Use("1.2", "25.01");
  use.instrument = "micrometer";
  EXPECT_EQ(place.Keep(use).events[0].reading->instrument.text(), "micrometer_50");
  use.instrument = "caliper";
  EXPECT_EQ(place.Keep(use).events[0].reading->instrument.text(), "caliper");
  use.instrument = "granddads gauge";
  const auto answer = place.Keep(use);
  EXPECT_EQ(answer.events[0].reading->instrument.text(), "granddads gauge");
  EXPECT_NE(Joined(answer.remarks).find("has no granddads gauge"), std::string::npos);
}

TEST(Record, FollowsThePlanThatWasThere) {
  const Workplace place;
  const std::string first = store_test::BytesOf(place.dir() / "plan.json");
  place.Done("1.1");
  Plan other = ShortPlan();
  other.hours_cutting = 7;
  place.Follow(other);
  EXPECT_EQ(place.Done("1.2").events[0].revision, 2);
  const auto log = store::BuildLogStore::OpenToRead(place.dir() / "build.db")->Read();
  ASSERT_TRUE(log);
  ASSERT_EQ(log->revisions.size(), 2U);
  EXPECT_TRUE(log->revisions[0].plan_json == first);
  EXPECT_EQ(place.NextUp(), "1.3 block");
}

TEST(Record, WithSheetsThatCannotBeReadTheReadingIsKeptAllTheSame) {
  const Workplace place;
  store_test::WriteBytes(place.dir() / "parts/bush.toml", "half a shee");
  const auto bare = service::Record(place.Use("1.2", "25.01"));
  ASSERT_FALSE(bare);
  EXPECT_EQ(bare.error().code, ErrorCode::kBadLength);
  EXPECT_EQ(place.Keep(place.Use("1.2", "25.01mm")).check->verdict, Verdict::kWithin);
}

TEST(Record, RefusalsKeepNothing) {
  const Workplace place;
  service::RecordUse nothing = place.Use("1.1");
  service::RecordUse no_part = place.Use("");
  no_part.remade = "crank";
  service::RecordUse no_build = place.Use("1.2", "25");
  no_build.build = 0;
  const std::vector<std::pair<service::RecordUse, ErrorCode>> cases = {
      {place.Use("9.9", "25"), ErrorCode::kUnknownFeature},
      {place.Use("block.nothing", "25"), ErrorCode::kUnknownFeature},
      {place.Use("1.2", "wide"), ErrorCode::kBadLength},
      {place.Use("", "25"), ErrorCode::kUnknownFeature},
      {nothing, ErrorCode::kUsage},
      {no_part, ErrorCode::kUnknownPart},
      {no_build, ErrorCode::kOutOfRange}};
  for (const auto& [use, code] : cases) {
    const auto answer = service::Record(use);
    ASSERT_FALSE(answer) << use.step << " " << use.value;
    EXPECT_EQ(answer.error().code, code) << use.step << " " << Format(answer.error());
  }
  EXPECT_FALSE(fs::exists(place.dir() / "build.db"));
}

TEST(Log, OneFileOutAndInAgain) {
  const Workplace place;
  const Workplace other;
  place.Keep(place.Use("1.2", "25.01"));
  service::RecordUse note = place.Use("1.2");
  note.note = "caf\xC3\xA9 \"quoted\"\nline";
  place.Keep(note);
  const fs::path file = place.parent() / "log.json";
  ASSERT_TRUE(service::ExportLog(place.dir(), file));
  const auto added = service::ImportLog(other.dir(), file);
  ASSERT_TRUE(added) << Format(added.error());
  EXPECT_EQ(added->added, 3U);
  EXPECT_EQ(service::ImportLog(other.dir(), file)->known, 3U);
  const auto one = store::BuildLogStore::OpenToRead(place.dir() / "build.db")->Read();
  const auto two = store::BuildLogStore::OpenToRead(other.dir() / "build.db")->Read();
  ASSERT_TRUE(one && two);
  ASSERT_EQ(one->events.size(), two->events.size());
  for (std::size_t i = 0; i < one->events.size(); ++i) {
    EXPECT_EQ(store_test::Spelt(one->events[i]), store_test::Spelt(two->events[i]));
  }
  EXPECT_TRUE(one->revisions[0].plan_json == two->revisions[0].plan_json);
  EXPECT_EQ(other.NextUp(), "1.1 block");
}

}  // namespace
}  // namespace fitwright::workshop_test
