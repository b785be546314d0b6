// A part's shape as what any sheet of it must say, however it is put: for comparing sheets.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/part.h"
#include "fitwright/solid/solid.h"

namespace fitwright::recognize {

// A piece of the shape: lengths in mm, directions as unit vectors, in a frame N. A figure that sheets of the
// same part may put differently is not a number (where a hole's mouth lies in air).
struct NormalItem {
  std::string kind;
  std::vector<double> figures;
};

// Names, limits, threads, knurls, markings and the order are left out; planes too, for they only name what is
// there. Round features on one axis come together as profiles, so that a dip between two diameters is one
// thing whether the sheet calls it a groove or a third diameter; holes on circles stand one by one; slots,
// pockets and keyways are one kind; what hangs out of the part is cut off where the part ends.
// X_NP turns by whole right angles or the part is turned work seen along its axis.
std::vector<NormalItem> MakeNormalForm(const Part& part, const Pose& X_NP = Pose::Identity());

// The items as far as they show on the solid that the sheet makes: a wall, floor, shoulder, drill's point or
// rounded corner that lies in air all over, because other cuts have taken the metal there, is a figure that is
// not a number, and an item of which nothing shows is left out. Slots, pockets and steps are one kind then.
// Places are tried in fixed numbers; a wall that is left only in narrow strips may count as gone.
std::vector<NormalItem> WhatShows(const std::vector<NormalItem>& items, const solid::Solid& solid_N);

std::string Format(const NormalItem& item);

// Items of one that the other has too, each once; the rest of both.
struct NormalDifference {
  std::size_t shared = 0;
  std::vector<NormalItem> only_a;
  std::vector<NormalItem> only_b;
  bool Equal() const { return only_a.empty() && only_b.empty(); }
};
NormalDifference CompareNormalForms(const std::vector<NormalItem>& a, const std::vector<NormalItem>& b,
                                    double tolerance_mm = 1e-3);

}  // namespace fitwright::recognize
