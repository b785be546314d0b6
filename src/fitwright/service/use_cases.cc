#include "fitwright/service/use_cases.h"

#include <fmt/format.h>

#include "fitwright/files/plan_json.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/finding_place.h"
#include "fitwright/service/json_text.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {

Result<Opened> Open(const OpenOptions& options, Diagnostics& faults) {
  files::LoadOptions load;
  load.shop_file = options.shop_file;
  auto project = files::LoadProject(options.dir, load, faults);
  if (!project) return Unexpected(project.error());
  Opened opened{*std::move(project), LengthUnit::kMillimetre};
  opened.unit = options.unit.value_or(opened.project.machine.display_unit);
  return opened;
}

CheckOutcome Check(const Opened& opened) {
  CheckOutcome outcome{review::Review(opened.project.machine), opened.project.assumed, false};
  // What looks like a slip but can be read comes first.
  outcome.assumed.insert(outcome.assumed.begin(), opened.project.warnings.begin(), opened.project.warnings.end());
  FillPlaces(opened.project.dir, outcome.findings);
  return outcome;
}

std::string CheckReport(const Opened& opened, const CheckOutcome& outcome,
                        const sheets::ReportOptions& options) {
  using namespace sheets;
  const auto say = [&](const std::string& text) {
    return SentenceInUnit(text, options.unit, {});
  };
  Book book;
  const std::string name = Capital(NameText(opened.project.machine.name));
  book.pieces.emplace_back(
      Heading{2, name + ": checked" + (outcome.deep ? ", on solids too" : ""), ""});
  if (outcome.findings.empty()) {
    book.pieces.emplace_back(Paragraph{"Nothing found against it.", Tone::kPlain});
  }
  for (const review::Finding& f : outcome.findings) {
    book.pieces.emplace_back(Heading{3, f.where, std::string(WordOf(f.rule))});
    book.pieces.emplace_back(Entry{"Look here", say(f.say), Tone::kLook});
    if (!f.remedy.empty()) {
      book.pieces.emplace_back(Entry{"What would do", say(f.remedy), Tone::kPlain});
    }
    if (f.line > 0) {
      book.pieces.emplace_back(Entry{"In", fmt::format("{}:{}", f.file, f.line), Tone::kPlain});
    }
  }
  if (!outcome.assumed.empty()) book.pieces.emplace_back(Heading{3, "Taken as", ""});
  for (const std::string& text : outcome.assumed) book.pieces.emplace_back(ListItem{say(text)});
  return RenderText(book, {options.width, options.colour});
}

std::string CheckToJson(const CheckOutcome& outcome) {
  std::string out =
      fmt::format("{{\n  \"schema\": \"fitwright-check/1\",\n  \"ok\": {},\n  \"deep\": {},\n"
                  "  \"findings\": [",
                  outcome.findings.empty(), outcome.deep);
  for (std::size_t i = 0; i < outcome.findings.size(); ++i) {
    const review::Finding& f = outcome.findings[i];
    out += fmt::format("{}\n    {{\"rule\": {}, \"where\": {}, \"file\": {}, \"line\": {}, \"say\": {}, "
                       "\"remedy\": {}}}",
                       i > 0 ? "," : "", JsonString(WordOf(f.rule)), JsonString(f.where),
                       JsonString(f.file), f.line, JsonString(f.say), JsonString(f.remedy));
  }
  return out + fmt::format("\n  ],\n  \"assumed\": {}\n}}\n", JsonStrings(outcome.assumed));
}

Result<SavedPlan> LoadSavedPlan(const Opened& opened) {
  const auto text = files::LoadPlanText(opened.project.dir);
  PlanOrigin origin;
  auto plan = text ? files::PlanFromJson(*text, std::string(files::kPlanFileName), &origin)
                   : Result<Plan>(Unexpected(text.error()));
  if (!plan) {
    Error error = plan.error();
    if (error.code == ErrorCode::kFileMissing) {
      error.remedy = fmt::format("run 'fitwright plan {}' first", opened.project.dir.string());
    }
    return Unexpected(std::move(error));
  }
  const bool older = plan->inputs_hash != opened.project.inputs_hash;
  return SavedPlan{*std::move(plan), older, PlanIdOf(*text), std::move(origin)};
}

}  // namespace fitwright::service
