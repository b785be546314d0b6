// Geometric limits of part sheets as requirements of the machine, where the error model has their
// kind. Angles: the zone's width over the length that lies in it.
#include <algorithm>
#include <cmath>

#include "fitwright/files/machine_reader.h"
#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

constexpr double kSameWay = 1e-6;

bool Aligned(const Vec3& a, const Vec3& b) { return a.cross(b).norm() < kSameWay; }

// How far the toleranced feature reaches in the direction in which the zone holds it.
double HeldLength_mm(const Part& part, const FeatureLine& own, const FeatureLine& datum) {
  if (own.round) return own.length_mm;
  const Vec3 size = CalcEnvelope(part).size_mm();
  const Vec3& normal = own.axis_P.direction;
  const Vec3& way = datum.axis_P.direction;
  // Held towards the datum's normal or along its axis, where the face reaches that way at all.
  if (!Aligned(normal, way)) return size.dot(way.cwiseAbs());
  double greatest = 0;
  for (int k = 0; k < 3; ++k) {
    if (std::abs(normal[k]) < kSameWay) greatest = std::max(greatest, size[k]);
  }
  return greatest;
}

// Place along or across the datum: between two planes, on one axis, or apart from it.
bool SetPosition(const FeatureLine& own, const FeatureLine& datum, double half_mm, Requirement& r) {
  const Vec3 apart = own.axis_P.point_mm - datum.axis_P.point_mm;
  const bool aligned = Aligned(own.axis_P.direction, datum.axis_P.direction);
  double nominal_mm = 0;
  if (!own.round && !datum.round) {
    if (!aligned) return false;
    r.kind = RequirementKind::kDistance;
    nominal_mm = datum.axis_P.direction.dot(apart);
  } else if (own.round && datum.round) {
    if (!aligned) return false;
    nominal_mm = apart.cross(datum.axis_P.direction).norm();
    if (nominal_mm < kDrawnAlike_mm) {
      r.kind = RequirementKind::kInLine;
      r.upper = half_mm;
      return true;
    }
  } else {
    if (std::abs(own.axis_P.direction.dot(datum.axis_P.direction)) > kSameWay) return false;
    const Vec3& normal = own.round ? datum.axis_P.direction : own.axis_P.direction;
    nominal_mm = normal.dot(apart);
  }
  if (r.kind != RequirementKind::kDistance) {
    r.kind = RequirementKind::kFormula;
    r.formula = Formula{"d", {{"d", r.a, r.b}}, "mm"};
    r.a = r.b = FeatureRef{};
  }
  r.lower = nominal_mm - half_mm;
  r.upper = nominal_mm + half_mm;
  return true;
}

// Fills in kind and limits; false where the error model has no such kind.
bool SetKind(const Part& part, const Feature& feature, const GeometricLimit& limit,
             Requirement& r) {
  if (!limit.datum) return false;
  const auto own = FindLine(feature);
  const auto datum = FindLine(*part.Find(*limit.datum));
  if (!own || !datum) return false;
  const bool one_place = own->places == 1 && datum->places == 1;
  switch (limit.kind) {
    case GeometricKind::kSquare:
    case GeometricKind::kParallel:
      r.kind = limit.kind == GeometricKind::kSquare ? RequirementKind::kSquare
                                                    : RequirementKind::kParallel;
      r.upper = std::atan2(limit.within_mm, HeldLength_mm(part, *own, *datum));
      return true;
    case GeometricKind::kRunOut:
      r.kind = RequirementKind::kRunOut;
      r.upper = limit.within_mm;
      return own->round && one_place;
    case GeometricKind::kCoaxial:
      r.kind = RequirementKind::kInLine;
      r.upper = 0.5 * limit.within_mm;
      return one_place;
    case GeometricKind::kPosition:
      return one_place && SetPosition(*own, *datum, 0.5 * limit.within_mm, r);
    case GeometricKind::kFlat:
    case GeometricKind::kRound:
    case GeometricKind::kCylindrical:
      return false;
  }
  return false;
}

bool IsStated(const Machine& machine, const Requirement& wanted) {
  return std::any_of(machine.requirements.begin(), machine.requirements.end(),
                     [&](const Requirement& r) {
                       return r.kind == wanted.kind && r.kind != RequirementKind::kFormula &&
                              r.a == wanted.a && r.b == wanted.b;
                     });
}

}  // namespace

void DeriveGeometric(Machine& machine, ReadLog& log) {
  std::vector<std::string> not_in_odds;
  for (const Part& part : machine.parts) {
    for (const Feature& feature : part.features) {
      for (const GeometricLimit& limit : feature.geometric) {
        Requirement r;
        r.a = FeatureRef{part.name, feature.name};
        if (limit.datum) r.b = FeatureRef{part.name, *limit.datum};
        const std::string about = r.a.text();
        r.derived = true;
        if (!SetKind(part, feature, limit, r)) {
          not_in_odds.push_back(fmt::format("{} {} within {}", about, WordOf(limit.kind),
                                            FormatTrimmed(limit.within_mm, 4)));
          continue;
        }
        if (IsStated(machine, r)) continue;
        r.name = FreeRequirementName(machine, fmt::format("{}_{}_{}", part.name.text(),
                                                          feature.name.text(), WordOf(limit.kind)));
        machine.requirements.push_back(r);
      }
    }
  }
  if (not_in_odds.empty()) return;
  log.assumed.push_back(
      fmt::format("Limits that are not in the odds, of form or of a kind that is not "
                  "reckoned: {}.",
                  ListOf(not_in_odds, 100)));
}

}  // namespace fitwright::files
