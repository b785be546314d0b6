// Overview, what to do differently, what to buy, order of work.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/model/stock_words.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

std::string StockText(const BookContext& context, const PlannedPart& planned) {
  const bool says_unit = planned.stock.find("mm") != std::string::npos;
  const Part* part = context.machine.FindPart(planned.name);
  if (context.unit == LengthUnit::kMillimetre || says_unit || part == nullptr) {
    return context.Say(planned.stock);
  }
  return StockWords(part->stock, [&](double mm) { return NamedLength(mm, context.unit); });
}

void AddParts(const BookContext& context, Book& book) {
  if (context.plan.parts.empty()) return;
  book.pieces.emplace_back(Heading{3, "Parts and stock", ""});
  Table table;
  table.columns = {{"part", "", Align::kLeft, true},
                   {"no.", "", Align::kRight, false},
                   {"material", "", Align::kLeft, true},
                   {"stock", "", Align::kLeft, true},
                   {"mass", "g", Align::kRight, false}};
  for (const PlannedPart& p : context.plan.parts) {
    table.rows.push_back({NameText(p.name.text()), std::to_string(p.quantity),
                          NameText(p.material), StockText(context, p),
                          p.mass_g > 0 ? fmt::format("{:.0f}", p.mass_g) : "-"});
  }
  book.pieces.emplace_back(std::move(table));
  for (const Part& part : context.machine.parts) {
    if (!part.mirror_of) continue;
    book.pieces.emplace_back(Entry{
        "Hand", fmt::format("{} is the mirror image of {}, not a second one alike. Pen the name on each blank; before the first hole lay the two side by side.",
                            Capital(NameText(part.name.text())), NameText(part.mirror_of->text())), Tone::kLook});
  }
}

std::string PinText(const Pin& pin) {
  std::string text = fmt::format("{} {} = {}", WordOf(pin.kind), pin.subject, pin.value);
  if (pin.first > 0) text += fmt::format(", first {}", pin.first);
  return text;
}

std::string PinsText(const std::vector<Pin>& pins) {
  std::vector<std::string> texts;
  for (const Pin& p : pins) texts.push_back(PinText(p));
  return ListText(texts);
}

std::string WithoutStop(std::string sentence) {
  while (!sentence.empty() && (sentence.back() == '.' || sentence.back() == ' ')) {
    sentence.pop_back();
  }
  return sentence;
}

void AddAdvice(const BookContext& context, Book& book) {
  book.pieces.emplace_back(Heading{3, "What to do differently", ""});
  if (context.plan.advice.empty()) {
    book.pieces.emplace_back(Paragraph{
        "Nothing that was compared changes the odds enough to be worth saying.", Tone::kPlain});
  } else {
    book.pieces.emplace_back(Paragraph{
        "This plan does all of these; the figures say what each is worth: the whole plan was worked out the other way too, "
        "on as many builds as the odds above. The pins in brackets are those of the other way.", Tone::kPlain});
  }
  for (const Advice& a : context.plan.advice) {
    std::string text =
        fmt::format("{}: {} without it, {} with it, {}.", WithoutStop(context.Say(a.say)),
                    ChanceText(a.odds_before), ChanceText(a.odds_after),
                    TimeChangeText(a.minutes_delta));
    if (a.gain_high > a.gain_low) {
      text += fmt::format(" The odds' difference is {:+.1f} to {:+.1f} in 100.", 100 * a.gain_low, 100 * a.gain_high);
    }
    if (a.gain_high < 0) text += " The other way is the surer one.";
    if (!a.pins.empty()) text += fmt::format(" In choices.toml: {}", PinsText(a.pins));
    if (!a.pins.empty()) text += a.other.empty() ? "." : fmt::format(" ({}).", PinsText(a.other));
    book.pieces.emplace_back(ListItem{text});
  }
  if (context.plan.choices.size() < 2) return;
  book.pieces.emplace_back(Heading{3, "Plans to choose from", ""});
  Table table;
  table.columns = {{"plan", "", Align::kLeft, true},
                   {"all fits", "in 100", Align::kRight, false},
                   {"hours expected", "h", Align::kPoint, false},
                   {"in choices.toml", "", Align::kLeft, true}};
  for (const PlanChoice& c : context.plan.choices) {
    table.rows.push_back({context.Say(c.name), std::to_string(TallyOf(c.odds)),
                          fmt::format("{:.1f}", c.hours_expected), PinsText(c.pins)});
  }
  book.pieces.emplace_back(std::move(table));
}

void AddBuying(const BookContext& context, Book& book) {
  book.pieces.emplace_back(Heading{3, "What to buy", ""});
  if (context.plan.buy.empty()) {
    book.pieces.emplace_back(
        Paragraph{"Nothing beyond the stock listed above; the shop has the tools.", Tone::kPlain});
    return;
  }
  Table table;
  table.columns = {{"no.", "", Align::kRight, false},
                   {"what", "", Align::kLeft, true},
                   {"what for", "", Align::kLeft, true},
                   {"got", "", Align::kLeft, false}};
  for (const BuyLine& b : context.plan.buy) {
    table.rows.push_back(
        {std::to_string(b.quantity), context.SayAtMachine(b.what),
                          context.SayAtMachine(b.why), "[ ]"});
  }
  book.pieces.emplace_back(std::move(table));
}

void AddOddsSummary(const BookContext& context, Book& book) {
  const Odds& odds = context.plan.odds;
  std::string text = ChanceText(odds.all) + " that everything fits";
  const std::string band = ShopBandText(odds.all);
  if (!band.empty()) text += "; " + band;
  book.pieces.emplace_back(Entry{"Odds", text + ".", Tone::kPlain});
  book.pieces.emplace_back(Tally{TallyOf(odds.all.odds)});
  const auto weakest = std::min_element(
      odds.requirements.begin(), odds.requirements.end(),
      [](const auto& a, const auto& b) { return a.chance.odds < b.chance.odds; });
  if (weakest == odds.requirements.end()) return;
  std::string weak = fmt::format("{}, {}: {}", weakest->name.text(),
                                 RequirementSentence(context, *weakest),
                                 ChanceText(weakest->chance));
  if (const CauseShare* cause = LargestCause(*weakest)) {
    weak += fmt::format("; most of it from: {}", WithoutBrackets(cause->source));
  }
  book.pieces.emplace_back(Entry{"Weakest", weak + ".", Tone::kPlain});
}

struct LifeOfPart {
  int first = 0;  // index of the first and last setup it is in
  int last = -1;
};

// Copies ("ring#2") share the lane of their sheet.
std::string SheetOf(const PartId& part) { return part.text().substr(0, part.text().find('#')); }

// Done in every setup; not worth a word in the order of work.
bool IsUpkeep(Operation operation) {
  return operation == Operation::kDeburr || operation == Operation::kWash;
}

std::string SetupLine(const BookContext& context, const Setup& setup) {
  std::vector<std::string> verbs;
  for (const Step& step : setup.steps) {
    if (IsUpkeep(step.operation) && setup.steps.size() > 1) continue;
    const std::string verb(VerbOf(step.operation));
    if (std::find(verbs.begin(), verbs.end(), verb) == verbs.end()) verbs.push_back(verb);
  }
  const std::string where = setup.contacts.empty() ? "bench" : context.MachineText(setup.machine);
  return fmt::format("{}: {}; {}", Capital(context.PiecesText(setup)), where, ListText(verbs));
}

// Everything is finished before: not worth a line for each.
bool WholeMachine(const Setup& setup) {
  return !setup.steps.empty() && setup.steps.back().operation == Operation::kMeasure && setup.contacts.empty();
}

// Why this setup waits for another, as far as a step says so.
std::string WaitReason(const BookContext& context, const Setup& setup, const Setup& other) {
  const auto made_there = [&](const FeatureRef& ref) {
    return std::any_of(other.parts.begin(), other.parts.end(),
                       [&](const PartPose& p) { return p.part == ref.part; });
  };
  for (const Step& step : setup.steps) {
    if (step.through && made_there(*step.through)) {
      return "spotted through the " + NameText(step.through->part.text());
    }
    if (step.aim && step.aim->mate && made_there(*step.aim->mate)) {
      return "cut to suit the " + NameText(*step.aim->mate);
    }
  }
  const auto has_trial = [](const Setup& s) {
    return std::any_of(s.steps.begin(), s.steps.end(), [](const Step& step) { return step.operation == Operation::kTrial; });
  };
  for (const Step& step : setup.steps) {
    if (step.aim && !step.aim->closes.empty() && step.operation != Operation::kTrial && has_trial(other)) {
      return "made to what was measured there for " + NameText(step.aim->closes.text());
    }
  }
  if (has_trial(setup)) return "";
  for (std::size_t i = 1; i < setup.parts.size(); ++i) {
    if (made_there({setup.parts[i].part, {}})) {
      return "the " + NameText(setup.parts[i].part.text()) + " goes on first";
    }
  }
  (void)context;
  return "";
}

std::vector<std::string> WaitTexts(const BookContext& context, const Setup& setup) {
  std::vector<std::string> texts;
  std::vector<std::string> plain;
  for (const SetupId& id : setup.waits_for) {
    const auto other = std::find_if(context.plan.setups.begin(), context.plan.setups.end(),
                                    [&](const Setup& s) { return s.id == id; });
    if (other == context.plan.setups.end() || setup.parts.empty()) continue;
    const bool same_part = std::any_of(
        other->parts.begin(), other->parts.end(),
        [&](const PartPose& p) { return SheetOf(p.part) == SheetOf(setup.parts[0].part); });
    const std::string reason = WaitReason(context, setup, *other);
    if ((same_part || WholeMachine(setup)) && reason.empty()) continue;  // a part's own order shows in its line
    if (reason.empty()) {
      plain.push_back(std::to_string(other->number));
    } else {
      texts.push_back(fmt::format("<- waits for {}: {}", other->number, reason));
    }
  }
  if (!plain.empty()) texts.push_back("<- waits for " + ListText(plain));
  return texts;
}

std::vector<std::string> LanesOf(const Plan& plan, std::map<std::string, LifeOfPart>& lives) {
  std::vector<std::string> lanes;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    for (const PartPose& p : plan.setups[i].parts) {
      const std::string sheet = SheetOf(p.part);
      auto [life, is_new] = lives.try_emplace(sheet);
      if (is_new) {
        life->second.first = static_cast<int>(i);
        lanes.push_back(sheet);
      }
      life->second.last = static_cast<int>(i);
    }
  }
  return lanes;
}

Lane LaneIn(const Setup& setup, int index, const std::string& sheet, const LifeOfPart& life) {
  for (std::size_t k = 0; k < setup.parts.size(); ++k) {
    if (SheetOf(setup.parts[k].part) == sheet) return k == 0 ? Lane::kWorked : Lane::kJoined;
  }
  return index > life.first && index < life.last ? Lane::kWaiting : Lane::kNone;
}

// What is said of several features in the same words is said once.
std::vector<std::string> Gathered(const std::vector<std::string>& warnings) {
  struct Said {
    std::string of;
    std::string what;
  };
  std::vector<Said> gathered;
  for (const std::string& warning : warnings) {
    const std::size_t colon = warning.find(": ");
    const bool of_a_feature = colon != std::string::npos && warning.find(' ') > colon;
    Said said = of_a_feature ? Said{warning.substr(0, colon), warning.substr(colon)} : Said{"", warning};
    const auto alike = std::find_if(gathered.begin(), gathered.end(), [&](const Said& s) { return !s.of.empty() && s.what == said.what; });
    if (alike == gathered.end() || !of_a_feature) {
      gathered.push_back(std::move(said));
    } else {
      alike->of += ", " + said.of;
    }
  }
  std::vector<std::string> texts;
  for (const Said& said : gathered) texts.push_back(said.of + said.what);
  return texts;
}

}  // namespace

void AddOverview(const BookContext& context, Book& book) {
  const Plan& plan = context.plan;
  const std::string project =
      plan.project.empty() ? context.machine.name : NameText(plan.project);
  book.pieces.emplace_back(
      Heading{1, Capital(project) + ": build book", std::string(UnitWord(context.unit))});
  book.pieces.emplace_back(
      Entry{"Plan", fmt::format("{}, made for {}, seed {}", plan.inputs_hash.substr(0, 8),
                                context.shop.name, plan.seed),
            Tone::kPlain});
  if (context.older_than_sheets) {
    book.pieces.emplace_back(
        Entry{"Look here", "This plan is older than the sheets: plan again before cutting.",
              Tone::kLook});
  }
  AddOddsSummary(context, book);
  double waiting_min = 0;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) waiting_min += step.wait_min;
  }
  std::string time = fmt::format("{} at the machines and the bench; {} expected with re-cuts and remedies; {} setups.",
                                 TimeText(60 * plan.hours_cutting), TimeText(60 * plan.hours_expected), plan.setups.size());
  if (waiting_min > 0) time += fmt::format(" {} of waiting besides.", TimeText(waiting_min));
  book.pieces.emplace_back(Entry{"Time", time, Tone::kPlain});
  for (const std::string& warning : Gathered(plan.warnings)) {
    book.pieces.emplace_back(Entry{"Look here", context.Say(warning), Tone::kLook});
  }
  AddAdvice(context, book);
  AddParts(context, book);
  AddBuying(context, book);
  AddToHand(context, book);
}

void AddOrderOfWork(const BookContext& context, Book& book) {
  book.pieces.emplace_back(Heading{2, "Order of work", ""});
  std::map<std::string, LifeOfPart> lives;
  const std::vector<std::string> sheets = LanesOf(context.plan, lives);
  OrderOfWork order;
  for (const std::string& sheet : sheets) order.parts.push_back(NameText(sheet));
  for (std::size_t i = 0; i < context.plan.setups.size(); ++i) {
    const Setup& setup = context.plan.setups[i];
    OrderRow row;
    for (const std::string& sheet : sheets) {
      row.lanes.push_back(LaneIn(setup, static_cast<int>(i), sheet, lives[sheet]));
    }
    row.number = std::to_string(setup.number);
    row.text = SetupLine(context, setup);
    row.right = TimeText(setup.time_min);
    row.waits = WaitTexts(context, setup);
    row.pause = PauseInOrder(context, setup);
    order.rows.push_back(std::move(row));
  }
  book.pieces.emplace_back(std::move(order));
}

}  // namespace fitwright::sheets
