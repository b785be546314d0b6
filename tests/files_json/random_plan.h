// Plans drawn at random, every field set, and an equality that looks at every field. The members
// are named here a second time, so that a field added to the model and forgotten in the JSON does
// not compile here, and one that is written but not read back is seen.
#pragma once

#include <bit>
#include <cmath>
#include <cstdint>
#include <string>
#include <tuple>

#include "fitwright/model/plan.h"

namespace fitwright::testing {

#define FW_TIED(Type, ...)          \
  inline auto Tied(Type& s) {       \
    auto& [__VA_ARGS__] = s;        \
    return std::tie(__VA_ARGS__);   \
  }                                 \
  inline auto Tied(const Type& s) { \
    const auto& [__VA_ARGS__] = s;  \
    return std::tie(__VA_ARGS__);   \
  }

FW_TIED(FeatureRef, part, feature)
FW_TIED(Box3, min, max)
FW_TIED(Axis3, point, direction)
FW_TIED(Contact, kind, surface, point, normal, lifts)
FW_TIED(FixtureBox, box, X_SF)
FW_TIED(FixtureCylinder, axis, from, to, outer, inner)
FW_TIED(FixtureSolid, role, shape, grips, supports, grip_normal)
FW_TIED(PathPiece, kind, points, from_z, set_diameter, turns, table)
FW_TIED(Coordinate, hole, x, y, z, table)
FW_TIED(Aim, kind, target, lower, upper, mate, clearance, clearance_lower, clearance_upper, closes)
FW_TIED(MeasureLine, feature, instrument, words, lower, upper, between)
FW_TIED(Settling, requirement, within, span)
FW_TIED(Step, id, features, holes, operation, finishes, tool, rpm, feed, coordinates, depth, levels,
        time, aim, measure, caution, words, through, joints, parts, path, wait, settles)
FW_TIED(Zero, x_from, y_from, z_from, point, routine, witness)
FW_TIED(AngleSetting, by, angle, stack, blocks, line)
FW_TIED(PartPose, part, X_PS, held)
FW_TIED(Setup, id, number, machine, holding, device, parts, up, contacts, keeps_chucking, zero,
        fixtures, opening, grip_depth, parallels, time, waits_for, hold_words, leave_it_in,
        cautions, reasons, steps, angle, tailstock_over)
FW_TIED(TechniqueOption, technique, first, odds, time)
FW_TIED(JointPlan, name, kind, parts, technique, first, alternatives, reason)
FW_TIED(PlannedPart, name, quantity, material, stock, mass)
FW_TIED(CauseShare, source, group, share)
FW_TIED(Chance, odds, low, high, shop_low, shop_high)
FW_TIED(RequirementOdds, name, kind, limits, chance, mean, sigma, causes)
FW_TIED(Odds, all, builds, seed, requirements, blunders, assumed)
FW_TIED(Pin, kind, subject, value, first)
FW_TIED(Advice, say, pins, odds_before, odds_after, minutes, other, gain_low, gain_high)
FW_TIED(BuyLine, what, quantity, why)
FW_TIED(PlanChoice, name, odds, hours, pins)
FW_TIED(Plan, project, version, inputs_hash, seed, hours_cutting, hours_expected, odds, parts,
        setups, joints, advice, choices, buy, assumed, warnings)
FW_TIED(ReplayViolation, step, rule, say)
FW_TIED(ReplayPart, name, steps, violations, design, made, difference)
FW_TIED(ReplayReport, ok, parts)
#undef FW_TIED

// Same bits in every field: -0 differs from 0.
inline bool Same(bool a, bool b) { return a == b; }
inline bool Same(int a, int b) { return a == b; }
inline bool Same(std::int64_t a, std::int64_t b) { return a == b; }
inline bool Same(std::uint64_t a, std::uint64_t b) { return a == b; }
inline bool Same(double a, double b) {
  return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b);
}
inline bool Same(const std::string& a, const std::string& b) { return a == b; }
inline bool Same(const Vec3& a, const Vec3& b) {
  return Same(a.x(), b.x()) && Same(a.y(), b.y()) && Same(a.z(), b.z());
}
inline bool Same(const Pose& a, const Pose& b) {
  for (int i = 0; i < 12; ++i) {
    if (!Same(a.matrix()(i % 3, i / 3), b.matrix()(i % 3, i / 3))) return false;
  }
  return true;
}
template <typename Tag>
bool Same(const Id<Tag>& a, const Id<Tag>& b) {
  return a == b;
}
template <typename E>
requires std::is_enum_v<E>
bool Same(E a, E b) { return a == b; }
template <typename T>
requires std::is_aggregate_v<T>
bool Same(const T& a, const T& b);
template <typename T>
bool Same(const std::optional<T>& a, const std::optional<T>& b) {
  return a.has_value() == b.has_value() && (!a || Same(*a, *b));
}
template <typename T>
bool Same(const std::vector<T>& a, const std::vector<T>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (!Same(a[i], b[i])) return false;
  }
  return true;
}
template <typename... T>
bool Same(const std::variant<T...>& a, const std::variant<T...>& b) {
  if (a.index() != b.index()) return false;
  return std::visit(
      [&b](const auto& one) { return Same(one, std::get<std::decay_t<decltype(one)>>(b)); }, a);
}
template <typename... T>
bool SameTuples(const std::tuple<T...>& a, const std::tuple<T...>& b) {
  return [&]<std::size_t... I>(std::index_sequence<I...>) {
    return (Same(std::get<I>(a), std::get<I>(b)) && ...);
  }
  (std::index_sequence_for<T...>{});
}
template <typename T>
requires std::is_aggregate_v<T>
bool Same(const T& a, const T& b) { return SameTuples(Tied(a), Tied(b)); }

class RandomPlan {
 public:
  explicit RandomPlan(std::uint64_t seed) : state_(seed) {}

  template <typename T>
  T Draw() {
    T value{};
    Fill(value);
    return value;
  }

 private:
  // SplitMix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", 2014.
  std::uint64_t Next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  std::uint64_t Below(std::uint64_t n) { return Next() % n; }
  double Unit() { return static_cast<double>(Next() >> 11) * 0x1p-53; }

  void Fill(bool& b) { b = Below(2) == 1; }
  void Fill(int& i) { i = static_cast<int>(Next()); }
  void Fill(std::int64_t& i) { i = static_cast<std::int64_t>(Next()); }
  void Fill(std::uint64_t& i) { i = Next(); }
  // Any finite bit pattern now and then; else sizes as shops use them. -0 only where a key is
  // always written stays -0, so it is drawn in points and poses alone.
  void Fill(double& d) {
    d = std::bit_cast<double>(Next());
    if (!std::isfinite(d) || d == 0 || Below(4) > 0) {
      d = static_cast<double>(1 + Below(200000)) / 1000 * (Below(2) == 0 ? 1 : -1);
    }
  }
  void Fill(std::string& s) {
    static const std::vector<std::string> kPieces = {
        "mm",           " ", "\"", "\\", "\n", "\t", "\x01", "\xC3\xA9",
        "\xE2\x82\xAC", "{", "]",  ",",  "0",  "M3"};
    s.clear();
    for (std::uint64_t n = Below(8); n > 0; --n) s += kPieces[Below(kPieces.size())];
  }
  template <typename Tag>
  void Fill(Id<Tag>& id) {
    std::string name(1, static_cast<char>('a' + Below(26)));
    for (std::uint64_t n = Below(6); n > 0; --n) name += "abz019_-#"[Below(9)];
    id = Id<Tag>(name);
  }
  void Fill(StepId& id) { id = StepId("s01." + std::to_string(Below(30))); }
  template <typename E>
  requires std::is_enum_v<E>
  void Fill(E& e) { e = WordsOf<E>::kAll[Below(WordsOf<E>::kAll.size())].value; }
  void Fill(Vec3& v) {
    for (int i = 0; i < 3; ++i) {
      Fill(v[i]);
      if (Below(8) == 0) v[i] = Below(2) == 0 ? -0.0 : 0.0;
    }
  }
  void Fill(Pose& pose) {
    Eigen::Quaterniond q(Unit() - 0.5, Unit() - 0.5, Unit() - 0.5, Unit() + 0.1);
    pose = Pose::Identity();
    pose.linear() = q.normalized().toRotationMatrix();
    Vec3 t;
    Fill(t);
    pose.translation() = t;
  }
  template <typename T>
  void Fill(std::optional<T>& o) {
    o.reset();
    if (Below(2) == 0) Fill(o.emplace());
  }
  template <typename T>
  void Fill(std::vector<T>& v) {
    v.resize(Below(4));
    for (T& item : v) Fill(item);
  }
  void Fill(std::variant<FixtureBox, FixtureCylinder>& shape) {
    if (Below(2) == 0) {
      Fill(shape.emplace<FixtureBox>());
    } else {
      Fill(shape.emplace<FixtureCylinder>());
    }
  }
  void FillShares(std::initializer_list<double*> odds) {
    for (double* o : odds) *o = Unit();
  }
  void Limit(Chance& c) { FillShares({&c.odds, &c.low, &c.high, &c.shop_low, &c.shop_high}); }
  void Limit(TechniqueOption& t) { FillShares({&t.odds}); }
  void Limit(JointPlan& j) { j.kind = WordOf(Draw<JointKind>()); }
  void Limit(Advice& a) { FillShares({&a.odds_before, &a.odds_after}); }
  void Limit(PlanChoice& c) { FillShares({&c.odds}); }
  template <typename T>
  void Limit(T&) {}
  template <typename T>
  requires std::is_aggregate_v<T>
  void Fill(T& aggregate) {
    std::apply([this](auto&... members) { (Fill(members), ...); }, Tied(aggregate));
    Limit(aggregate);
  }

  std::uint64_t state_;
};

}  // namespace fitwright::testing
