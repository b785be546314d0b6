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
inline int SlowBuilds() {
  const char* deep = std::getenv("FITWRIGHT_DEEP");
  return deep != nullptr && std::string(deep) == "1" ? 1'000'000 : 20'000;
}

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
inline double Worked(SlowRandom& r, double one_shot, double reading, double most) {
  const double cut = std::sqrt(0.25 * one_shot * one_shot - reading * reading);
  double error = r.Normal(reading);
  for (int cuts = 0;; ++cuts) {
    const double off = r.Normal(cut) - error;
    error = r.Normal(reading);
    if (off + error <= most || cuts == 8) return off;
  }
}

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
inline SlowValue Judged(double value, double lower, double upper) {
  return {value, value >= lower && value <= upper};
}

inline SlowTally Build(std::uint64_t seed, const std::function<SlowValue(SlowRandom&)>& one) {
  SlowRandom random(seed);
  SlowTally tally;
  tally.builds = SlowBuilds();
  double sum = 0;
  double squares = 0;
  for (int i = 0; i < tally.builds; ++i) {
    const SlowValue v = one(random);
    tally.met += v.met ? 1 : 0;
    sum += v.value;
    squares += v.value * v.value;
  }
  tally.mean = sum / tally.builds;
  tally.sigma = std::sqrt(std::max(0.0, squares / tally.builds - tally.mean * tally.mean));
  return tally;
}

inline Odds FastOdds(const Machine& machine, const Shop& shop, const Plan& plan = {}) {
  variation::OddsOptions options;
  options.builds = SlowBuilds();
  options.seed = 7;
  options.shop_band = false;
  const auto odds = variation::CalcOdds(machine, shop, plan, options);
  EXPECT_TRUE(odds) << Format(odds.error());
  return odds ? *odds : Odds{};
}

// The deep run's figures, to be written down.
inline void PrintDeep(const RequirementOdds& fast, const SlowTally& slow) {
  if (slow.builds < 1'000'000) return;
  std::printf("%s: odds %.5f, the slow way %.5f; mean %.6g, %.6g; sigma %.6g, %.6g\n",
              fast.name.text().c_str(), fast.chance.odds, slow.odds(), fast.mean, slow.mean,
              fast.sigma, slow.sigma);
}

// Two counts of one chance, and two means of one quantity: 4.5 sigma of their difference, which
// chance passes in one of 150000 comparisons. second_order: what the straight-line forms may leave
// out.
inline void ExpectSame(const RequirementOdds& fast, const SlowTally& slow, double second_order) {
  constexpr double kSigmas = 4.5;
  SCOPED_TRACE(fast.name.text());
  PrintDeep(fast, slow);
  const double n = slow.builds;
  const double p = 0.5 * (fast.chance.odds + slow.odds());
  EXPECT_NEAR(fast.chance.odds, slow.odds(), kSigmas * std::sqrt(2 * p * (1 - p) / n) + 3 / n);
  const double sigma = std::max(fast.sigma, slow.sigma);
  EXPECT_NEAR(fast.mean, slow.mean, kSigmas * sigma * std::sqrt(2 / n) + second_order);
  // A sigma's own doubt, for tails up to a normal's: sigma / sqrt(2 n) each.
  EXPECT_NEAR(fast.sigma, slow.sigma, kSigmas * sigma / std::sqrt(n) + second_order);
}

// A part whose axis runs from `low` to `high` as drawn and now from low_now to high_now: the
// shortest turn that takes it there; its place along the line as at `low`.
inline Pose AlongAxis(const Vec3& low, const Vec3& high, const Vec3& low_now,
                      const Vec3& high_now) {
  Pose moved = Pose::Identity();
  moved.linear() =
      Eigen::Quaterniond::FromTwoVectors(high - low, high_now - low_now).toRotationMatrix();
  moved.translation() = low_now - moved.linear() * low;
  return moved;
}

// Carries three points of a plane to three points near them, the first two directions in its plane
// kept.
inline Pose OnThreePoints(const std::vector<Vec3>& drawn, const std::vector<Vec3>& now) {
  const auto frame = [](const std::vector<Vec3>& p) {
    const Vec3 n = (p[1] - p[0]).cross(p[2] - p[0]).normalized();
    return n;
  };
  Pose moved = Pose::Identity();
  moved.linear() = Eigen::Quaterniond::FromTwoVectors(frame(drawn), frame(now)).toRotationMatrix();
  moved.translation() = now[0] - moved.linear() * drawn[0];
  return moved;
}

inline double FromLine(const Vec3& p, const Vec3& on_line, const Vec3& direction) {
  return (p - on_line).cross(direction.normalized()).norm();
}

// Parts whose every surface is as supplied: sizes evenly within their limits, places exact.
inline Feature AsSupplied(Feature feature) {
  feature.finish = Finish::kAsSupplied;
  return feature;
}
inline Feature SuppliedFace(const std::string& name, const Vec3& normal, const Size& at) {
  PlanarFace face;
  face.normal_P = normal;
  face.at = at;
  return {FeatureId(name), face, Finish::kAsSupplied, false, {}};
}
inline Part SuppliedBlock(const std::string& name, const Vec3& low, const Vec3& high) {
  Part part = MakeBlock(name, low, high);
  for (Feature& feature : part.features) {
    feature.finish = Finish::kAsSupplied;
    Size& at = std::get<PlanarFace>(feature.shape).at;
    at.lower_mm = at.upper_mm = at.nominal_mm;
  }
  return part;
}
// About z from 0 up to `length`; features outside, bore (when bored), low_end, high_end.
inline Part SuppliedRound(const std::string& name, const Size& outside,
                          const std::optional<Size>& bore, double length_mm) {
  Part part;
  part.name = PartId(name);
  part.material = "steel";
  part.envelope = EnvelopeKind::kTurned;
  part.features.push_back(AsSupplied(MakeOutside("outside", {}, 0, length_mm, outside)));
  if (bore) {
    part.features.push_back(
        AsSupplied(MakeHoles("bore", -Vec3::UnitZ(), {{0, 0, length_mm}}, *bore, length_mm, true)));
  }
  part.features.push_back(SuppliedFace("low_end", -Vec3::UnitZ(), MakeSize(0, 0)));
  part.features.push_back(SuppliedFace("high_end", Vec3::UnitZ(), MakeSize(length_mm, length_mm)));
  return part;
}

inline FeatureRef RefTo(const std::string& text) {
  const std::size_t dot = text.find('.');
  return {PartId(text.substr(0, dot)), FeatureId(text.substr(dot + 1))};
}
inline Joint JoinedBy(const std::string& name, JointKind kind, const std::string& fixed,
                      const std::string& moving) {
  Joint joint;
  joint.name = JointId(name);
  joint.kind = kind;
  joint.fixed = RefTo(fixed);
  joint.moving = RefTo(moving);
  return joint;
}
inline Requirement Required(const std::string& name, RequirementKind kind, const std::string& a,
                            const std::string& b, std::optional<double> lower,
                            std::optional<double> upper) {
  Requirement r;
  r.name = RequirementId(name);
  r.kind = kind;
  if (!a.empty()) r.a = RefTo(a);
  if (!b.empty()) r.b = RefTo(b);
  r.lower = lower;
  r.upper = upper;
  return r;
}
inline PartUse StandsAt(const std::string& part, const Vec3& at_W_mm) {
  PartUse use;
  use.part = PartId(part);
  use.X_WP.translation() = at_W_mm;
  return use;
}

}  // namespace fitwright::testing
