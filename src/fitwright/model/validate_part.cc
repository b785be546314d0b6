#include <algorithm>
#include <cmath>

#include "fitwright/model/material.h"
#include "fitwright/model/validate_internal.h"

namespace fitwright {
namespace {

// References inside the part.
struct NameCheck : PartCheck {
  void operator()(const Feature& feature, const EdgeChamfer& chamfer) {
    const Feature* a = Named(feature, "between", chamfer.face_a);
    const Feature* b = Named(feature, "between", chamfer.face_b);
    for (const Feature* face : {a, b}) {
      if (face == nullptr || std::holds_alternative<PlanarFace>(face->shape)) continue;
      Add(ErrorCode::kWrongFeatureKind, feature, "between",
          fmt::format("{} is not a planar face", face->name.text()),
          "name two planar faces, or use on for a round edge");
    }
  }
  void operator()(const Feature& feature, const RoundChamfer& chamfer) {
    if (chamfer.on.empty()) return;  // see GeometryCheck
    const Feature* on = Named(feature, "on", chamfer.on);
    if (on == nullptr || std::holds_alternative<Hole>(on->shape)) return;
    if (chamfer.countersink) {
      Add(ErrorCode::kWrongFeatureKind, feature, "on",
          fmt::format("{} is not a hole", on->name.text()), "name the hole that it opens");
      return;
    }
    if (std::holds_alternative<OuterDiameter>(on->shape)) return;
    Add(ErrorCode::kWrongFeatureKind, feature, "on",
        fmt::format("{} has no round edge", on->name.text()),
        "name a hole or an outer diameter, or use between for a straight edge");
  }
  void operator()(const Feature& feature, const ExternalThread& thread) {
    NeedOuter(feature, thread.on, "a thread is cut");
  }
  void operator()(const Feature& feature, const Knurl& knurl) {
    NeedOuter(feature, knurl.on, "a knurl is rolled");
  }
  template <typename Other>
  void operator()(const Feature&, const Other&) {}

  void NeedOuter(const Feature& feature, const FeatureId& name, std::string_view what) {
    if (name.empty()) return;  // of a faulty sheet, which says so itself
    const Feature* on = Named(feature, "on", name);
    if (on == nullptr || std::holds_alternative<OuterDiameter>(on->shape)) return;
    Add(ErrorCode::kWrongFeatureKind, feature, "on",
        fmt::format("{} is not an outer diameter, and {} on one", name.text(), what),
        "name an outer diameter, a spigot or a boss");
  }
  // The datum exists, has a direction or an axis, and is another feature.
  void CheckDatums(const Feature& feature) {
    for (const GeometricLimit& limit : feature.geometric) {
      if (!limit.datum) continue;
      const Feature* datum = Named(feature, "geometric", *limit.datum);
      if (datum == nullptr) continue;
      const bool bears = std::holds_alternative<PlanarFace>(datum->shape) ||
                         std::holds_alternative<Hole>(datum->shape) ||
                         std::holds_alternative<OuterDiameter>(datum->shape);
      if (bears && datum != &feature) continue;
      Add(ErrorCode::kBadDatum, feature, "geometric",
          bears ? "a feature is not its own datum"
                : fmt::format("{} can be no datum: it is not a face, hole or outer diameter",
                              limit.datum->text()),
          "name another planar face, hole or outer diameter of the part");
    }
  }
};

struct GeometryCheck : PartCheck {
  void operator()(const Feature& feature, const PlanarFace& face) {
    if (!(face.at.lower_mm <= face.at.upper_mm)) {
      Add(ErrorCode::kLimitsSwapped, feature, "at", "the least place is above the greatest",
          "write the least first");
    }
  }
  void operator()(const Feature& feature, const Hole& hole) {
    CheckSize(feature, hole.diameter, "diameter");
    CheckDepth(feature, hole.depth_mm);
    if (hole.entries_P_mm.empty()) {
      Add(ErrorCode::kWrongCount, feature, "at", "the hole stands nowhere", "write at = [0, 0]");
    }
  }
  void operator()(const Feature& feature, const OuterDiameter& outer) {
    CheckSize(feature, outer.diameter, "diameter");
  }
  void operator()(const Feature& feature, const Slot& slot) {
    CheckSize(feature, slot.width, "width");
    CheckDepth(feature, slot.depth_mm);
  }
  void operator()(const Feature& feature, const Pocket& pocket) {
    CheckDepth(feature, pocket.depth_mm);
  }
  void operator()(const Feature& feature, const StepCut& step) {
    const Box3 box = CalcEnvelope(part);
    const Vec3 low = step.removed_P.min_mm.cwiseMax(box.min_mm);
    const Vec3 high = step.removed_P.max_mm.cwiseMin(box.max_mm);
    if ((high - low).minCoeff() <= kGeometryNoise_mm) {
      Add(ErrorCode::kOutsidePart, feature, "removed", "the step takes nothing off the part",
          "mend the box; it is in the part's coordinates");
      return;
    }
    int axis = 0;
    step.into_P.cwiseAbs().maxCoeff(&axis);
    const bool open = step.into_P[axis] < 0
                          ? step.removed_P.max_mm[axis] >= box.max_mm[axis] - kDrawnAlike_mm
                          : step.removed_P.min_mm[axis] <= box.min_mm[axis] + kDrawnAlike_mm;
    if (open) return;
    Add(ErrorCode::kOutsidePart, feature, "removed",
        "the step is closed on the side the tool comes from",
        "let the box reach the part's outside on the side in from");
  }
  void operator()(const Feature& feature, const EdgeChamfer& chamfer) {
    const Feature* a = part.Find(chamfer.face_a);
    const Feature* b = part.Find(chamfer.face_b);
    if (a == nullptr || b == nullptr) return;
    const auto* face_a = std::get_if<PlanarFace>(&a->shape);
    const auto* face_b = std::get_if<PlanarFace>(&b->shape);
    if (face_a == nullptr || face_b == nullptr) return;
    if (face_a->normal_P.cross(face_b->normal_P).norm() < 1e-6) {
      Add(ErrorCode::kDoNotMeet, feature, "between", "the two faces do not meet at an edge",
          "name two faces square to each other");
      return;
    }
    // How far the part reaches inward from each face, measured on the other.
    const Box3 box = CalcEnvelope(part);
    const auto depth = [&](const PlanarFace& face) {
      const Vec3& n = face.normal_P;
      const double low = n.cwiseMin(0).dot(box.max_mm) + n.cwiseMax(0).dot(box.min_mm);
      return face.at.middle_mm() - low;
    };
    if (chamfer.leg_a_mm < depth(*face_b) && chamfer.leg_b_mm < depth(*face_a)) return;
    Add(chamfer.rounded ? ErrorCode::kRoundTooBig : ErrorCode::kOutOfRange, feature,
        chamfer.rounded ? "radius" : "legs", "it reaches across the whole part",
        fmt::format("write less than {} mm", Trim(std::min(depth(*face_a), depth(*face_b)))));
  }
  void operator()(const Feature& feature, const RoundChamfer& chamfer) {
    if (chamfer.on.empty()) {
      Add(ErrorCode::kMissingKey, feature, "on", "the chamfer is on nothing",
          "name the hole or outer diameter it is on");
      return;
    }
    const Feature* on = part.Find(chamfer.on);
    const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
    if (outer == nullptr || 2 * chamfer.radial_mm < outer->diameter.middle_mm()) return;
    Add(chamfer.rounded ? ErrorCode::kRoundTooBig : ErrorCode::kOutOfRange, feature,
        chamfer.rounded ? "radius" : "radial", "it takes the whole end away",
        fmt::format("write less than {} mm", Trim(0.5 * outer->diameter.middle_mm())));
  }
  template <typename Other>
  void operator()(const Feature& feature, const Other& shape) {
    ShapeCheck{{part, faults}}(feature, shape);
  }
};

void CheckNames(const Part& part, std::vector<ModelFault>& faults) {
  NameCheck check{{part, faults}};
  for (std::size_t i = 0; i < part.features.size(); ++i) {
    const Feature& feature = part.features[i];
    for (std::size_t k = 0; k < i; ++k) {
      if (part.features[k].name != feature.name) continue;
      check.Add(ErrorCode::kDuplicateName, feature, "name", "another feature has this name",
                "names are given once in a part: choose another");
      break;
    }
    std::visit([&](const auto& shape) { check(feature, shape); }, feature.shape);
    check.CheckDatums(feature);
  }
}

}  // namespace

void ValidatePart(const Part& part, std::vector<ModelFault>& faults) {
  CheckNames(part, faults);
  if (!faults.empty()) return;
  GeometryCheck check{{part, faults}};
  for (const Feature& feature : part.features) {
    std::visit([&](const auto& shape) { check(feature, shape); }, feature.shape);
  }
  CheckGeometric(part, faults);
  CheckUnread(part, faults);
  if (faults.empty()) CheckStock(part, faults);
}

void ValidatePartNames(const Part& part, std::vector<ModelFault>& faults) {
  CheckNames(part, faults);
}

}  // namespace fitwright
