// Plans spoiled on purpose, one fault at a time, at every place where the fault can be made.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::corrupt {

// A spoiled plan, and the shop it is replayed in (some faults are in what the shop can do).
struct Corruption {
  std::string fault;  // the operator's name
  std::string where;  // step or setup
  Plan plan;
  Shop shop;
  // Some faults may do no harm (two steps that do not mind their order). Those that can never be
  // harmless have this set: for them a survivor is a hole in the rules, whatever the solids say.
  bool must_be_caught = false;
};

struct CorruptionResult {
  std::string fault;
  std::string where;
  bool caught = false;
  std::string rule;  // the first broken rule
  std::string say;
  bool harmless =
      false;  // survivors: the same parts came out as of the sound plan, and no rule was broken
  bool must_be_caught = false;
  bool sound() const { return caught || (harmless && !must_be_caught); }
};

// Gives the receiver each spoiled plan in turn.
using Receiver = std::function<void(Corruption)>;
void MakeCorruptions(const Shop& shop, const Plan& plan, const Receiver& give);

}  // namespace fitwright::corrupt

#include "tests/support/corrupt_operators.h"
#include "tests/support/corrupt_run.h"
