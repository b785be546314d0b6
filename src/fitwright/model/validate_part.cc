#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/known_words.h"
#include "fitwright/model/material.h"
#include "fitwright/model/validate.h"
#include "fitwright/units/length.h"

namespace fitwright {
namespace {

std::string Trim(double mm) { return FormatTrimmed(mm, 3); }

struct PartCheck {
  const Part& part;
  std::vector<ModelFault>& faults;

  std::string PathOf(const Feature& feature) const {
    return fmt::format("parts.{}.features.{}", part.name.text(), feature.name.text());
  }
  void Add(ErrorCode code, const Feature& feature, std::string_view key, std::string message,
           std::string remedy) {
    const std::string path = PathOf(feature);
    faults.push_back(ModelFault{code, key.empty() ? path : fmt::format("{}.{}", path, key),
                                std::move(message), std::move(remedy), ""});
  }
  std::vector<std::string> Names() const {
    std::vector<std::string> names;
    for (const Feature& f : part.features) names.push_back(f.name.text());
    return names;
  }
  // The feature of that name; reports when there is none.
  const Feature* Named(const Feature& by, std::string_view key, const FeatureId& name) {
    const Feature* found = part.Find(name);
    if (found != nullptr) return found;
    const auto names = Names();
    Add(ErrorCode::kUnknownFeature, by, key,
        fmt::format("{} has no feature {}", part.name.text(), name.text()),
        fmt::format("write \"{}\", or one of: {}", NearestOf(name.text(), names), ListOf(names)));
    return nullptr;
  }

  void CheckSize(const Feature& feature, const Size& size, std::string_view key) {
    const bool finite = std::isfinite(size.nominal_mm) && std::isfinite(size.lower_mm) &&
                        std::isfinite(size.upper_mm);
    if (!finite) {
      Add(ErrorCode::kNotFinite, feature, key, "the size is not a finite number", "write a length");
    } else if (size.lower_mm > size.upper_mm) {
      Add(ErrorCode::kLimitsSwapped, feature, key, "the least size is above the greatest",
          "write the least first");
    } else if (size.lower_mm <= 0) {
      Add(ErrorCode::kNotPositive, feature, key, "the least size is not above zero",
          "write a size above zero");
    }
  }
  void CheckDepth(const Feature& feature, double depth_mm) {
    if (std::isfinite(depth_mm) && depth_mm > kGeometryNoise_mm) return;
    Add(ErrorCode::kNotPositive, feature, "depth", "the depth is not above zero",
        "write a depth above zero");
  }
};

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
    if (on == nullptr || std::holds_alternative<Hole>(on->shape) ||
        std::holds_alternative<OuterDiameter>(on->shape)) {
      return;
    }
    Add(ErrorCode::kWrongFeatureKind, feature, "on",
        fmt::format("{} has no round edge", on->name.text()),
        "name a hole or an outer diameter, or use between for a straight edge");
  }
  template <typename Other>
  void operator()(const Feature&, const Other&) {}
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
    if (face_a->normal_P.cross(face_b->normal_P).norm() > 1e-6) return;
    Add(ErrorCode::kDoNotMeet, feature, "between", "the two faces do not meet at an edge",
        "name two faces square to each other");
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
    Add(ErrorCode::kOutOfRange, feature, "radial", "the chamfer takes the whole end away",
        fmt::format("write less than {} mm", Trim(0.5 * outer->diameter.middle_mm())));
  }
  void operator()(const Feature& feature, const Groove& groove) {
    CheckSize(feature, groove.diameter, "diameter");
    if (groove.internal) return;
    CheckCutsOutside(feature, groove.axis_P, groove.from_mm, groove.to_mm,
                     groove.diameter.middle_mm(), "diameter");
  }
  void operator()(const Feature& feature, const Flats& flats) {
    CheckSize(feature, flats.across, "across");
    CheckCutsOutside(feature, flats.axis_P, flats.from_mm, flats.to_mm, flats.across.middle_mm(),
                     "across");
  }

  template <typename Other>
  void operator()(const Feature&, const Other&) {}

  // Something of an outer diameter about the axis stands outside `size_mm` between the ends.
  void CheckCutsOutside(const Feature& feature, const Axis3& axis, double from_mm, double to_mm,
                        double size_mm, std::string_view key) {
    for (const Feature& other : part.features) {
      const auto* outer = std::get_if<OuterDiameter>(&other.shape);
      if (outer == nullptr || std::abs(outer->axis_P.direction.dot(axis.direction)) < 0.5) continue;
      const bool beside =
          outer->to_mm > from_mm + kGeometryNoise_mm && outer->from_mm < to_mm - kGeometryNoise_mm;
      if (beside && outer->diameter.middle_mm() > size_mm + kGeometryNoise_mm) return;
    }
    Add(ErrorCode::kOutsidePart, feature, key,
        "there is nothing of the part outside this size here", "mend the size, or from and to");
  }
};

struct Shortage {
  std::string key;
  std::string words;  // empty when nothing is short
};

Shortage BoxShortage(const Stock& stock, const Box3& need) {
  for (int k = 0; k < 3; ++k) {
    const double short_mm =
        std::max(stock.box_P.min_mm[k] - need.min_mm[k], need.max_mm[k] - stock.box_P.max_mm[k]);
    if (short_mm > kGeometryNoise_mm) {
      return {"size", fmt::format("{} mm short along {}", Trim(short_mm), "xyz"[k])};
    }
  }
  return {};
}

// The corners of a block; the ends and the largest diameter of turned work, whose corners are air.
Shortage RoundShortage(const Part& part, const Box3& need) {
  const Stock& stock = part.stock;
  double ends_mm = 0;
  double across_mm = 0;
  for (int corner = 0; corner < 8; ++corner) {
    const Vec3 point(corner & 1 ? need.max_mm.x() : need.min_mm.x(),
                     corner & 2 ? need.max_mm.y() : need.min_mm.y(),
                     corner & 4 ? need.max_mm.z() : need.min_mm.z());
    const Vec3 offset = point - stock.axis_P.point_mm;
    const double along = offset.dot(stock.axis_P.direction);
    ends_mm = std::max({ends_mm, stock.from_mm - along, along - stock.to_mm});
    if (part.envelope != EnvelopeKind::kBlock) continue;
    const double out_mm = (offset - along * stock.axis_P.direction).norm();
    across_mm = std::max(across_mm, 2 * out_mm - stock.diameter_mm);
  }
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr || part.envelope != EnvelopeKind::kTurned) continue;
    across_mm = std::max(across_mm, outer->diameter.middle_mm() - stock.diameter_mm);
  }
  if (across_mm > kGeometryNoise_mm) {
    return {"diameter", fmt::format("{} mm short across it", Trim(across_mm))};
  }
  if (ends_mm > kGeometryNoise_mm) {
    return {"length", fmt::format("{} mm short at an end", Trim(ends_mm))};
  }
  return {};
}

void CheckStock(const Part& part, std::vector<ModelFault>& faults) {
  const Box3 need = CalcEnvelope(part);
  const Shortage shortage = part.stock.form == StockForm::kRound ? RoundShortage(part, need)
                                                                 : BoxShortage(part.stock, need);
  if (shortage.words.empty()) return;
  faults.push_back(ModelFault{
      ErrorCode::kStockTooSmall, fmt::format("parts.{}.stock.{}", part.name.text(), shortage.key),
      fmt::format("the part does not fit inside its stock: {}", shortage.words),
      "take the next size up, or leave [stock] out to have it proposed", ""});
}

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
  if (faults.empty()) CheckStock(part, faults);
}

void ValidatePartNames(const Part& part, std::vector<ModelFault>& faults) {
  CheckNames(part, faults);
}

}  // namespace fitwright
