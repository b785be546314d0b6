// What a drawing of a setup is made from: the plan, and the pieces as solids.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/size.h"

namespace fitwright::sheets {

// All referred to, none owned; the solids in their part frames, one for each of setup.parts.
struct SetupPicture {
  const Machine& machine;
  const Shop& shop;
  const Plan& plan;
  const Setup& setup;
  std::vector<solid::Solid> before_P;
  std::vector<solid::Solid> after_P;
  LengthUnit unit = LengthUnit::kMillimetre;
};

// One A4 page, SVG: the piece as it sits in the machine, seen as one stands, from above and from the side
// (lathe: from the operator and from the tailstock); holding in light line, what will be removed
// hatched, datum faces lettered, zero and axes drawn, holes numbered as in the report, and how it is
// held and zeroed in words. Errors: kKernel. Deterministic.
Result<std::string> DrawSetup(const SetupPicture& picture);

// One A4 page, SVG: the holes of the setup seen along the spindle, numbered, with the table of what the
// dials read over each. Empty text when the setup has no holes to place.
Result<std::string> DrawHolePlan(const SetupPicture& picture);

// A4 pages, SVG: every step of the setup in order with a box to tick, its tool and speed, the readings of
// each pass and of every place large, aim and limits, and a box for what is measured. None on the bench.
std::vector<std::string> DrawCuts(const SetupPicture& picture);

}  // namespace fitwright::sheets
