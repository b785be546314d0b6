// From a plan to the build book: what it says and in which order. Layout is left to the renderers.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/sheets/sheet_model.h"
#include "fitwright/units/size.h"

namespace fitwright::sheets {

struct BookOptions {
  LengthUnit unit = LengthUnit::kMillimetre;
  bool older_than_sheets = false;  // the sheets have changed since the plan was made
};

// The whole book: overview, what to do differently, what to buy, order of work, one sheet for each
// setup, joints, will it fit, what was assumed, cautions. Lengths in options.unit. Names in the plan
// that machine or shop do not know are printed as they stand. Deterministic.
Book MakeBook(const Machine& machine, const Shop& shop, const Plan& plan,
              const BookOptions& options);

// The sheet of one setup alone.
Book MakeSetupSheet(const Machine& machine, const Shop& shop, const Plan& plan,
                    const SetupId& setup, const BookOptions& options);

// Odds, causes and what they rest on, without the work.
Book MakeOddsPages(const Machine& machine, const Shop& shop, const Plan& plan, const Odds& odds,
                   const BookOptions& options);

}  // namespace fitwright::sheets
