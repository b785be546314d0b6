#include "fitwright/solid/envelope.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

std::vector<const OuterDiameter*> OuterDiametersOf(const Part& part) {
  std::vector<const OuterDiameter*> found;
  for (const Feature& feature : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) found.push_back(outer);
  }
  return found;
}

// How far the cylinder reaches in a unit direction.
double CalcReach(const OuterDiameter& outer, const Vec3& towards) {
  const Vec3 d = outer.axis_P.direction.normalized();
  const double along = towards.dot(d);
  const double across = std::sqrt(std::max(0.0, 1.0 - along * along));
  const double end = std::max(along * outer.from_mm, along * outer.to_mm);
  return towards.dot(outer.axis_P.point_mm) + end + across * 0.5 * outer.diameter.middle_mm();
}

double CalcBlockReach(const Box3& block, const Vec3& towards) {
  double reach = 0;
  for (int i = 0; i < 3; ++i) {
    reach += std::max(towards[i] * block.min_mm[i], towards[i] * block.max_mm[i]);
  }
  return reach;
}

double CalcEnvelopeReach(const Part& part, const Vec3& towards) {
  double reach = -std::numeric_limits<double>::infinity();
  if (part.envelope == EnvelopeKind::kBlock) reach = CalcBlockReach(part.block_P, towards);
  for (const OuterDiameter* outer : OuterDiametersOf(part)) {
    reach = std::max(reach, CalcReach(*outer, towards));
  }
  return reach;
}

// Where an outer diameter lies along the turning axis.
struct Span {
  double from_mm = 0;
  double to_mm = 0;
  double radius_mm = 0;
};

std::vector<Span> FindCoaxialSpans(const Part& part, const Axis3& axis) {
  std::vector<Span> spans;
  for (const OuterDiameter* outer : OuterDiametersOf(part)) {
    const Vec3 apart = outer->axis_P.point_mm - axis.point_mm;
    if (apart.cross(axis.direction).norm() > kDrawnAlike_mm ||
        outer->axis_P.direction.cross(axis.direction).norm() > 1e-9) {
      continue;
    }
    const double sense = outer->axis_P.direction.dot(axis.direction) < 0 ? -1.0 : 1.0;
    const double a = apart.dot(axis.direction) + sense * outer->from_mm;
    const double b = apart.dot(axis.direction) + sense * outer->to_mm;
    spans.push_back({std::min(a, b), std::max(a, b), 0.5 * outer->diameter.middle_mm()});
  }
  return spans;
}

double CalcRadiusAt(const std::vector<Span>& spans, double z_mm) {
  double radius = 0;
  for (const Span& span : spans) {
    if (span.from_mm < z_mm && z_mm < span.to_mm) radius = std::max(radius, span.radius_mm);
  }
  return radius;
}

// The stepped outline of the union, one closed outline for each stretch without gaps.
std::vector<std::vector<Vec2>> CalcSteppedOutlines(const std::vector<Span>& spans) {
  std::vector<double> levels;
  for (const Span& span : spans) {
    levels.push_back(span.from_mm);
    levels.push_back(span.to_mm);
  }
  std::sort(levels.begin(), levels.end());
  const auto alike = [](double a, double b) { return b - a < kGeometryNoise_mm; };
  levels.erase(std::unique(levels.begin(), levels.end(), alike), levels.end());
  std::vector<std::vector<Vec2>> outlines;
  std::vector<Vec2> outline;
  for (std::size_t i = 0; i + 1 < levels.size(); ++i) {
    const double radius = CalcRadiusAt(spans, 0.5 * (levels[i] + levels[i + 1]));
    if (radius > 0 && outline.empty()) outline.emplace_back(0, levels[i]);
    if (radius > 0) {
      outline.emplace_back(radius, levels[i]);
      outline.emplace_back(radius, levels[i + 1]);
    }
    const bool ends = i + 2 == levels.size();
    if (!outline.empty() && (radius == 0 || ends)) {
      outline.emplace_back(0, outline.back().y());
      outlines.push_back(std::move(outline));
      outline.clear();
    }
  }
  return outlines;
}

Result<Solid> MakeTurned(const Part& part, std::vector<Solid>& solids) {
  Axis3 axis = part.turning_axis_P;
  axis.direction.normalize();
  for (const auto& outline : CalcSteppedOutlines(FindCoaxialSpans(part, axis))) {
    const Result<Solid> one = MakeRevolve(axis, outline);
    if (!one) return one;
    solids.push_back(*one);
  }
  return solids.empty() ? Solid() : solids.back();
}

}  // namespace

Box3 CalcEnvelopeBox(const Part& part) {
  Box3 box;
  for (int i = 0; i < 3; ++i) {
    box.max_mm[i] = CalcEnvelopeReach(part, Vec3::Unit(i));
    box.min_mm[i] = -CalcEnvelopeReach(part, -Vec3::Unit(i));
  }
  return box;
}

bool IsAirBeyond(const Part& part, const Vec3& point_mm, const Vec3& outward) {
  return CalcEnvelopeReach(part, outward) <= outward.dot(point_mm) + kGeometryNoise_mm;
}

Result<Solid> MakeEnvelope(const Part& part) {
  std::vector<Solid> solids;
  const bool turned = part.envelope == EnvelopeKind::kTurned;
  if (turned) {
    const Result<Solid> made = MakeTurned(part, solids);
    if (!made) return made;
  } else {
    const Result<Solid> block = MakeBox(part.block_P);
    if (!block) return block;
    solids.push_back(*block);
  }
  for (const OuterDiameter* outer : OuterDiametersOf(part)) {
    Axis3 axis = part.turning_axis_P;
    axis.direction.normalize();
    const Vec3 apart = outer->axis_P.point_mm - axis.point_mm;
    const bool coaxial = turned && apart.cross(axis.direction).norm() <= kDrawnAlike_mm &&
                         outer->axis_P.direction.cross(axis.direction).norm() <= 1e-9;
    if (coaxial) continue;
    const Result<Solid> boss =
        MakeCylinder(outer->axis_P, outer->from_mm, outer->to_mm, outer->diameter.middle_mm());
    if (!boss) return boss;
    solids.push_back(*boss);
  }
  if (solids.empty()) {
    return Unexpected(Error{
        ErrorCode::kOutOfRange,
        fmt::format("part {}: a turned part needs at least one outer diameter", part.name.text()),
        "",
        "add an outer diameter",
        {}});
  }
  return Fuse(solids);
}

}  // namespace fitwright::solid
