// The answer of `odds` as text and as JSON.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/plan_json.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/odds_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using namespace sheets;

constexpr std::size_t kEffectsSaid = 3;
constexpr double kSameOdds = 0.0005;
constexpr double kLeastMinutes = 0.5;

class Words {
 public:
  Words(const Opened& opened, const SavedPlan& saved) : opened_(opened), saved_(saved) {}

  std::string Name(std::size_t requirement) const {
    return NameText(saved_.plan.odds.requirements[requirement].name.text());
  }

  // Figures of a change in the reader's unit: lengths become inches on an inch page, with their unit, as they may be asked for.
  std::string Figures(const variation::Change& change) const {
    if (change.unit == "mm" && opened_.unit == LengthUnit::kInch) {
      return fmt::format("{} to {} in", FormatTrimmed(change.from / kMmPerInch, 5),
                         FormatTrimmed(change.to / kMmPerInch, 5));
    }
    return fmt::format("{:.6g} to {:.6g} {}", change.from, change.to, change.unit);
  }

  std::string Say(const variation::Change& change) const {
    return WithoutBrackets(SentenceInUnit(change.words, opened_.unit, {}));
  }

  std::string Effects(const std::vector<variation::LessMissed>& effects) const {
    std::string text;
    for (std::size_t i = 0; i < std::min(effects.size(), kEffectsSaid); ++i) {
      const variation::LessMissed& e = effects[i];
      text += fmt::format("{}{} {}{}", i > 0 ? ", " : "", Name(e.requirement),
                          e.exact ? "" : "about ", FromTo(e.before, e.after));
    }
    if (effects.size() > kEffectsSaid)
      text += fmt::format(", and {} more", effects.size() - kEffectsSaid);
    return text;
  }

  // Hundredths before and after, whole where that tells them apart.
  static std::string FromTo(double before, double after) {
    const double end = std::min(std::min(before, after), 1 - std::max(before, after));
    const int places = end < 0.01 || std::abs(after - before) < 0.02 ? 1 : 0;
    return fmt::format("{} -> {}", FormatFixed(100 * before, places),
                       FormatFixed(100 * after, places));
  }

 private:
  const Opened& opened_;
  const SavedPlan& saved_;
};

bool IsHalved(const variation::Lessening& l) {
  return l.change.key.find(".clearance") == std::string::npos &&
         l.change.key.find(".aim") == std::string::npos;
}

std::string SavesText(const variation::Lessening& l) {
  return l.minutes_saved >= kLeastMinutes
             ? fmt::format("{} less mending a machine", TimeText(l.minutes_saved))
             : "";
}

void AddRanked(const Words& words, const variation::Lessenings& found, Book& book) {
  book.pieces.emplace_back(Heading{2, "What would lessen the misses", "odds in 100"});
  book.pieces.emplace_back(Paragraph{
      fmt::format(
          "On average a machine misses {:.2f} of its {} requirements. Each line is one change by "
          "itself, most time saved first; \"about\" where builds on paper were drawn again, else "
          "by the law of the errors.",
          found.misses, found.odds.size()),
      Tone::kPlain});
  int number = 0;
  for (const variation::Lessening& l : found.ranked) {
    std::string text =
        fmt::format("{} {} ({}, {}): {}", IsHalved(l) ? "Halve:" : "Change:", words.Say(l.change),
                    l.change.key, words.Figures(l.change), words.Effects(l.effects));
    const std::string saves = SavesText(l);
    text += saves.empty() ? "." : "; " + saves + ".";
    book.pieces.emplace_back(Entry{std::to_string(++number), text, Tone::kPlain});
  }
  if (found.ranked.empty()) {
    book.pieces.emplace_back(
        Paragraph{"Nothing by itself moves the odds by a tenth in a hundred.", Tone::kPlain});
  }
}

void AddReadings(const Words& words, const variation::Lessenings& found, Book& book) {
  if (!found.readings.empty())
    book.pieces.emplace_back(Heading{3, "Readings worth making", "sizes alone, in 100"});
  for (const variation::ReadingWorth& w : found.readings) {
    book.pieces.emplace_back(Entry{
        NameText(w.requirement.text()),
        fmt::format("Read {} before {} is made, and make that to suit: {}; {} less a machine.",
                    NameText(w.read), NameText(w.suited), Words::FromTo(w.before, w.after),
                    TimeText(60 * w.hours_saved)),
        Tone::kPlain});
  }
  if (found.limits.empty()) return;
  book.pieces.emplace_back(Heading{3, "Limits, each a tenth wider", "odds in 100"});
  for (const variation::Lessening& l : found.limits)
    book.pieces.emplace_back(ListItem{words.Effects(l.effects)});
}

std::string WithBand(const Chance& chance) {
  const std::string band = ShopBandText(chance);
  return band.empty() ? ChanceText(chance) : ChanceText(chance) + "; " + band;
}

void AddWhatIf(const Words& words, const OddsAnswer& answer, Book& book) {
  const Odds& before = answer.saved.plan.odds;
  const Odds& after = *answer.changed;
  const std::string now = answer.readings > 0 ? "As it stands" : "As planned";
  book.pieces.emplace_back(Heading{2, "What if", ""});
  for (const variation::Change& change : answer.changes) {
    book.pieces.emplace_back(Entry{
        change.key, fmt::format("{}: {}", words.Say(change), words.Figures(change)), Tone::kPlain});
  }
  book.pieces.emplace_back(
      Entry{now, "All of it together: " + WithBand(before.all), Tone::kPlain});
  book.pieces.emplace_back(
      Entry{"Then", "All of it together: " + WithBand(after.all), Tone::kLook});
  Table table;
  table.columns = {{"requirement", "", Align::kLeft, true},
                   {answer.readings > 0 ? "as it stands" : "as planned", "", Align::kLeft, false},
                   {"then", "", Align::kLeft, false}};
  std::size_t same = 0;
  for (std::size_t r = 0; r < before.requirements.size(); ++r) {
    const Chance& a = before.requirements[r].chance;
    const Chance& b = after.requirements[r].chance;
    if (std::abs(a.odds - b.odds) < kSameOdds) {
      ++same;
    } else {
      table.rows.push_back({words.Name(r), ChanceText(a), ChanceText(b)});
    }
  }
  if (!table.rows.empty()) book.pieces.emplace_back(std::move(table));
  if (same > 0) {
    book.pieces.emplace_back(
        Paragraph{fmt::format("{} {} as likely as before.", same,
                              same == 1 ? "requirement is" : "requirements are"),
                  Tone::kPlain});
  }
  book.pieces.emplace_back(
      Paragraph{fmt::format("From the same {} builds on paper, seed {}.", after.builds, after.seed),
                Tone::kPlain});
}

// ---- JSON.

std::string N(double value) { return fmt::format("{}", value); }

std::string ChangeJson(const variation::Change& c) {
  return fmt::format("{{\"key\": {}, \"words\": {}, \"unit\": {}, \"from\": {}, \"to\": {}}}",
                     JsonString(c.key), JsonString(c.words), JsonString(c.unit), N(c.from),
                     N(c.to));
}

std::string ChanceJson(const Chance& c) {
  return fmt::format(
      "{{\"odds\": {}, \"low\": {}, \"high\": {}, \"shop_low\": {}, \"shop_high\": {}}}", N(c.odds),
      N(c.low), N(c.high), N(c.shop_low), N(c.shop_high));
}

template <typename List, typename One>
std::string ListJson(const List& list, One one) {
  std::string text = "[";
  for (std::size_t i = 0; i < list.size(); ++i)
    text += (i > 0 ? ",\n    " : "\n    ") + one(list[i]);
  return text + (list.empty() ? "]" : "\n  ]");
}

std::string RankedJson(const OddsAnswer& answer,
                           const std::vector<variation::Lessening>& list) {
  const auto& names = answer.saved.plan.odds.requirements;
  return ListJson(list, [&](const variation::Lessening& l) {
    std::string effects;
    for (const variation::LessMissed& e : l.effects) {
      effects +=
          fmt::format("{}{{\"requirement\": {}, \"before\": {}, \"after\": {}, \"exact\": {}}}",
                      effects.empty() ? "" : ", ", JsonString(names[e.requirement].name.text()),
                      N(e.before), N(e.after), e.exact);
    }
    return fmt::format(
        "{{\"change\": {}, \"fewer_misses\": {}, \"minutes_saved\": {}, \"effects\": [{}]}}",
        ChangeJson(l.change), N(l.fewer_misses), N(l.minutes_saved), effects);
  });
}

std::string WhatIfJson(const OddsAnswer& answer) {
  const Odds& after = *answer.changed;
  return fmt::format(
      "\"what_if\": {{\"changes\": {}, \"all\": {}, \"requirements\": {}}}",
      ListJson(answer.changes, ChangeJson), ChanceJson(after.all),
      ListJson(after.requirements, [&](const RequirementOdds& r) {
        const auto& before = answer.saved.plan.odds.requirements;
        const auto at = std::find_if(before.begin(), before.end(),
                                     [&](const RequirementOdds& b) { return b.name == r.name; });
        return fmt::format("{{\"name\": {}, \"before\": {}, \"after\": {}}}",
                           JsonString(r.name.text()), ChanceJson(at->chance), ChanceJson(r.chance));
      }));
}

}  // namespace

std::string OddsReport(const Opened& opened, const OddsAnswer& answer,
                       const ReportOptions& options) {
  const Words words(opened, answer.saved);
  Book book;
  std::string text;
  const std::string counted = ReadingsCountedWords(answer.readings, answer.build);
  if (!counted.empty()) {
    Book first;
    first.pieces.emplace_back(Paragraph{counted, Tone::kPlain});
    text = RenderText(first, {options.width, options.colour}) + "\n";
  }
  if (answer.changed) {
    AddWhatIf(words, answer, book);
  } else {
    text += MakeOddsReport(opened.project.machine, opened.project.shop, answer.saved.plan,
                          answer.saved.plan.odds, options);
    AddRanked(words, *answer.lessenings, book);
    AddReadings(words, *answer.lessenings, book);
  }
  return text + RenderText(book, {options.width, options.colour});
}

std::string OddsAnswerToJson(const OddsAnswer& answer) {
  std::string text = files::OddsToJson(answer.saved.plan);
  text.resize(text.rfind('}'));  // to write on inside the object
  while (!text.empty() && text.back() == '\n') text.pop_back();
  text += fmt::format(",\n  \"build\": {},\n  \"by_readings\": {}", answer.build, answer.readings);
  if (answer.changed) return text + ",\n  " + WhatIfJson(answer) + "\n}\n";
  const variation::Lessenings& found = *answer.lessenings;
  return text + fmt::format(
                    ",\n  \"misses\": {},\n  \"lessen\": {},\n  \"wider_limits\": {},\n  "
                    "\"readings\": {}\n}}\n",
                    N(found.misses), RankedJson(answer, found.ranked),
                    RankedJson(answer, found.limits),
                    ListJson(found.readings, [](const variation::ReadingWorth& w) {
                      return fmt::format(
                          "{{\"requirement\": {}, \"read\": {}, \"suited\": {}, \"before\": {}, "
                          "\"after\": {}, \"hours_saved\": {}}}",
                          JsonString(w.requirement.text()),
                          JsonString(w.read.part.text() + "." + w.read.feature.text()),
                          JsonString(w.suited.part.text() + "." + w.suited.feature.text()),
                          N(w.before), N(w.after), N(w.hours_saved));
                    }));
}

std::string LesseningsToJson(const Opened& opened, const SavedPlan& saved,
                             const variation::Lessenings& found) {
  const Words words(opened, saved);
  const auto one = [&](const variation::Lessening& l) {
    return fmt::format(
        R"({{"key":{},"to":{},"say":{},"effects":{},"saves":{}}})", JsonString(l.change.key),
        N(l.change.to),
        JsonString(fmt::format("{} {}, {}", IsHalved(l) ? "Halve:" : "Change:",
                               words.Say(l.change), words.Figures(l.change))),
        JsonString(words.Effects(l.effects)), JsonString(SavesText(l)));
  };
  return fmt::format(R"({{"schema":"fitwright-lessen/1","misses":{},"lessen":{}}})", N(found.misses),
                     ListJson(found.ranked, one)) +
         "\n";
}

}  // namespace fitwright::service
