// One step as the book prints it, for who stands at the machine.
#pragma once

#include "fitwright/sheets/book.h"

namespace fitwright::sheets {

// The step with its tables, "7.3" as its number; with_setup: behind how the setup is held and where
// its zero is. Empty when the plan has no such step.
Book MakeStepPage(const Machine& machine, const Shop& shop, const Plan& plan, const StepId& step,
                  bool with_setup, const BookOptions& options);

}  // namespace fitwright::sheets
