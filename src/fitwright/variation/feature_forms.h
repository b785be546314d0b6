// The deviation of one feature from its drawing, as forms, in its part's frame P.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/variation/form.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::variation {

// A displacement of which most is shared with everything cut in the same setup.
struct PoseForms {
  std::shared_ptr<const Form6> base;  // null = none
  Form6 own;
  Form6 Whole() const { return base == nullptr ? own : Plus(*base, own); }
};
void AddMoveAlong(FormSum& sum, const PoseForms& pose, const Vec3& point, const Vec3& direction,
                  double factor = 1);
void AddTurnAbout(FormSum& sum, const PoseForms& pose, const Vec3& direction, double factor = 1);

// One hole of a pattern. across[] are the two directions square to the hole that run_off and
// thread_lean count along.
struct HoleForms {
  PoseForms pose;  // entry, and lean of the spindle's making
  Form size;       // diameter, mm
  std::array<Vec3, 2> across;
  std::array<Form, 2> run_off;      // mm per mm of depth below the entry
  std::array<Form, 2> thread_lean;  // rad; the thread against the hole
  bool started = false;             // spotted, spotted through or drilled: the next drill follows
  bool drilled = false;
  bool threaded = false;
  bool marked = false;              // by a mate's punch or points, not spotted yet
};

struct FeatureForms {
  bool made = false;
  PoseForms pose;  // planes, axes; of a pattern its first hole's
  Form size;       // diameter or width as a gauge finds it: of a bore the smallest, mm
  Form form;       // bores: how much larger the greatest diameter is, mm
  Form taper;      // size per mm along the datum's direction, from the middle of the feature
  Form dishing;    // planes: fall per mm from the rim, mm/mm
  Vec3 dish_centre = Vec3::Zero();
  double rim_mm = 0;
  std::vector<HoleForms> holes;
  InstrumentId measured_with;
  Form lobes;      // bores: how far three lobes stand in and out of the size, on the diameter; no gauge of two points finds them, mm
};

using FeatureMap = std::map<FeatureRef, FeatureForms>;

// How far the feature's surface or axis moves at a point of it, along a direction.
void AddFeatureMove(FormSum& sum, const FeatureForms& feature, const Vec3& point,
                    const Vec3& direction, double factor = 1);
// The same of one hole at a point on its axis `depth` below the entry.
void AddHoleMove(FormSum& sum, const HoleForms& hole, const Vec3& point, double depth,
                 const Vec3& direction, double factor = 1);

}  // namespace fitwright::variation
