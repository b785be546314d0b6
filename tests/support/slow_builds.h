// The same machines built again the slow way: plain random numbers, whole rotations and exact
// distances, no linear forms. What both ways say must agree within what their counts allow.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <limits>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/variation/odds.h"
#include "tests/support/plan_builders.h"

namespace fitwright::testing {

// FITWRIGHT_DEEP=1 in the environment: a million builds.
int SlowBuilds();

class SlowRandom {
 public:
  explicit SlowRandom(std::uint64_t seed) : engine_(seed) {}
  double Unit() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  double Between(double low, double high) { return low + (high - low) * Unit(); }
  double In(const Size& size) { return Between(size.lower_mm, size.upper_mm); }
  // Marsaglia's polar method.
  double Normal(double sigma) {
    while (true) {
      const double x = Between(-1, 1);
      const double y = Between(-1, 1);
      const double s = x * x + y * y;
      if (s > 0 && s < 1) return sigma * x * std::sqrt(-2 * std::log(s) / s);
    }
  }
  double HalfNormal(double sigma) { return std::abs(Normal(sigma)); }
  // Anywhere in a disc; its middle where there is no room.
  Vec2 Disc(double radius) {
    if (radius <= 0) return Vec2::Zero();
    while (true) {
      const Vec2 p(Between(-1, 1), Between(-1, 1));
      if (p.squaredNorm() <= 1) return radius * p;
    }
  }

 private:
  std::mt19937_64 engine_;
};

// Cut, read, cut again while what shows is too much; what shows too little stays. Each cut is set
// by the reading before it; the last cut is good to half the spread of one made in one go, that
// reading with it. Counted from the wanted size, a shaft's way.
double Worked(SlowRandom& r, double one_shot, double reading, double most);

struct SlowTally {
  int builds = 0;
  int met = 0;
  double mean = 0;
  double sigma = 0;
  double odds() const { return static_cast<double>(met) / builds; }
};

// value of one build; met when all that it reads lies within the limits.
struct SlowValue {
  double value = 0;
  bool met = false;
};
SlowValue Judged(double value, double lower, double upper);

SlowTally Build(std::uint64_t seed, const std::function<SlowValue(SlowRandom&)>& one);

Odds FastOdds(const Machine& machine, const Shop& shop, const Plan& plan = {});

// The deep run's figures, to be written down.
void PrintDeep(const RequirementOdds& fast, const SlowTally& slow);

// Two counts of one chance, and two means of one quantity: 4.5 sigma of their difference, which
// chance passes in one of 150000 comparisons. second_order: what the straight-line forms may leave
// out.
void ExpectSame(const RequirementOdds& fast, const SlowTally& slow, double second_order);

// A part whose axis runs from `low` to `high` as drawn and now from low_now to high_now: the
// shortest turn that takes it there; its place along the line as at `low`.
Pose AlongAxis(const Vec3& low, const Vec3& high, const Vec3& low_now, const Vec3& high_now);

// Carries three points of a plane to three points near them, the first two directions in its plane
// kept.
Pose OnThreePoints(const std::vector<Vec3>& drawn, const std::vector<Vec3>& now);

double FromLine(const Vec3& p, const Vec3& on_line, const Vec3& direction);

// Parts whose every surface is as supplied: sizes evenly within their limits, places exact.
Feature AsSupplied(Feature feature);
Feature SuppliedFace(const std::string& name, const Vec3& normal, const Size& at);
Part SuppliedBlock(const std::string& name, const Vec3& low, const Vec3& high);
// About z from 0 up to `length`; features outside, bore (when bored), low_end, high_end.
Part SuppliedRound(const std::string& name, const Size& outside, const std::optional<Size>& bore,
                   double length_mm);

FeatureRef RefTo(const std::string& text);
Joint JoinedBy(const std::string& name, JointKind kind, const std::string& fixed,
               const std::string& moving);
Requirement Required(const std::string& name, RequirementKind kind, const std::string& a,
                     const std::string& b, std::optional<double> lower,
                     std::optional<double> upper);
PartUse StandsAt(const std::string& part, const Vec3& at_W_mm);

}  // namespace fitwright::testing
