#include "fitwright/planner/conflict.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/search.h"

namespace fitwright::planner {
namespace {

constexpr std::size_t kMostTogether = 3;

class Trials {
 public:
  Trials(const Machine& machine, const Shop& shop, const PlannerOptions& options) : machine_(machine), shop_(shop), options_(options) {
    options_.work.progress = {};
  }
  bool Holds(const std::vector<Pin>& pins) {
    const Choices choices{pins};
    Search search(machine_, shop_, choices, options_);
    const auto plain = search.Plain();
    if (!plain) why_ = plain.error().message;
    return plain.has_value();
  }
  const std::string& why() const { return why_; }

 private:
  const Machine& machine_;
  const Shop& shop_;
  PlannerOptions options_;
  std::string why_;
};

// Every set of `size` pins from place `from` on, added to `taken`.
bool FindFailing(Trials& trials, const std::vector<Pin>& pins, std::size_t from, std::size_t size, std::vector<Pin>& taken) {
  if (size == 0) return !trials.Holds(taken);
  for (std::size_t i = from; i + size <= pins.size(); ++i) {
    taken.push_back(pins[i]);
    if (FindFailing(trials, pins, i + 1, size - 1, taken)) return true;
    taken.pop_back();
  }
  return false;
}

}  // namespace

Conflict SmallestConflict(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options) {
  Trials trials(machine, shop, options);
  std::vector<Pin> taken;
  for (std::size_t size = 0; size <= std::min(kMostTogether, choices.pins.size()); ++size) {
    if (FindFailing(trials, choices.pins, 0, size, taken)) return {taken, trials.why()};
  }
  std::vector<Pin> left = choices.pins;
  for (const Pin& pin : choices.pins) {
    std::vector<Pin> fewer = left;
    std::erase(fewer, pin);
    if (!trials.Holds(fewer)) left = fewer;
  }
  return {trials.Holds(left) ? std::vector<Pin>{} : left, trials.why()};
}

Error SayConflict(const Conflict& conflict, const Error& error, const std::vector<Lack>& lacks) {
  if (conflict.pins.empty()) return error;
  std::string pins;
  for (const Pin& pin : conflict.pins) {
    pins += fmt::format("{}pin {} {} = {}", pins.empty() ? "" : "; ", WordOf(pin.kind), pin.subject, pin.value);
    if (pin.first > 0) pins += fmt::format(", first {}", pin.first);
  }
  const bool alone = conflict.pins.size() == 1;
  Error said = error;
  said.message = fmt::format("choices.toml: {}: {}: {}", alone ? "this pin leaves no plan" : "these pins cannot all hold, and no fewer of them conflict", pins,
                             conflict.why);
  said.remedy = alone ? "take it out, or put right what it says is missing" : "take one of them out, or put right what is said to be missing";
  if (!lacks.empty()) said.remedy += "; what would let it be made so, cheapest first (opinion):" + MeansWords(lacks);
  return said;
}

}  // namespace fitwright::planner
