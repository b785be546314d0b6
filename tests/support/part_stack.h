// Made-up machines of any number of parts, as the odds see them: towers of ten parts, each on the
// one before by four screws and a spigot.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "fitwright/variation/analysis.h"

namespace fitwright::testing {

inline constexpr int kPartsOfTower = 10;

// Adds a source of the law, its figure that of `spread`, at `unit` of it.
inline variation::SourceIndex AddMadeUp(variation::Analysis& a, variation::Law law,
                                        variation::SpreadId spread, double unit) {
  variation::Source s;
  s.key = 1 + a.sources.size();
  s.size_key = s.key + (std::uint64_t{1} << 40);
  s.law = law;
  s.spread = spread;
  s.unit = unit;
  return a.sources.Add(s);
}

// One part on the tower: where its top stands against the bottom, x, y and height.
class TowerPart {
 public:
  TowerPart(variation::Analysis& a, const std::array<variation::Form, 3>& below, int number)
      : a_(a), name_("part" + std::to_string(number)), key_(static_cast<std::uint64_t>(number)) {
    using variation::Law;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      variation::FormSum sum;
      sum.Add(below[axis]);
      for (int k = 0; k < 3; ++k) sum.Add(Error(Law::kNormal, 0.01), 0.4 + 0.1 * k);
      if (axis == 2) sum.Add(Error(Law::kHalfNormal, 0.004));
      top_[axis] = sum.Take();
    }
    AddSpigot();
    AddScrews();
    AddHeight();
  }
  const std::array<variation::Form, 3>& top() const { return top_; }

 private:
  variation::SourceIndex Error(variation::Law law, double unit) {
    return AddMadeUp(a_, law, variation::SpreadId::kEdgeFinder, unit);
  }

  variation::RequirementForms Named(const char* what, variation::TestKind test) const {
    variation::RequirementForms r;
    r.name = RequirementId(name_ + what);
    r.test = test;
    return r;
  }

  // The spigot rests anywhere in its play, and what stands on the part goes with it.
  void AddSpigot() {
    using variation::Law;
    variation::Play play;
    play.key = (std::uint64_t{1} << 50) + key_;
    play.tx = AddMadeUp(a_, Law::kPlay, variation::SpreadId::kJointPlay, 1);
    play.ty = AddMadeUp(a_, Law::kPlay, variation::SpreadId::kJointPlay, 1);
    variation::FloatLimit limit;
    variation::FormSum room;
    room.Add(0.015);
    room.Add(Error(Law::kNormal, 0.002), 1);
    room.Add(Error(Law::kNormal, 0.002), -1);
    limit.room = room.Take();
    for (std::size_t axis = 0; axis < 2; ++axis)
      limit.offset[axis] = variation::FormOf(Error(Law::kNormal, 0.003));
    play.within.limits = {limit};
    top_[0] = Plus(top_[0], variation::FormOf(play.tx));
    top_[1] = Plus(top_[1], variation::FormOf(play.ty));
    variation::RequirementForms fit = Named("_fit", variation::TestKind::kClearance);
    fit.lower = 0.009;
    fit.linear = {limit.room};
    a_.requirements.push_back(std::move(fit));
    a_.plays.push_back(std::move(play));
  }

  void AddScrews() {
    using variation::Law;
    variation::RequirementForms screws = Named("_screws", variation::TestKind::kScrews);
    for (int s = 0; s < 4; ++s) {
      variation::FloatLimit limit;
      limit.screw = s;
      limit.q = Vec2(s % 2 == 0 ? 20 : -20, s < 2 ? 20 : -20);
      limit.room = variation::FormOf(Error(Law::kNormal, 0.02));
      limit.room.constant = 0.2;
      for (std::size_t axis = 0; axis < 2; ++axis) {
        variation::FormSum sum;
        sum.Add(Error(Law::kRayleighX, 0.06));
        sum.Add(Error(Law::kNormal, 0.05));
        limit.offset[axis] = sum.Take();
      }
      screws.screws.limits.push_back(std::move(limit));
    }
    a_.requirements.push_back(std::move(screws));
  }

  void AddHeight() {
    variation::RequirementForms height = Named("_height", variation::TestKind::kLinear);
    height.linear = {top_[2]};
    height.lower = -0.05;
    height.upper = 0.06;
    a_.requirements.push_back(std::move(height));
    variation::RequirementForms aside = Named("_aside", variation::TestKind::kMagnitude);
    aside.vectors = {{top_[0], top_[1]}};
    aside.upper = 0.06;
    a_.requirements.push_back(std::move(aside));
  }

  variation::Analysis& a_;
  std::string name_;
  std::uint64_t key_;
  std::array<variation::Form, 3> top_;
};

inline variation::Analysis MakePartStack(int parts) {
  variation::Analysis a;
  a.figures[variation::Place(variation::SpreadId::kEdgeFinder)] = {0, 1};
  a.figures[variation::Place(variation::SpreadId::kJointPlay)] = {0, 1};
  std::array<variation::Form, 3> top;
  for (int p = 0; p < parts; ++p) {
    if (p % kPartsOfTower == 0) top = {};
    top = TowerPart(a, top, p).top();
  }
  return a;
}

}  // namespace fitwright::testing
