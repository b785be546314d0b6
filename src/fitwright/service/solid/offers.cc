#include "fitwright/service/solid/offers.h"

#include <fmt/format.h>

#include "fitwright/replay/replay.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/solid/replay_options.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/sheet_model.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {

Result<std::vector<ProvedOffer>> ProveOffers(const Opened& opened, const PlanUse& use, planner::Planner& planner, const Plan& plan,
                                             const ReplayReport& replay) {
  auto offers = planner.Offers(plan);
  if (!offers) return Unexpected(offers.error());
  std::vector<ProvedOffer> proved;
  for (planner::Offer& offer : *offers) {
    if (proved.empty()) {
      proved.push_back({std::move(offer), replay});
      continue;
    }
    auto replayed = replay::Replay(opened.project.machine, opened.project.shop, offer.plan, ReplayOptionsOf(use.threads, use.work));
    if (!replayed) return Unexpected(replayed.error());
    proved.push_back({std::move(offer), *std::move(replayed)});
  }
  return proved;
}

std::string OffersReport(const Opened& opened, const std::vector<ProvedOffer>& offers, const sheets::ReportOptions& options) {
  using sheets::Align;
  const auto name = [](std::size_t i) { return i == 0 ? std::string("this plan") : fmt::format("plan {}", i + 1); };
  sheets::Book book;
  book.pieces.emplace_back(sheets::Heading{2, "Plans that none beats", ""});
  book.pieces.emplace_back(sheets::Paragraph{
      "No plan that was looked at is better than one of these in odds, expected hours and setups at once. No two are within a point and two per cent "
      "of the hours. Each was replayed on solids.", sheets::Tone::kPlain});
  sheets::Table table;
  table.columns = {{"plan", "", Align::kLeft, true}, {"all fits", "in 100", Align::kRight, false}, {"hours expected", "h", Align::kPoint, false},
                   {"if all goes well", "h", Align::kPoint, false}, {"setups", "", Align::kRight, false}, {"rules broken", "", Align::kRight, false}};
  for (std::size_t i = 0; i < offers.size(); ++i) {
    const Plan& plan = offers[i].offer.plan;
    std::size_t broken = 0;
    for (const ReplayPart& part : offers[i].replay.parts) broken += part.violations.size();
    const Chance& all = plan.odds.all;
    table.rows.push_back({name(i), fmt::format("{:.1f} ({:.1f}-{:.1f})", 100 * all.odds, 100 * all.low, 100 * all.high),
                          fmt::format("{:.2f}", plan.hours_expected), fmt::format("{:.2f}", plan.hours_cutting), std::to_string(plan.setups.size()),
                          std::to_string(broken)});
  }
  book.pieces.emplace_back(std::move(table));
  for (std::size_t i = 1; i < offers.size(); ++i) {
    book.pieces.emplace_back(sheets::Heading{3, sheets::Capital(name(i)) + ": " + offers[i].offer.trade, ""});
    for (const std::string& say : offers[i].offer.differs) {
      book.pieces.emplace_back(sheets::ListItem{sheets::SentenceInUnit(say, opened.unit, {})});
    }
  }
  if (offers.size() == 1) book.pieces.emplace_back(sheets::Paragraph{"Nothing that was looked at is worth offering beside this plan.", sheets::Tone::kPlain});
  return sheets::RenderText(book, {options.width, options.colour});
}

std::string OffersToJson(const std::vector<ProvedOffer>& offers) {
  std::string out = fmt::format("{{\n  \"schema\": \"{}\",\n  \"offers\": [", kOffersSchemaId);
  for (std::size_t i = 0; i < offers.size(); ++i) {
    const planner::Offer& offer = offers[i].offer;
    const Chance& all = offer.plan.odds.all;
    out += fmt::format(
        "{}\n    {{\"number\": {}, \"trade\": {}, \"odds\": {:.6f}, \"low\": {:.6f}, \"high\": {:.6f}, \"hours_cutting\": {:.6f}, "
        "\"hours_expected\": {:.6f}, \"setups\": {}, \"replay_ok\": {}, \"differs\": {}}}",
        i > 0 ? "," : "", i + 1, JsonString(offer.trade), all.odds, all.low, all.high, offer.plan.hours_cutting, offer.plan.hours_expected,
        offer.plan.setups.size(), offers[i].replay.ok, JsonStrings(offer.differs));
  }
  return out + "\n  ]\n}\n";
}

}  // namespace fitwright::service
