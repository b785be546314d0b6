#include "fitwright/model/material.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace fitwright {
namespace {

constexpr double kFar_mm = std::numeric_limits<double>::infinity();
constexpr double kEndless_mm = 1e6;  // beyond every part

std::optional<Stretch> Both(const std::optional<Stretch>& a, const std::optional<Stretch>& b) {
  if (!a || !b) return std::nullopt;
  const Stretch both{std::max(a->from_mm, b->from_mm), std::min(a->to_mm, b->to_mm)};
  if (both.to_mm - both.from_mm <= kGeometryNoise_mm) return std::nullopt;
  return both;
}

// s with low <= start + s * slope <= high.
std::optional<Stretch> InSlab(double start, double slope, double low, double high) {
  if (std::abs(slope) < 1e-12) {
    if (start < low || start > high) return std::nullopt;
    return Stretch{-kFar_mm, kFar_mm};
  }
  const double a = (low - start) / slope;
  const double b = (high - start) / slope;
  return Stretch{std::min(a, b), std::max(a, b)};
}

std::optional<Stretch> InBox(const Box3& box, const Vec3& point, const Vec3& direction) {
  std::optional<Stretch> inside = Stretch{-kFar_mm, kFar_mm};
  for (int axis = 0; axis < 3; ++axis) {
    inside = Both(inside, InSlab(point[axis], direction[axis], box.min_mm[axis], box.max_mm[axis]));
  }
  return inside;
}

std::optional<Stretch> InCylinder(const OuterDiameter& outer, const Vec3& point,
                                  const Vec3& direction) {
  const Vec3& axis = outer.axis_P.direction;
  const Vec3 offset = point - outer.axis_P.point_mm;
  const auto ends = InSlab(offset.dot(axis), direction.dot(axis), outer.from_mm, outer.to_mm);
  const Vec3 across = offset - offset.dot(axis) * axis;
  const Vec3 run = direction - direction.dot(axis) * axis;
  const double radius = 0.5 * outer.diameter.middle_mm();
  const double a = run.squaredNorm();
  const double c = across.squaredNorm() - radius * radius;
  if (a < 1e-18) {
    if (c >= 0) return std::nullopt;
    return ends;
  }
  const double b = across.dot(run);
  const double root = b * b - a * c;
  if (root <= 0) return std::nullopt;
  return Both(ends, Stretch{(-b - std::sqrt(root)) / a, (-b + std::sqrt(root)) / a});
}

// Where the line is inside the pocket: two crossing boxes and the rounds of its corners.
std::vector<Stretch> InPocket(const Pocket& pocket, const Vec3& point, const Vec3& direction) {
  const Vec3 offset = point - pocket.centre_P_mm;
  const Vec3 side = pocket.into_P.cross(pocket.along_P);
  const auto slab = [&](const Vec3& axis, double low, double high) {
    return InSlab(offset.dot(axis), direction.dot(axis), low, high);
  };
  const auto deep = slab(pocket.into_P, 0, pocket.depth_mm);
  const double radius = pocket.corner_radius_mm;
  const double length = 0.5 * pocket.length_mm;
  const double width = 0.5 * pocket.width_mm;
  std::vector<Stretch> inside;
  const auto add = [&](const std::optional<Stretch>& s) {
    if (const auto both = Both(s, deep)) inside.push_back(*both);
  };
  add(Both(slab(pocket.along_P, -length, length), slab(side, radius - width, width - radius)));
  add(Both(slab(pocket.along_P, radius - length, length - radius), slab(side, -width, width)));
  if (radius <= 0) return inside;
  OuterDiameter corner;
  corner.axis_P.direction = pocket.into_P;
  corner.to_mm = pocket.depth_mm;
  corner.diameter.lower_mm = corner.diameter.upper_mm = 2 * radius;
  for (const double u : {radius - length, length - radius}) {
    for (const double v : {radius - width, width - radius}) {
      corner.axis_P.point_mm = pocket.centre_P_mm + u * pocket.along_P + v * side;
      add(InCylinder(corner, point, direction));
    }
  }
  return inside;
}

// Where the line is inside a disc or bar of the outline, over the outline's whole depth.
std::optional<Stretch> InBar(const Outline& outline, const Outline::Bar& bar, const Vec3& point,
                             const Vec3& direction) {
  const Vec2 along = (bar.b_mm - bar.a_mm).normalized();
  const Vec2 middle = 0.5 * (bar.a_mm + bar.b_mm);
  const auto in_plane = [&](const Vec3& v) {
    return Vec2(outline.u_P.dot(v), outline.v_P.dot(v));
  };
  const Vec2 offset = in_plane(point - outline.origin_P_mm) - middle;
  const Vec2 run = in_plane(direction);
  const double half = 0.5 * (bar.b_mm - bar.a_mm).norm();
  const Vec2 side(-along.y(), along.x());
  return Both(InSlab(along.dot(offset), along.dot(run), -half, half),
              InSlab(side.dot(offset), side.dot(run), -0.5 * bar.width_mm, 0.5 * bar.width_mm));
}

std::optional<Stretch> InDisc(const Outline& outline, const Outline::Disc& disc, const Vec3& point,
                              const Vec3& direction) {
  OuterDiameter cylinder;
  cylinder.axis_P.point_mm = outline.origin_P_mm + disc.centre_mm.x() * outline.u_P +
                             disc.centre_mm.y() * outline.v_P;
  cylinder.axis_P.direction = outline.into_P;
  cylinder.from_mm = -kEndless_mm;
  cylinder.to_mm = kEndless_mm;
  cylinder.diameter.lower_mm = cylinder.diameter.upper_mm = disc.diameter_mm;
  return InCylinder(cylinder, point, direction);
}

// Where the line is within the outline's closed line, over its whole depth.
std::vector<Stretch> InLine(const Outline& outline, const Vec3& point, const Vec3& direction) {
  const auto in_plane = [&](const Vec3& v) {
    return Vec2(outline.u_P.dot(v), outline.v_P.dot(v));
  };
  std::vector<Stretch> within;
  if (outline.line.empty()) return within;
  for (const auto& [from, to] : StretchesWithin(outline.line, in_plane(point - outline.origin_P_mm),
                                                in_plane(direction)))
    within.push_back({from, to});
  return within;
}

std::vector<Stretch> Merged(std::vector<Stretch> stretches) {
  std::sort(stretches.begin(), stretches.end(),
            [](const Stretch& a, const Stretch& b) { return a.from_mm < b.from_mm; });
  std::vector<Stretch> merged;
  for (const Stretch& s : stretches) {
    if (!merged.empty() && s.from_mm <= merged.back().to_mm + kGeometryNoise_mm) {
      merged.back().to_mm = std::max(merged.back().to_mm, s.to_mm);
    } else {
      merged.push_back(s);
    }
  }
  return merged;
}

std::vector<Stretch> Without(const std::vector<Stretch>& stretches, const Stretch& gap) {
  std::vector<Stretch> left;
  for (const Stretch& s : stretches) {
    const Stretch before{s.from_mm, std::min(s.to_mm, gap.from_mm)};
    const Stretch after{std::max(s.from_mm, gap.to_mm), s.to_mm};
    for (const Stretch& piece : {before, after}) {
      if (piece.to_mm - piece.from_mm > kGeometryNoise_mm) left.push_back(piece);
    }
  }
  return left;
}

// Each stretch less what lies outside the outline; its inside corners count as sharp.
std::vector<Stretch> Inside(const std::vector<Stretch>& stretches, const Outline& outline,
                            const Vec3& point, const Vec3& direction) {
  std::vector<Stretch> kept = InLine(outline, point, direction);
  for (const Outline::Disc& disc : outline.discs) {
    if (const auto in = InDisc(outline, disc, point, direction)) kept.push_back(*in);
  }
  for (const Outline::Bar& bar : outline.bars) {
    if (const auto in = InBar(outline, bar, point, direction)) kept.push_back(*in);
  }
  std::vector<Stretch> left;
  for (const Stretch& s : stretches) {
    for (const Stretch& in : Merged(kept)) {
      if (const auto both = Both(s, in)) left.push_back(*both);
    }
  }
  return left;
}

// Each stretch less what the outline takes: outside it or, of a cutout, within it, down to its depth.
std::vector<Stretch> WithoutTaken(const std::vector<Stretch>& stretches, const Outline& outline,
                                  const Vec3& point, const Vec3& direction) {
  std::vector<Stretch> left;
  std::vector<Stretch> in_depth = stretches;
  if (outline.depth_mm > 0) {
    const auto deep = InSlab(outline.into_P.dot(point - outline.origin_P_mm),
                             outline.into_P.dot(direction), 0, outline.depth_mm);
    if (!deep) return stretches;
    left = Without(stretches, *deep);
    in_depth.clear();
    for (const Stretch& s : stretches) {
      if (const auto both = Both(s, *deep)) in_depth.push_back(*both);
    }
  }
  if (outline.within) {
    for (const Stretch& in : InLine(outline, point, direction)) in_depth = Without(in_depth, in);
  } else {
    in_depth = Inside(in_depth, outline, point, direction);
  }
  left.insert(left.end(), in_depth.begin(), in_depth.end());
  return Merged(std::move(left));
}

void Include(Box3& box, bool& any, const Vec3& low, const Vec3& high) {
  box.min_mm = any ? box.min_mm.cwiseMin(low) : low;
  box.max_mm = any ? box.max_mm.cwiseMax(high) : high;
  any = true;
}

}  // namespace

std::vector<Stretch> CalcMaterialAlong(const Part& part, const Vec3& point_P_mm,
                                       const Vec3& direction_P) {
  std::vector<Stretch> stretches;
  const auto add = [&](const std::optional<Stretch>& stretch) {
    if (stretch) stretches.push_back(*stretch);
  };
  if (part.envelope == EnvelopeKind::kBlock) add(InBox(part.block_P, point_P_mm, direction_P));
  for (const Feature& feature : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
      add(InCylinder(*outer, point_P_mm, direction_P));
    }
  }
  stretches = Merged(std::move(stretches));
  for (const Feature& feature : part.features) {
    if (const auto* outline = std::get_if<Outline>(&feature.shape)) {
      stretches = WithoutTaken(stretches, *outline, point_P_mm, direction_P);
    }
    std::optional<Stretch> gap;
    if (const auto* step = std::get_if<StepCut>(&feature.shape)) {
      gap = InBox(step->removed_P, point_P_mm, direction_P);
    } else if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) {
      for (const Stretch& in : InPocket(*pocket, point_P_mm, direction_P)) {
        stretches = Without(stretches, in);
      }
    }
    if (gap) stretches = Without(stretches, *gap);
  }
  return stretches;
}

Box3 CalcEnvelope(const Part& part) {
  Box3 box;
  bool any = false;
  if (part.envelope == EnvelopeKind::kBlock) {
    Include(box, any, part.block_P.min_mm, part.block_P.max_mm);
  }
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr) continue;
    const Vec3& axis = outer->axis_P.direction;
    const double radius = 0.5 * outer->diameter.middle_mm();
    Vec3 reach;
    for (int k = 0; k < 3; ++k) {
      reach[k] = radius * std::sqrt(std::max(0.0, 1.0 - axis[k] * axis[k]));
    }
    for (const double along : {outer->from_mm, outer->to_mm}) {
      const Vec3 end = outer->axis_P.point_mm + along * axis;
      Include(box, any, end - reach, end + reach);
    }
  }
  return box;
}

Stretch CalcTurnedLength(const Part& part) {
  Stretch length{kFar_mm, -kFar_mm};
  for (const Feature& feature : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
      length.from_mm = std::min(length.from_mm, outer->from_mm);
      length.to_mm = std::max(length.to_mm, outer->to_mm);
    }
  }
  if (length.from_mm > length.to_mm) return Stretch{};
  return length;
}

}  // namespace fitwright
