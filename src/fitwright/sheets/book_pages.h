// The pages that MakeBook puts together; private to this layer.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/sheets/book.h"
#include "fitwright/sheets/pauses.h"

namespace fitwright::sheets {

class BookContext {
 public:
  BookContext(const Machine& machine, const Shop& shop, const Plan& plan,
              const BookOptions& options);

  const Machine& machine;
  const Shop& shop;
  const Plan& plan;
  LengthUnit unit;
  bool older_than_sheets;
  std::vector<Pause> pauses;

  // A planner's or builder's sentence with its lengths in the reader's unit.
  std::string Say(const std::string& sentence) const;
  // The same for sentences of the shop floor, where bare decimal numbers are lengths.
  std::string SayAtMachine(const std::string& sentence) const;
  // A step's sentence; nothing where a number in it cannot be told to be a length or not, on an inch page.
  std::optional<std::string> SayStep(const std::string& sentence) const;
  std::string ToolText(const ToolId& tool) const;
  std::string MachineText(const MachineToolId& tool) const;
  std::string InstrumentText(const InstrumentId& instrument) const;
  bool IsLathe(const Setup& setup) const;
  // 0 when the plan has no such setup.
  int NumberOf(const SetupId& setup) const;
  // "body", "body with front housing": what is in the setup.
  std::string PiecesText(const Setup& setup) const;

 private:
  std::vector<std::string> kept_;
  std::map<SetupId, int> numbers_;
};

void AddOverview(const BookContext& context, Book& book);
void AddOrderOfWork(const BookContext& context, Book& book);
// What the setups ask for beside machines, cutters and instruments: packing, pins, oils.
void AddToHand(const BookContext& context, Book& book);
// What to lay out for one setup beside its cutters: instruments, packing, pins, oils; may be empty.
std::string FetchText(const BookContext& context, const Setup& setup);
void AddSetupSheet(const BookContext& context, const Setup& setup, Book& book);
// What is brushed on while the setup cuts; empty on the bench.
std::string OilText(const BookContext& context, const Setup& setup);
// The check reading, without a label of its own.
std::string WitnessText(const BookContext& context, const Setup& setup);
void AddSteps(const BookContext& context, const Setup& setup, Book& book);
// Where to break off in this setup, for the order of work; often empty.
std::string PauseInOrder(const BookContext& context, const Setup& setup);
// The same behind its step.
void AddPause(const BookContext& context, const Setup& setup, const Step& step, Book& book);
// What can be done while a step of this setup waits.
std::string MeanwhileText(const BookContext& context, const Setup& setup);
void AddJoints(const BookContext& context, Book& book);
void AddFit(const BookContext& context, const Odds& odds, Book& book);
void AddFoundations(const BookContext& context, const Odds& odds, Book& book);
void AddCautions(const BookContext& context, Book& book);

// Limits of a requirement in words: "within 0.700 mrad", "0.025 to 0.045".
std::string RequirementLimits(const BookContext& context, const RequirementOdds& odds);
const Requirement* FindRequirement(const Machine& machine, const RequirementId& name);
// The builder's sentence, else one made from kind and features.
std::string RequirementSentence(const BookContext& context, const RequirementOdds& odds);
// Largest cause that is something in the shop; nullptr when there is none.
const CauseShare* LargestCause(const RequirementOdds& odds);

}  // namespace fitwright::sheets
