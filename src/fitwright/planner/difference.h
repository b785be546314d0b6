// How one plan differs from another, in words.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/shop.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// A sentence for each decision of `to` that `from` makes otherwise, techniques first; empty only for strategies that
// are equal.
std::vector<std::string> WhatDiffers(const Subjects& subjects, const Shop& shop, const Strategy& from, const Strategy& to);

// "+z up".
std::string SideWords(const SetupSketch& sketch);
// "vise, its +y side against the fixed jaw, zero from edges".
std::string HoldingWords(const SetupSketch& sketch, const Shop& shop);

}  // namespace fitwright::planner
