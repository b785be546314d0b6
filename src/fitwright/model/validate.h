// What must hold of a machine, a shop and choices before anything is computed from them.
// Independent of files: a fault names a field path, which the reader of files turns into file, line
// and value.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/error.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright {

// path: "parts.NAME.features.NAME.KEY", "parts.NAME.stock", "uses.PART.KEY", "joints.NAME.KEY",
// "requirements.NAME.KEY", "shop.tool.NAME.KEY" (and machine, holding, instrument), "pins.1.KEY"
// (counted from 1), with the keys of docs/FORMATS.md.
struct ModelFault {
  ErrorCode code{};
  std::string path;
  std::string message;
  std::string remedy;
  std::string value;  // as text, when the place it came from does not say it better
};

enum class ValidateDepth {
  kNames,    // references, kinds and what is stated; for a machine whose sheets have faults
  kGeometry  // also sizes and places: needs complete parts
};

// In the order parts, uses, joints, requirements. Empty when the machine is sound.
std::vector<ModelFault> ValidateMachine(const Machine& machine, ValidateDepth depth);
std::vector<ModelFault> ValidateShop(const Shop& shop);
// Subjects that the machine does not have, values that the kind does not take or the shop has not.
std::vector<ModelFault> ValidateChoices(const Choices& choices, const Machine& machine, const Shop& shop);

// One part by itself, and its references only.
void ValidatePart(const Part& part, std::vector<ModelFault>& faults);
void ValidatePartNames(const Part& part, std::vector<ModelFault>& faults);

}  // namespace fitwright
