#include "fitwright/service/betterment.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/service/json_text.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/sheet_model.h"
#include "fitwright/sheets/text.h"

namespace fitwright::service {
namespace {

const char* KindWord(planner::BettermentKind kind) { return kind == planner::BettermentKind::kShop ? "shop" : "limit"; }

}  // namespace

Result<std::vector<planner::Betterment>> Better(const Opened& opened, const SavedPlan& saved, const OddsUse& use) {
  planner::PlannerOptions options;
  options.final_builds = use.builds;
  options.seed = use.seed;
  options.threads = use.threads;
  options.work.cancel = use.cancel;
  return planner::FindBetterments(opened.project.machine, opened.project.shop, saved.plan, options);
}

std::string BetterReport(const SavedPlan& saved, const std::vector<planner::Betterment>& found, const sheets::ReportOptions& options) {
  sheets::Book book;
  book.pieces.emplace_back(sheets::Heading{2, "What would lift the odds", ""});
  if (saved.older_than_sheets) {
    book.pieces.emplace_back(sheets::Entry{"Look here", "This plan is older than the sheets: plan again.", sheets::Tone::kLook});
  }
  const auto& list = saved.plan.odds.requirements;
  const auto weakest = std::min_element(list.begin(), list.end(), [](const auto& a, const auto& b) { return a.chance.odds < b.chance.odds; });
  if (weakest != list.end() && !weakest->causes.empty()) {
    book.pieces.emplace_back(sheets::Entry{"Largest cause", fmt::format("{} is met by {:.1f} in 100, {:.0f} per cent of it from: {}.", weakest->name.text(),
                                                                       100 * weakest->chance.odds, 100 * weakest->causes.front().share,
                                                                       sheets::WithoutBrackets(weakest->causes.front().source)), sheets::Tone::kPlain});
  }
  book.pieces.emplace_back(sheets::Paragraph{
      "The plan as it stands, one thing changed at a time, on the same builds as its odds. Planned anew with the change it may come out better still.",
      sheets::Tone::kNote});
  for (const planner::Betterment& b : found) {
    book.pieces.emplace_back(sheets::ListItem{fmt::format("{:.1f} -> {:.1f} in 100: {}", 100 * b.odds_before, 100 * b.odds_after, b.say)});
  }
  if (found.empty()) book.pieces.emplace_back(sheets::Paragraph{"No single thing that was tried gains half a point.", sheets::Tone::kPlain});
  return sheets::RenderText(book, {options.width, options.colour});
}

std::string BetterToJson(const SavedPlan& saved, const std::vector<planner::Betterment>& found) {
  std::string out = fmt::format("{{\n  \"schema\": \"{}\",\n  \"odds\": {:.6f},\n  \"betterments\": [", kBetterSchemaId, saved.plan.odds.all.odds);
  for (std::size_t i = 0; i < found.size(); ++i) {
    const planner::Betterment& b = found[i];
    out += fmt::format("{}\n    {{\"kind\": {}, \"where\": {}, \"say\": {}, \"odds_before\": {:.6f}, \"odds_after\": {:.6f}}}", i > 0 ? "," : "",
                       JsonString(KindWord(b.kind)), JsonString(b.where), JsonString(b.say), b.odds_before, b.odds_after);
  }
  return out + "\n  ]\n}\n";
}

}  // namespace fitwright::service
