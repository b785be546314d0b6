#include "fitwright/service/lessons_use.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/rework/shop_tests.h"
#include "fitwright/service/book_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using rework::LearnedFigure;
using rework::Lesson;
using rework::Lessons;
using rework::MachineDrift;
using rework::SaidAndTrue;
using sheets::Tone;
using variation::IdOf;
using variation::SpreadId;

const Spread* RowOf(const Shop& shop, SpreadId id) {
  const auto it = shop.spreads.find(std::string(IdOf(id)));
  return it == shop.spreads.end() ? nullptr : &it->second;
}

// Figures of a lesson are in mm or rad; the row has its own unit.
double InRow(const Shop& shop, SpreadId id, double figure) {
  const Spread* row = RowOf(shop, id);
  return row == nullptr ? figure : figure / variation::UnitFactor(row->unit);
}
std::string UnitOf(const Shop& shop, SpreadId id) {
  const Spread* row = RowOf(shop, id);
  return row == nullptr ? "mm" : row->unit;
}

// Two figures that mean something.
std::string Short(double value) { return fmt::format("{:.2g}", value); }

std::string ShopLines(SpreadId id, double figure) {
  return fmt::format("[spread.{}]\nspread = {}\nmeasured = true\n", IdOf(id), Short(figure));
}

// Below this a figure says less than its prior did.
bool IsWorthKeeping(const LearnedFigure& learned) {
  return learned.readings >= learned.prior.readings;
}

std::string LessonText(const Shop& shop, const Lesson& lesson) {
  const LearnedFigure& l = lesson.learned;
  const auto in = [&](double figure) { return Short(InRow(shop, lesson.spread, figure)); };
  return fmt::format(
      "{}: {} {} ({} to {}) from {} reading{}; {} before ({} to {}), which counts as {:.0f}.",
      sheets::Capital(sheets::WithoutBrackets(variation::WordsOfSpread(shop, lesson.spread))),
      in(l.figure), UnitOf(shop, lesson.spread), in(l.low), in(l.high), l.readings,
      l.readings == 1 ? "" : "s", in(l.prior.figure), in(l.prior_low), in(l.prior_high),
      l.prior.readings);
}

std::string DriftText(const Workshop& w, const MachineDrift& d) {
  const Shop& shop = w.opened->project.shop;
  const MachineTool* machine = shop.Find(d.machine);
  const std::string name =
      machine == nullptr || machine->words.empty() ? d.machine.text() : machine->words;
  const double by = d.drift.walks ? d.drift.per_reading : d.drift.mean;
  return fmt::format(
      "{}, {}: {} {} {} {} over {} readings; by luck {:.1g} times in 100. Look at it before the "
      "next "
      "fit.",
      sheets::Capital(name), sheets::WithoutBrackets(variation::WordsOfSpread(shop, d.spread)),
      d.drift.walks ? "walks by" : "stands off by", sheets::FineLength(by * d.sigma_mm, w.unit()),
      UnitWord(w.unit()), d.drift.walks ? "a reading" : "on average", d.readings,
      100 * d.drift.chance);
}

std::string SaidText(const SaidAndTrue& row, std::string_view of) {
  return fmt::format("Said {:.0f} in 100: {} of {} {} ({:.0f} to {:.0f} in 100){}.", 100 * row.said,
                     row.came_true, row.times, of, 100 * row.interval.low, 100 * row.interval.high,
                     row.is_honest() ? "" : "; that is not what was said");
}

}  // namespace

Result<Lessons> AskLessons(const Workshop& workshop, int build) {
  const auto standing = StandingOf(workshop, build);
  if (!standing) return Unexpected(standing.error());
  return rework::CalcLessons(*standing);
}

namespace {

// Lines for shop.toml, where readings outweigh what was assumed.
std::string LearnedLines(const Shop& shop, const Lessons& lessons) {
  std::string lines;
  for (const Lesson& lesson : lessons.lessons) {
    if (IsWorthKeeping(lesson.learned))
      lines += ShopLines(lesson.spread, InRow(shop, lesson.spread, lesson.learned.figure));
  }
  return lines;
}

sheets::Book LessonsBook(const Workshop& w, const Lessons& lessons) {
  const Shop& shop = w.opened->project.shop;
  sheets::Book book;
  const auto say = [&](std::string text, Tone tone = Tone::kPlain) {
    book.pieces.emplace_back(sheets::Paragraph{std::move(text), tone});
  };
  book.pieces.emplace_back(sheets::Heading{2, "What the readings teach",
                                           fmt::format("{} count", lessons.readings_used)});
  if (lessons.lessons.empty()) say("No reading yet shows one spread of the shop by itself.");
  for (const Lesson& lesson : lessons.lessons) say(LessonText(shop, lesson));
  for (const MachineDrift& drift : lessons.drifts) say(DriftText(w, drift), Tone::kLook);
  book.pieces.emplace_back(sheets::Heading{2, "Is it honest?", ""});
  if (lessons.readings_used == 0) say("Nothing was read yet.");
  for (const SaidAndTrue& row : lessons.readings) {
    if (row.times > 0) say(SaidText(row, "readings came within the range"));
  }
  if (lessons.requirements.times > 0)
    say(SaidText(lessons.requirements, "requirements that the readings have settled hold"));
  return book;
}

}  // namespace

std::string LessonsText(const Workshop& w, const Lessons& lessons,
                        const sheets::ReportOptions& options) {
  std::string text = sheets::RenderText(LessonsBook(w, lessons), {options.width, options.colour});
  const std::string lines = LearnedLines(w.opened->project.shop, lessons);
  if (!lines.empty())
    text += "\nFor shop.toml, where readings outweigh what was assumed:\n\n" + lines;
  return text;
}

namespace {

std::string LearnedToJson(const Shop& shop, const Lesson& lesson) {
  const LearnedFigure& l = lesson.learned;
  const auto in = [&](double figure) { return InRow(shop, lesson.spread, figure); };
  return fmt::format(
      "{{\"spread\": {}, \"unit\": {}, \"readings\": {}, \"figure\": {}, \"low\": {}, \"high\": "
      "{}, "
      "\"prior\": {}, \"prior_low\": {}, \"prior_high\": {}, \"prior_readings\": {}, \"say\": {}}}",
      JsonString(IdOf(lesson.spread)), JsonString(UnitOf(shop, lesson.spread)), l.readings,
      in(l.figure), in(l.low), in(l.high), in(l.prior.figure), in(l.prior_low), in(l.prior_high),
      l.prior.readings, JsonString(LessonText(shop, lesson)));
}

std::string SaidToJson(const SaidAndTrue& row) {
  return fmt::format(
      "{{\"said\": {}, \"times\": {}, \"came_true\": {}, \"low\": {}, \"high\": {}, \"honest\": "
      "{}}}",
      row.said, row.times, row.came_true, row.interval.low, row.interval.high,
      row.times == 0 || row.is_honest());
}

}  // namespace

std::string LessonsToJson(const Workshop& w, const Lessons& lessons) {
  const Shop& shop = w.opened->project.shop;
  return fmt::format(
      "{{\n  \"schema\": \"{}\",\n  \"readings_used\": {},\n  \"spreads\": {},\n  \"drifts\": {},\n"
      "  \"readings\": {},\n  \"requirements\": {}\n}}\n",
      kLessonsSchemaId, lessons.readings_used,
      JsonLines(lessons.lessons, [&](const Lesson& l) { return LearnedToJson(shop, l); }),
      JsonLines(lessons.drifts,
             [&](const MachineDrift& d) {
               return fmt::format(
                   "{{\"machine\": {}, \"spread\": {}, \"walks\": {}, \"by_mm\": {}, \"readings\": "
                   "{}, "
                   "\"chance\": {}, \"say\": {}}}",
                   JsonString(d.machine.text()), JsonString(IdOf(d.spread)), d.drift.walks,
                   (d.drift.walks ? d.drift.per_reading : d.drift.mean) * d.sigma_mm, d.readings,
                   d.drift.chance, JsonString(DriftText(w, d)));
             }),
      JsonLines(lessons.readings, SaidToJson), SaidToJson(lessons.requirements));
}

namespace {

sheets::Book ShopTestsBook() {
  sheets::Book book;
  book.pieces.emplace_back(
      sheets::Heading{2, "What does this shop hold?", "a dozen tests, an hour each at most"});
  book.pieces.emplace_back(sheets::Paragraph{
      "Each finds one figure of the shop. Write the numbers down, then: fitwright trials DIR NAME "
      "NUMBER NUMBER ... says the figure and the lines for shop.toml.",
      Tone::kPlain});
  int number = 0;
  for (const rework::ShopTest& test : rework::ShopTests()) {
    book.pieces.emplace_back(
        sheets::Heading{3, fmt::format("{}. {}", ++number, IdOf(test.spread)),
                        fmt::format("{} min, {} numbers", test.minutes, test.readings)});
    book.pieces.emplace_back(sheets::Entry{"Needs", std::string(test.needs) + ".", Tone::kPlain});
    book.pieces.emplace_back(sheets::Entry{"Do", std::string(test.work), Tone::kPlain});
    book.pieces.emplace_back(sheets::Entry{"Write", std::string(test.write), Tone::kPlain});
    std::string lines;
    for (int i = 0; i < test.readings; ++i) lines += i == 0 ? "______" : "  ______";
    book.pieces.emplace_back(sheets::Entry{"", lines, Tone::kPlain});
  }
  return book;
}

}  // namespace

std::string ShopTestsText(const sheets::ReportOptions& options) {
  return sheets::RenderText(ShopTestsBook(), {options.width, options.colour});
}

std::string LearningToJson(const Workshop& w, const Lessons& lessons) {
  return fmt::format(
      "{{\"schema\":\"{}\",\"readings_used\":{},\"pieces\":{},\"shop_lines\":{},\"tests\":{}}}\n",
      kLearningSchemaId, lessons.readings_used, JsonLines(LessonsBook(w, lessons).pieces, PieceToJson),
      JsonString(LearnedLines(w.opened->project.shop, lessons)),
      JsonLines(ShopTestsBook().pieces, PieceToJson));
}

Result<TestResult> ReckonShopTest(const Workshop& workshop, const std::string& spread,
                                  const std::vector<double>& written) {
  const rework::ShopTest* test = rework::FindShopTest(spread);
  if (test == nullptr || written.empty()) {
    return Unexpected(
        Error{ErrorCode::kUsage,
              test == nullptr ? "there is no such test" : "no number was given",
              spread,
              "take a name from the page that 'fitwright trials DIR' prints, and what "
              "was written down",
              {}});
  }
  const Shop& shop = workshop.opened ? workshop.opened->project.shop : Shop{};
  const Spread* row = RowOf(shop, test->spread);
  if (row == nullptr) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "the shop has no such row",
                            spread,
                            "see that the sheets can be read: 'fitwright check DIR'",
                            {}});
  }
  std::vector<rework::Deviation> deviations;
  for (const double off : written) {
    rework::Deviation d;
    d.off = off;
    d.share = test->share;
    deviations.push_back(d);
  }
  const auto prior = rework::PriorOf(row->usual.spread, row->careful.spread, row->worn.spread);
  TestResult result{spread, row->unit, rework::Learn(prior, deviations), ""};
  result.shop_lines = ShopLines(test->spread, result.learned.figure);
  return result;
}

std::string TestResultText(const TestResult& result, const sheets::ReportOptions& options) {
  const LearnedFigure& l = result.learned;
  sheets::Book book;
  book.pieces.emplace_back(sheets::Heading{2, result.spread, ""});
  book.pieces.emplace_back(sheets::Paragraph{
      fmt::format("{} {} ({} to {}) from {} numbers; {} before ({} to {}), which counts as {:.0f}.",
                  Short(l.figure), result.unit, Short(l.low), Short(l.high), l.readings,
                  Short(l.prior.figure), Short(l.prior_low), Short(l.prior_high), l.prior.readings),
      Tone::kPlain});
  return sheets::RenderText(book, {options.width, options.colour}) + "\nFor shop.toml:\n\n" +
         result.shop_lines;
}

}  // namespace fitwright::service
