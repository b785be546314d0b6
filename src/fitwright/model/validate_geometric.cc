#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/model/validate_internal.h"

namespace fitwright {
namespace {

constexpr double kSameWay = 1e-6;

struct GeometricCheck : PartCheck {
  void Run(const Feature& feature, const GeometricLimit& limit) {
    const auto own = FindLine(feature);
    if (!limit.datum) return Form(feature, limit);
    const auto datum = FindLine(*part.Find(*limit.datum));
    if (!own || !datum) {
      Add(ErrorCode::kWrongFeatureKind, feature, "geometric",
          fmt::format("{} needs a planar face, or a hole, outer diameter, groove or taper",
                      WordOf(limit.kind)),
          "take the limit out, or write it on the feature that bears it");
      return;
    }
    switch (limit.kind) {
      case GeometricKind::kSquare:
        return Direction(feature, limit, *own, *datum, true);
      case GeometricKind::kParallel:
        return Direction(feature, limit, *own, *datum, false);
      case GeometricKind::kCoaxial:
      case GeometricKind::kRunOut:
        return OneLine(feature, limit, *own, *datum);
      default:
        return;
    }
  }

  void Form(const Feature& feature, const GeometricLimit& limit) {
    const auto own = FindLine(feature);
    if (limit.kind == GeometricKind::kFlat || (own && own->round)) return;
    Add(ErrorCode::kWrongFeatureKind, feature, "geometric",
        fmt::format("{} is not {}: only what is turned or bored is", feature.name.text(),
                    WordOf(limit.kind)),
        "write kind = \"flat\", or take the limit out");
  }

  // Two faces or two axes are square where their directions are; a face is square to an axis where
  // its normal runs along it.
  void Direction(const Feature& feature, const GeometricLimit& limit, const FeatureLine& own,
                 const FeatureLine& datum, bool square) {
    const double along = std::abs(own.axis_P.direction.dot(datum.axis_P.direction));
    const bool mixed = own.round != datum.round;
    const bool should_align = square == mixed;
    if (should_align ? along > 1 - kSameWay : along < kSameWay) return;
    Add(square ? ErrorCode::kNotSquare : ErrorCode::kNotParallel, feature, "geometric",
        fmt::format("as drawn it is not {} to {}", square ? "square" : "parallel",
                    limit.datum->text()),
        "name a datum that it is, or another kind of limit");
  }

  // Coaxial and run-out: about the datum's axis; the run-out of a face that is square to it.
  void OneLine(const Feature& feature, const GeometricLimit& limit, const FeatureLine& own,
               const FeatureLine& datum) {
    const bool kinds = datum.round && (own.round || limit.kind == GeometricKind::kRunOut);
    const Vec3 apart = own.axis_P.point_mm - datum.axis_P.point_mm;
    const bool aligned =
        own.axis_P.direction.cross(datum.axis_P.direction).norm() < kSameWay &&
        (!own.round || apart.cross(datum.axis_P.direction).norm() < kDrawnAlike_mm);
    if (kinds && aligned) return;
    Add(kinds ? ErrorCode::kNotInLine : ErrorCode::kBadDatum, feature, "geometric",
        kinds ? fmt::format("as drawn it is not about the axis of {}", limit.datum->text())
              : fmt::format("{} is counted about an axis", WordOf(limit.kind)),
        "name a hole or outer diameter about the same axis");
  }
};

}  // namespace

void CheckGeometric(const Part& part, std::vector<ModelFault>& faults) {
  GeometricCheck check{{part, faults}};
  for (const Feature& feature : part.features) {
    for (const GeometricLimit& limit : feature.geometric) check.Run(feature, limit);
  }
}

}  // namespace fitwright
