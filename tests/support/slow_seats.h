// Work put into its holding by exact rotations, drawn with plain random numbers: what the tests of
// every holding share. The piece's frame stands where it is drawn in the machine's; a move takes it
// from there to where it is held.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "tests/support/slow_builds.h"

namespace fitwright::testing {

struct SlowLine {
  Vec3 point = Vec3::Zero();
  Vec3 along = Vec3::UnitZ();
};
inline Vec3 AtHeight(const SlowLine& line, double z) {
  return line.point + (z - line.point.z()) / line.along.z() * line.along;
}
// What stands still in the machine, seen from the moved piece.
inline SlowLine SeenFrom(const Pose& moved, const SlowLine& line) {
  return {moved.inverse() * line.point, moved.linear().transpose() * line.along};
}
inline double AngleBetween(const Vec3& a, const Vec3& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b));
}
// How far the line is from the piece's own z axis at the worse of two heights.
inline double OffAxis(const SlowLine& line, double low, double high) {
  return std::max(AtHeight(line, low).head<2>().norm(), AtHeight(line, high).head<2>().norm());
}

inline Vec2 AnyWay(SlowRandom& random, double length) {
  const double angle = random.Between(0, 2 * kPi);
  return length * Vec2(std::cos(angle), std::sin(angle));
}
// A length whose median is stated, of two independent normals.
inline double LengthOf(SlowRandom& random, double median) {
  const double sigma = median / std::sqrt(2 * std::log(2.0));
  const double x = random.Normal(sigma);
  return std::hypot(x, random.Normal(sigma));
}
inline Vec2 Eccentric(SlowRandom& random, double median) {
  return AnyWay(random, LengthOf(random, median));
}
inline Pose TurnedAbout(const Vec3& point, const Vec3& axis, double angle_rad) {
  Pose turned = Pose::Identity();
  turned.linear() = Eigen::AngleAxisd(angle_rad, axis.normalized()).toRotationMatrix();
  turned.translation() = point - turned.linear() * point;
  return turned;
}
// Leans about a horizontal axis in any direction by the folded angle.
inline Pose Wobbled(SlowRandom& random, const Vec3& about, double sigma_rad) {
  const Vec2 way = AnyWay(random, 1);
  return TurnedAbout(about, Vec3(way.x(), way.y(), 0), std::abs(random.Normal(sigma_rad)));
}
// A chip under one of `count` seats that share the chance.
inline double Chip(SlowRandom& random, double percent, int count) {
  const bool there = random.Unit() < percent / 100 / count;
  return there ? random.Between(0.02, 0.10) : 0;
}
// Each of three seats lifted along z by so much.
inline std::vector<Vec3> Lifted(std::vector<Vec3> seats, const std::array<double, 3>& by) {
  for (std::size_t i = 0; i < seats.size(); ++i) seats[i].z() += by[i];
  return seats;
}
// Shifted sideways until the piece's point stands over the machine's.
inline Pose Centred(Pose moved, const Vec3& point_P, const Vec2& over) {
  moved.translation().head<2>() += over - (moved * point_P).head<2>();
  return moved;
}

// One part by itself, as it is drawn.
inline Machine AloneIn(const Part& part, std::vector<Requirement> requirements) {
  Machine machine;
  machine.parts = {part};
  machine.uses = {StandsAt(part.name.text(), Vec3::Zero())};
  machine.requirements = std::move(requirements);
  return machine;
}
inline Part RoundPart(const std::string& name, std::vector<Feature> features) {
  Part part;
  part.name = PartId(name);
  part.material = "steel";
  part.envelope = EnvelopeKind::kTurned;
  part.features = std::move(features);
  return part;
}
inline HoldingDevice DeviceOf(const std::string& name, HoldingDeviceKind kind) {
  HoldingDevice device;
  device.name = HoldingDeviceId(name);
  device.kind = kind;
  return device;
}

// The setup's frame has the part's axes; its zero stands at that height.
inline Pose Upright(double z = 0) { return SetupPose(Vec3::UnitX(), Vec3::UnitZ(), Vec3(0, 0, z)); }
// A pair of contacts across the axis at a height of the part.
inline void TouchRound(PlanBuilder& b, ContactKind kind, const std::string& feature, double z) {
  b.Touch(kind, feature, {0, 0, z}, Vec3::UnitX());
  b.Touch(kind, feature, {0, 0, z}, Vec3::UnitY());
}
// Three seats under a face, 120 degrees apart.
inline std::vector<Vec3> SeatsAt(double radius, double z) {
  std::vector<Vec3> seats;
  for (int i = 0; i < 3; ++i) {
    const double a = kPi / 2 + i * 2 * kPi / 3;
    seats.emplace_back(radius * std::cos(a), radius * std::sin(a), z);
  }
  return seats;
}
inline void AddRing(PlanBuilder& b, FixtureRole role, double from, double to, bool grips,
                    bool supports) {
  FixtureCylinder ring;
  ring.from_mm = from;
  ring.to_mm = to;
  ring.outer_mm = 20;
  FixtureSolid solid;
  solid.role = role;
  solid.shape = ring;
  solid.grips = grips;
  solid.supports = supports;
  b.plan.setups.back().fixtures.push_back(solid);
}
// A first seat on raw stock: what it leaves is the reference.
inline void FirstSeat(PlanBuilder& b, const std::string& part, const std::string& machine,
                      HoldingKind holding, const std::string& device, const Pose& X_PS) {
  b.AddSetup(part, machine, holding, device, X_PS);
  b.Touch(ContactKind::kRough, "", Vec3::Zero(), Vec3::UnitZ());
}

// value and verdict of each requirement in one build.
using SlowValues = std::vector<SlowValue>;
inline void ExpectHeldAlike(const Machine& machine, const Shop& shop, const Plan& plan,
                            std::uint64_t seed, const std::function<SlowValues(SlowRandom&)>& build,
                            const std::vector<double>& second_order) {
  const Odds odds = FastOdds(machine, shop, plan);
  ASSERT_EQ(odds.requirements.size(), second_order.size());
  for (std::size_t i = 0; i < second_order.size(); ++i) {
    const SlowTally slow = Build(seed + i, [&](SlowRandom& r) { return build(r)[i]; });
    EXPECT_GT(slow.odds(), 0.1) << odds.requirements[i].name.text();
    EXPECT_LT(slow.odds(), 0.98) << odds.requirements[i].name.text();
    ExpectSame(odds.requirements[i], slow, second_order[i]);
  }
}

}  // namespace fitwright::testing
