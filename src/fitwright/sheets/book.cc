#include "fitwright/sheets/book.h"

#include <algorithm>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/step_words.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {

namespace {

bool HasFigure(const std::string& name) {
  return std::any_of(name.begin(), name.end(), [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

BookContext::BookContext(const Machine& machine_in, const Shop& shop_in, const Plan& plan_in,
                         const BookOptions& options)
    : machine(machine_in),
      shop(shop_in),
      plan(plan_in),
      unit(options.unit),
      older_than_sheets(options.older_than_sheets),
      pauses(FindPauses(plan_in)) {
  for (const Tool& t : shop.tools) kept_.push_back(t.words);
  for (const Instrument& i : shop.instruments) kept_.push_back(i.words);
  for (const HoldingDevice& h : shop.holding) kept_.push_back(h.words);
  for (const BoughtPart& b : machine.bought) kept_.push_back(b.what);
  for (const Part& part : machine.parts) {
    for (const Feature& f : part.features) {
      if (HasFigure(f.name.text())) kept_.push_back(NameText(f.name.text()));
    }
  }
  for (const Requirement& r : machine.requirements) {
    if (HasFigure(r.name.text())) kept_.push_back(NameText(r.name.text()));
  }
  for (const Setup& s : plan.setups) numbers_.emplace(s.id, s.number);
}

std::string BookContext::Say(const std::string& sentence) const {
  return SentenceInUnit(sentence, unit, kept_);
}

std::string BookContext::SayAtMachine(const std::string& sentence) const {
  return ShopSentenceInUnit(NameText(sentence), unit, kept_);
}

std::optional<std::string> BookContext::SayStep(const std::string& sentence) const {
  const std::string said = NameText(sentence);
  return unit == LengthUnit::kMillimetre ? said : StepSentenceInInches(said, kept_);
}

std::string BookContext::ToolText(const ToolId& tool) const {
  const Tool* found = shop.Find(tool);
  if (found == nullptr || found->words.empty()) return NameText(tool.text());
  return found->words;
}

std::string BookContext::MachineText(const MachineToolId& tool) const {
  const MachineTool* found = shop.Find(tool);
  if (found == nullptr || found->words.empty()) return NameText(tool.text());
  return found->words;
}

std::string BookContext::InstrumentText(const InstrumentId& instrument) const {
  for (const Instrument& i : shop.instruments) {
    if (i.name == instrument && !i.words.empty()) return i.words;
  }
  return NameText(instrument.text());
}

bool BookContext::IsLathe(const Setup& setup) const {
  const MachineTool* found = shop.Find(setup.machine);
  return found != nullptr && found->kind == MachineToolKind::kLathe;
}

int BookContext::NumberOf(const SetupId& setup) const {
  const auto found = numbers_.find(setup);
  return found == numbers_.end() ? 0 : found->second;
}

std::string BookContext::PiecesText(const Setup& setup) const {
  std::vector<std::string> names;
  for (const PartPose& p : setup.parts) names.push_back(NameText(p.part.text()));
  if (names.size() < 2) return names.empty() ? "bench" : names[0];
  constexpr std::size_t kMostNames = 6;
  if (names.size() > kMostNames) return fmt::format("{} with {} others", names[0], names.size() - 1);
  const std::string held = names[0];
  names.erase(names.begin());
  return held + " with " + ListText(names);
}

Book MakeBook(const Machine& machine, const Shop& shop, const Plan& plan,
              const BookOptions& options) {
  const BookContext context(machine, shop, plan, options);
  Book book;
  AddOverview(context, book);
  AddOrderOfWork(context, book);
  for (const Setup& setup : plan.setups) AddSetupSheet(context, setup, book);
  AddJoints(context, book);
  AddFit(context, plan.odds, book);
  AddFoundations(context, plan.odds, book);
  AddCautions(context, book);
  return book;
}

Book MakeSetupSheet(const Machine& machine, const Shop& shop, const Plan& plan,
                    const SetupId& setup, const BookOptions& options) {
  const BookContext context(machine, shop, plan, options);
  Book book;
  for (const Setup& s : plan.setups) {
    if (s.id == setup) AddSetupSheet(context, s, book);
  }
  return book;
}

Book MakeOddsPages(const Machine& machine, const Shop& shop, const Plan& plan, const Odds& odds,
                   const BookOptions& options) {
  const BookContext context(machine, shop, plan, options);
  Book book;
  AddFit(context, odds, book);
  AddFoundations(context, odds, book);
  return book;
}

}  // namespace fitwright::sheets
