// How a block that stands at an angle is brought to it: sine bar and gauge
// blocks, protractor, scribed line.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// What the shop's instruments let it do, the finest first.
std::vector<AngleBy> WaysToSet(const Shop &shop);

// How far the side that `up_P` comes nearest to leans, rad; 0 for sides of the
// block itself, at most a quarter of a turn (a block's three pairs of sides).
double Lean_rad(const Vec3 &up_P);

// The setting for that lean; line_mm: how long the scribed line is. kNoPlan
// where the shop has not what it takes, or its blocks come no nearer than half
// of the finest step of its set.
Result<AngleSetting> SetAngle(AngleBy by, double lean_rad, double line_mm, const Shop &shop);

// Minutes beyond seating the piece (opinion): wring and set, set and look,
// scribe and set.
double AngleMinutes(AngleBy by);

// "26 deg 34 min".
std::string DegreesWords(double angle_deg);
// What the builder does. `side`: the side whose slope is set; `low_end`: the
// hand on which it is low.
std::string AngleWords(const AngleSetting &setting, const Shop &shop, const std::string &side,
                       const std::string &low_end);

}  // namespace fitwright::planner
