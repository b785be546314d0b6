// The shop learns: what the readings of a build teach, whether what was said came true, and the
// tests by which a shop finds its own figures.
#pragma once

#include <string>
#include <vector>

#include "fitwright/rework/lessons.h"
#include "fitwright/service/build_use.h"
#include "fitwright/sheets/report.h"

namespace fitwright::service {

inline constexpr std::string_view kLessonsSchemaId = "fitwright-lessons/1";

// Of all readings of one build that count. Errors: as AskChanges, but that none is needed.
Result<rework::Lessons> AskLessons(const Workshop& workshop, int build);
std::string LessonsText(const Workshop& workshop, const rework::Lessons& lessons,
                        const sheets::ReportOptions& options);
// See schemas/lessons.schema.json.
std::string LessonsToJson(const Workshop& workshop, const rework::Lessons& lessons);

inline constexpr std::string_view kLearningSchemaId = "fitwright-learning/1";
// For the page: {schema, readings_used, pieces: as the book has them, what the readings teach and
// whether what was said came true, shop_lines: for shop.toml, tests: pieces of the page of tests}.
std::string LearningToJson(const Workshop& workshop, const rework::Lessons& lessons);

// The page of tests, to be printed.
std::string ShopTestsText(const sheets::ReportOptions& options);
// What was written down at one of them, in the row's own unit: the figure that follows and the
// lines for shop.toml. Errors: kUsage for a test that there is not, or without numbers.
struct TestResult {
  std::string spread;
  std::string unit;
  rework::LearnedFigure learned;
  std::string shop_lines;
};
Result<TestResult> ReckonShopTest(const Workshop& workshop, const std::string& spread,
                                  const std::vector<double>& written);
std::string TestResultText(const TestResult& result, const sheets::ReportOptions& options);

}  // namespace fitwright::service
