// What of a normal form shows on the solid.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "fitwright/recognize/normal_form.h"
#include "fitwright/recognize/placed_graph.h"
#include "fitwright/solid/inside_probe.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

constexpr double kAnyFigure = std::numeric_limits<double>::quiet_NaN();
// How far behind a wall its metal is looked for.
constexpr double kBehind_mm = 0.02;
constexpr int kAcross = 9;  // places across a wall
constexpr int kAlong = 24;  // places along an axis, and round it

double Share(int i, int count) { return (i + 0.5) / count; }

class Shower {
 public:
  explicit Shower(const solid::Solid& solid_N) : probe_(solid_N), box_N_(solid::CalcBox(solid_N)) {}
  // None where nothing of it shows.
  std::optional<NormalItem> Shown(const NormalItem& item) const;

 private:
  bool IsMetal(const Vec3& p) const { return probe_.IsInside(p); }
  std::optional<NormalItem> Cavity(const Box3& box, std::optional<int> corner_axis,
                                   double corner_mm) const;
  std::optional<NormalItem> Prism(const NormalItem& item) const;
  std::optional<NormalItem> Inside(NormalItem item) const;
  bool ShowsSide(const Box3& box, int side, std::optional<int> corner_axis, double corner_mm) const;
  bool ShowsCorner(const Box3& box, int axis, double corner_mm) const;
  bool ShowsPoint(const NormalItem& point) const;

  solid::InsideProbe probe_;
  Box3 box_N_;
};

bool Shower::ShowsSide(const Box3& box, int side, std::optional<int> corner_axis,
                       double corner_mm) const {
  const int axis = side / 2;
  const bool low = side % 2 == 0;
  const std::array<int, 2> others = {(axis + 1) % 3, (axis + 2) % 3};
  Vec3 p = Vec3::Zero();
  p[axis] = low ? box.min_mm[axis] - kBehind_mm : box.max_mm[axis] + kBehind_mm;
  const auto at = [&](int other, int i) {
    // Straight between the corners; of a half round its middle line.
    const bool rounded = corner_axis && axis != *corner_axis && other != *corner_axis;
    const double in = rounded ? std::min(corner_mm, 0.5 * box.size_mm()[other]) : 0.0;
    return box.min_mm[other] + in + Share(i, kAcross) * (box.size_mm()[other] - 2 * in);
  };
  for (int i = 0; i < kAcross; ++i) {
    for (int k = 0; k < kAcross; ++k) {
      p[others[0]] = at(others[0], i);
      p[others[1]] = at(others[1], k);
      if (IsMetal(p)) return true;
    }
  }
  return false;
}

bool Shower::ShowsCorner(const Box3& box, int axis, double corner_mm) const {
  const int u = (axis + 1) % 3;
  const int v = (axis + 2) % 3;
  for (const bool high_u : {false, true}) {
    for (const bool high_v : {false, true}) {
      for (int i = 0; i < kAlong; ++i) {
        Vec3 p = Vec3::Zero();
        p[u] = high_u ? box.max_mm[u] - 0.1 * corner_mm : box.min_mm[u] + 0.1 * corner_mm;
        p[v] = high_v ? box.max_mm[v] - 0.1 * corner_mm : box.min_mm[v] + 0.1 * corner_mm;
        p[axis] = box.min_mm[axis] + Share(i, kAlong) * box.size_mm()[axis];
        if (IsMetal(p)) return true;
      }
    }
  }
  return false;
}

std::optional<NormalItem> Shower::Cavity(const Box3& box, std::optional<int> corner_axis,
                                         double corner_mm) const {
  NormalItem cavity{"cavity", {}};
  bool any = false;
  for (int side = 0; side < 6; ++side) {
    const bool shows = ShowsSide(box, side, corner_axis, corner_mm);
    any |= shows;
    cavity.figures.push_back(shows ? (side % 2 == 0 ? box.min_mm : box.max_mm)[side / 2] : kAnyFigure);
  }
  if (!any) return std::nullopt;
  const bool rounded = corner_axis && corner_mm > 0 && ShowsCorner(box, *corner_axis, corner_mm);
  cavity.figures.push_back(rounded ? *corner_axis : kAnyFigure);
  cavity.figures.push_back(rounded ? corner_mm : kAnyFigure);
  return cavity;
}

std::optional<NormalItem> Shower::Prism(const NormalItem& item) const {
  const std::vector<double>& f = item.figures;
  const int axis = static_cast<int>(f[0]);
  Box3 box = box_N_;
  std::size_t next = 3;
  for (int i = 0; i < 3; ++i) {
    if (i == axis) continue;
    box.min_mm[i] = f[next++];
    box.max_mm[i] = f[next++];
  }
  if (f[1] > 0) box.max_mm[axis] = f[2];
  if (f[1] < 0) box.min_mm[axis] = f[2];
  return Cavity(box, axis, f[7]);
}

// The straight piece of a hole: its wall, and what stands at its ends.
std::optional<NormalItem> Shower::Inside(NormalItem item) const {
  std::vector<double>& f = item.figures;
  const Vec3 d(f[0], f[1], f[2]);
  const Vec3 foot(f[3], f[4], f[5]);
  const Vec3 u = d.unitOrthogonal();
  const Vec3 v = d.cross(u);
  const double from = std::isnan(f[6]) ? d.cwiseAbs().dot(box_N_.min_mm) : f[6];
  const double to = std::isnan(f[7]) ? d.cwiseAbs().dot(box_N_.max_mm) : f[7];
  const auto any_round = [&](double at, double radius) {
    for (int i = 0; i < kAlong; ++i) {
      const double angle = 2 * kPi * Share(i, kAlong);
      if (IsMetal(foot + at * d + radius * (std::cos(angle) * u + std::sin(angle) * v)))
        return true;
    }
    return false;
  };
  bool wall = false;
  for (int i = 0; i < kAlong && !wall; ++i) {
    const double share = Share(i, kAlong);
    wall = any_round(from + share * (to - from), f[8] + share * (f[9] - f[8]) + kBehind_mm);
  }
  const bool straight = IsSame(f[8], f[9]);
  bool ends = false;
  for (const bool high : {false, true}) {
    const double at = high ? to + kBehind_mm : from - kBehind_mm;
    bool shows = false;
    for (const double share : {0.995, 0.97, 0.9, 0.75, 0.5, 0.2})
      shows = shows || any_round(at, share * f[8]);
    ends |= shows;
    if (!shows && straight) f[high ? 7 : 6] = kAnyFigure;
  }
  if (!wall && !ends) return std::nullopt;
  return item;
}

// A drill's point, whichever way it looks.
bool Shower::ShowsPoint(const NormalItem& point) const {
  const std::vector<double>& f = point.figures;
  const Vec3 d(f[0], f[1], f[2]);
  const Vec3 foot = Vec3(f[3], f[4], f[5]) + f[6] * d;
  const Vec3 u = d.unitOrthogonal();
  const Vec3 v = d.cross(u);
  const double slope = 1 / std::tan(0.5 * f[8] * kRadPerDeg);
  for (const double sense : {-1.0, 1.0}) {
    for (int i = 0; i < kAlong; ++i) {
      const double r = Share(i, kAlong) * f[7];
      for (int k = 0; k < kAlong; ++k) {
        const double angle = 2 * kPi * Share(k, kAlong);
        const Vec3 p = foot + r * (std::cos(angle) * u + std::sin(angle) * v) +
                       sense * ((f[7] - r) * slope + kBehind_mm) * d;
        if (IsMetal(p)) return true;
      }
    }
  }
  return false;
}

std::optional<NormalItem> Shower::Shown(const NormalItem& item) const {
  if (item.kind == "prism") return Prism(item);
  if (item.kind == "inside") return Inside(item);
  if (item.kind == "box") {
    const std::vector<double>& f = item.figures;
    return Cavity({Vec3(f[0], f[1], f[2]), Vec3(f[3], f[4], f[5])}, std::nullopt, 0);
  }
  if (item.kind == "drill_point" && !ShowsPoint(item)) return std::nullopt;
  return item;
}

}  // namespace

std::vector<NormalItem> WhatShows(const std::vector<NormalItem>& items,
                                  const solid::Solid& solid_N) {
  const Shower shower(solid_N);
  std::vector<NormalItem> shown;
  for (const NormalItem& item : items) {
    if (auto seen = shower.Shown(item)) shown.push_back(*std::move(seen));
  }
  return shown;
}

}  // namespace fitwright::recognize
