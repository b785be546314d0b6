#include "fitwright/service/why.h"

#include <fmt/format.h>

#include <cmath>

#include "fitwright/service/build_progress.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/kept_outcomes.h"
#include "fitwright/service/left_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/sheet_model.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"
#include "fitwright/store/build_log_store.h"

namespace fitwright::service {
namespace {

std::string Stop(std::string text) {
  if (!text.empty() && text.back() != '.') text += '.';
  return text;
}

std::string FiguresOf(const planner::WhyWay& way) {
  return fmt::format("{:.1f} in 100, {} if all goes well, {} expected.", 100 * way.odds, sheets::TimeText(way.minutes), sheets::TimeText(way.expected_min));
}

std::string AgainstText(const planner::WhyWay& chosen, const planner::WhyWay& other) {
  const double points = 100 * (other.odds - chosen.odds);
  const std::string odds = std::abs(points) < 0.05 ? "the same odds" : fmt::format("{:.1f} points {}", std::abs(points), points > 0 ? "more" : "less");
  return fmt::format("{}, {} if all goes well, {} expected.", odds, sheets::TimeChangeText(other.minutes - chosen.minutes),
                     sheets::TimeChangeText(other.expected_min - chosen.expected_min));
}

std::string WayJson(const planner::WhyWay& way) {
  return fmt::format("{{\"what\": {}, \"odds\": {:.6f}, \"minutes\": {:.4f}, \"minutes_expected\": {:.4f}}}", JsonString(way.what), way.odds, way.minutes,
                     way.expected_min);
}

}  // namespace

namespace {

planner::PlannerOptions OptionsOf(const WhyUse& use) {
  planner::PlannerOptions options;
  options.seed = use.seed;
  options.final_builds = use.builds;
  options.threads = use.threads;
  options.work = use.work;
  options.wish = use.wish;
  options.sure = use.sure;
  options.tries = use.tries;
  return options;
}

Result<WhyAnswer> AskOfLeft(const Workshop& workshop, const WhyUse& use) {
  if (use.wish != planner::Wish::kLeastHours) return Unexpected(NoWishUnderway());
  planner::PlannerOptions options = OptionsOf(use);
  options.search_builds = kBuildsByReadings;
  auto answers = AskWhyOfLeft(workshop, use.build, options, use.subject);
  if (!answers) return Unexpected(answers.error());
  const auto readings = FindReadings(*workshop.plan, workshop.log, workshop.followed, use.build);
  return WhyAnswer{*std::move(answers), true, static_cast<int>(readings.size())};
}

}  // namespace

Result<WhyAnswer> AskWhy(const Opened& opened, const WhyUse& use) {
  const files::Project& project = opened.project;
  if (!use.afresh && std::filesystem::exists(project.dir / store::kBuildLogFileName)) {
    const auto workshop = EnterWorkshop(use.open);
    if (!workshop) return Unexpected(workshop.error());
    if (IsUnderway(*workshop, use.build)) return AskOfLeft(*workshop, use);
  }
  planner::PlannerOptions options = OptionsOf(use);
  KeptOutcomes kept(project.dir);
  options.outcomes = &kept.memo();
  const Shop catalogue = files::DefaultShop();
  options.catalogue = &catalogue;
  planner::Planner planner(project.machine, project.shop, project.choices, options);
  const auto plan = planner.Choose();
  if (!plan) return Unexpected(plan.error());
  auto answers = planner.TellWhy(*plan, use.subject);
  if (!answers) return Unexpected(answers.error());
  return WhyAnswer{*std::move(answers)};
}

std::string WhyReport(const Opened& opened, const WhyAnswer& answer, const sheets::ReportOptions& options) {
  const auto say = [&](const std::string& text) { return sheets::SentenceInUnit(Stop(text), opened.unit, {}); };
  sheets::Book book;
  if (answer.underway) {
    book.pieces.emplace_back(sheets::Paragraph{
        fmt::format("Of what is left of the machine that was begun, by {} reading{}; what is done has no other way. --afresh asks of a plan from "
                    "the sheets alone.", answer.readings, answer.readings == 1 ? "" : "s"), sheets::Tone::kPlain});
  }
  for (const planner::Why& why : answer.answers) {
    book.pieces.emplace_back(sheets::Heading{2, "Why: " + sheets::NameText(why.about), ""});
    book.pieces.emplace_back(sheets::Entry{"Chosen", say(why.chosen.what) + " " + FiguresOf(why.chosen), sheets::Tone::kPlain});
    if (why.runner_up) {
      book.pieces.emplace_back(sheets::Entry{"Next best", say(why.runner_up->what) + " " + sheets::Capital(AgainstText(why.chosen, *why.runner_up)), sheets::Tone::kPlain});
    } else {
      book.pieces.emplace_back(sheets::Entry{"Nothing else", say("nothing else would do, because " + why.because), sheets::Tone::kPlain});
    }
    if (!why.note.empty()) book.pieces.emplace_back(sheets::Entry{"Besides", say(why.note), sheets::Tone::kPlain});
    for (const planner::WhyNot& fail : why.fails) {
      book.pieces.emplace_back(sheets::Entry{"Will not go", say(fail.what) + " " + sheets::Capital(say(fail.because)), sheets::Tone::kPlain});
    }
  }
  book.pieces.emplace_back(sheets::Paragraph{
      "Each other way was judged with everything else as in the plan, by the same builds on paper that chose it; planned anew around it, it may come "
      "out a little better. The hours are without what the book has measured beside the cuts, which is the same every way: its own are longer by that.",
      sheets::Tone::kNote});
  return sheets::RenderText(book, {options.width, options.colour});
}

std::string WhyToJson(const std::string& subject, const WhyAnswer& answer) {
  const std::vector<planner::Why>& answers = answer.answers;
  std::string out = fmt::format("{{\n  \"schema\": \"{}\",\n  \"subject\": {},\n  \"by_readings\": {},\n  \"answers\": [", kWhySchemaId, JsonString(subject),
                                answer.underway ? std::to_string(answer.readings) : "null");
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const planner::Why& why = answers[i];
    std::string fails;
    for (const planner::WhyNot& fail : why.fails) {
      fails += fmt::format("{}{{\"what\": {}, \"because\": {}}}", fails.empty() ? "" : ", ", JsonString(fail.what), JsonString(fail.because));
    }
    out += fmt::format("{}\n    {{\"about\": {}, \"kind\": {}, \"chosen\": {}, \"runner_up\": {}, \"fails\": [{}], \"because\": {}, \"note\": {}}}",
                       i > 0 ? "," : "", JsonString(why.about), JsonString(why.kind), WayJson(why.chosen),
                       why.runner_up ? WayJson(*why.runner_up) : "null", fails, JsonString(why.because), JsonString(why.note));
  }
  return out + "\n  ]\n}\n";
}

}  // namespace fitwright::service
