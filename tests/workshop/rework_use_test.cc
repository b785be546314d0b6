// What a reading changes, asked of a workshop: from the log's events to sentences and JSON.
#include "fitwright/service/rework_use.h"

#include "fitwright/service/lessons_use.h"
#include "tests/workshop/as_schema.h"
#include "tests/workshop/ring_shop.h"

namespace fitwright::workshop_test {
namespace {

TEST(ReadingChanges, OverItsLimitsSaysWhatToDo) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  const auto answer = service::AskChanges(ring.workshop, 1);
  ASSERT_TRUE(answer) << answer.error().message;
  const std::string words = AllOf(service::ChangesWords(ring.workshop, *answer));
  EXPECT_NE(words.find("Measure again, then believe it."), std::string::npos) << words;
  EXPECT_NE(words.find("Pin outside (step 2.1): bring it to "), std::string::npos) << words;
  EXPECT_NE(words.find("Planned was 24.970 to 24.990"), std::string::npos) << words;
  EXPECT_NE(words.find("Fit, clearance: "), std::string::npos) << words;
  EXPECT_NE(words.find("Make to suit it: pin outside to "), std::string::npos) << words;
  EXPECT_NE(words.find("bond a bush in"), std::string::npos) << words;
  EXPECT_NE(words.find("Make ring again from step 1.1"), std::string::npos) << words;
  ExpectAsSchema("changes", service::ChangesToJson(ring.workshop, *answer));
}

TEST(ReadingChanges, JsonForThePage) {
  RingShop ring;
  ring.ReadBore(25.012, "25.012");
  const auto text = service::AnswerReading(ring.workshop, ring.workshop.log.events.back());
  ASSERT_TRUE(text);
  ExpectAsSchema("changes", *text);
  const auto json = nlohmann::json::parse(*text);
  EXPECT_EQ(json["schema"], service::kChangesSchemaId);
  EXPECT_EQ(json["reading"]["number"], "1.1");
  EXPECT_EQ(json["reading"]["counts"], true);
  EXPECT_EQ(json["requirements"].size(), 1U);
  EXPECT_GT(json["requirements"][0]["after"].get<double>(), 0.8);
  EXPECT_TRUE(json["rescue"].empty());
  ASSERT_EQ(json["targets"].size(), 1U);
  EXPECT_EQ(json["targets"][0]["moved"], false);
}

TEST(ReadingChanges, APartRemadeForgetsItsReadings) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  ring.Add(LogKind::kPartRemade, "ring", "").step = StepId();
  EXPECT_FALSE(service::AskChanges(ring.workshop, 1));
  ring.ReadBore(25.012, "25.012");
  const auto answer = service::AskChanges(ring.workshop, 1);
  ASSERT_TRUE(answer);
  EXPECT_GT(answer->changes.requirements[0].before, 0.8) << "the first ring is scrap";
  EXPECT_FALSE(service::AskChanges(ring.workshop, 2)) << "builds are kept apart";
  EXPECT_TRUE(service::AskChanges(ring.workshop, 1, 3));
  EXPECT_FALSE(service::AskChanges(ring.workshop, 1, 2)) << "no reading";
}

TEST(ReadingChanges, InchReadsAsInch) {
  RingShop ring;
  ring.workshop.said_unit = LengthUnit::kInch;
  ring.ReadBore(25.040, "0.98583");
  const auto answer = service::AskChanges(ring.workshop, 1);
  ASSERT_TRUE(answer);
  const std::string words = AllOf(service::ChangesWords(ring.workshop, *answer));
  EXPECT_NE(words.find("Planned was 0.9831 to 0.9839"), std::string::npos) << words;
  EXPECT_NEAR(answer->standing.readings[0].digit_mm, 25.4e-5, 1e-12);
}

TEST(Lessons, ReadingsTeachAndAreCounted) {
  RingShop ring;
  ring.ReadBore(25.019, "25.019");
  const auto lessons = service::AskLessons(ring.workshop, 1);
  ASSERT_TRUE(lessons);
  EXPECT_EQ(lessons->readings_used, 1);
  ASSERT_EQ(lessons->lessons.size(), 1U);
  EXPECT_EQ(lessons->lessons[0].spread, variation::SpreadId::kBoredDiameterLathe);
  ExpectAsSchema("lessons", service::LessonsToJson(ring.workshop, *lessons));
  const auto json = nlohmann::json::parse(service::LessonsToJson(ring.workshop, *lessons));
  EXPECT_EQ(json["spreads"][0]["spread"], "bored_diameter_lathe");
  EXPECT_EQ(json["readings"].size(), 4U);
}

TEST(Lessons, ATestOfTheShopGivesItsLines) {
  const RingShop ring;
  const auto result =
      service::ReckonShopTest(ring.workshop, "turned_diameter",
                              {0.004, -0.006, 0.002, 0.009, -0.003, 0.001, 0.005, -0.004});
  ASSERT_TRUE(result) << result.error().message;
  EXPECT_EQ(result->learned.readings, 8);
  EXPECT_NE(result->shop_lines.find("[spread.turned_diameter]\nspread = 0.0"), std::string::npos);
  EXPECT_FALSE(service::ReckonShopTest(ring.workshop, "no_such_test", {1}));
  EXPECT_FALSE(service::ReckonShopTest(ring.workshop, "turned_diameter", {}));
}

}  // namespace
}  // namespace fitwright::workshop_test
