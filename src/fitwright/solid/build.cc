#include "fitwright/solid/build.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fitwright/model/shapes.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/envelope.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

// How far a cutter is run out where only air can be.
constexpr double kRunOut_mm = 1.0;

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;

Error Misplaced(ErrorCode code, const Part& part, const Feature& feature, std::string what) {
  Error error;
  error.code = code;
  error.message =
      fmt::format("part {}, feature {}: {}", part.name.text(), feature.name.text(), what);
  error.remedy = "name a feature that bears it";
  return error;
}

double RunOut(const Part& part, const Vec3& point, const Vec3& outward) {
  return IsAirBeyond(part, point, outward) ? kRunOut_mm : 0.0;
}

Result<Solid> MakeOneHole(const Part& part, const Hole& hole, const Vec3& entry) {
  const Axis3 axis{entry, hole.into_P.normalized()};
  const double r = 0.5 * hole.diameter.middle_mm();
  const double from = -RunOut(part, entry, -axis.direction);
  double to = hole.depth_mm;
  if (hole.through) to += RunOut(part, entry + to * axis.direction, axis.direction);
  std::vector<Vec2> outline = {{0, from}, {r, from}, {r, to}};
  if (!hole.through && hole.bottom != HoleBottom::kFlat) {
    const double point_deg = hole.bottom == HoleBottom::kPoint118 ? 118 : 135;
    outline.emplace_back(0, to + r / std::tan(0.5 * point_deg * kRadPerDeg));
  } else {
    outline.emplace_back(0, to);
  }
  return MakeRevolve(axis, outline);
}

Result<Solid> Gather(const std::vector<Solid>& solids) {
  return solids.size() == 1 ? Result<Solid>(solids.front()) : Fuse(solids);
}

Result<std::vector<Solid>> MakeHole(const Part& part, const Hole& hole) {
  std::vector<Solid> solids;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Result<Solid> one = MakeOneHole(part, hole, entry);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

Result<std::vector<Solid>> One(Result<Solid> solid) {
  if (!solid) return Unexpected(solid.error());
  return std::vector<Solid>{*std::move(solid)};
}

// Base and height of something let in from the entry surface, run out at either end where it may
// be.
struct LetIn {
  Vec3 base;
  double height_mm;
};
LetIn CalcLetIn(const Part& part, const Vec3& entry, const Vec3& into, double depth_mm,
                bool through) {
  const double before = RunOut(part, entry, -into);
  const double after = through ? RunOut(part, entry + depth_mm * into, into) : 0.0;
  return {entry - before * into, depth_mm + before + after};
}

Result<std::vector<Solid>> MakeSlot(const Part& part, const Slot& slot) {
  const Vec3 into = slot.into_P.normalized();
  const LetIn in = CalcLetIn(part, slot.centre_P_mm, into, slot.depth_mm, slot.through);
  const double width = slot.width.middle_mm();
  return One(MakeRoundedRectangle({.centre_mm = in.base,
                                   .along = slot.along_P,
                                   .up = into,
                                   .length_mm = slot.length_mm,
                                   .width_mm = width,
                                   .corner_radius_mm = 0.5 * width,
                                   .height_mm = in.height_mm}));
}

Result<std::vector<Solid>> MakePocket(const Part& part, const Pocket& pocket) {
  const Vec3 into = pocket.into_P.normalized();
  const LetIn in = CalcLetIn(part, pocket.centre_P_mm, into, pocket.depth_mm, false);
  return One(MakeRoundedRectangle({.centre_mm = in.base,
                                   .along = pocket.along_P,
                                   .up = into,
                                   .length_mm = pocket.length_mm,
                                   .width_mm = pocket.width_mm,
                                   .corner_radius_mm = pocket.corner_radius_mm,
                                   .height_mm = in.height_mm}));
}

Result<std::vector<Solid>> MakeStepCut(const Part& part, const StepCut& step) {
  Box3 box = step.removed_P;
  for (int i = 0; i < 3; ++i) {
    box.min_mm[i] -= RunOut(part, step.removed_P.min_mm, -Vec3::Unit(i));
    box.max_mm[i] += RunOut(part, step.removed_P.max_mm, Vec3::Unit(i));
  }
  return One(MakeBox(box));
}

// Triangle square to the edge of two planes, its sloping side drawn out a little past both faces.
Result<std::vector<Solid>> MakeEdgeChamfer(const Part& part, const Feature& feature,
                                           const EdgeChamfer& chamfer) {
  const Feature* face_a = part.Find(chamfer.face_a);
  const Feature* face_b = part.Find(chamfer.face_b);
  if (face_a == nullptr || face_b == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kUnknownFeature, part, feature,
                                "a chamfer on a face that the sheet does not have"));
  }
  const auto* a = std::get_if<PlanarFace>(&face_a->shape);
  const auto* b = std::get_if<PlanarFace>(&face_b->shape);
  if (a == nullptr || b == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "an edge chamfer needs two planar faces"));
  }
  const Vec3 na = a->normal_P.normalized();
  const Vec3 nb = b->normal_P.normalized();
  const Vec3 cross = na.cross(nb);
  if (cross.norm() < 1e-6) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "the two faces of an edge chamfer do not meet"));
  }
  const Vec3 t = cross.normalized();
  // A point of the edge: on both planes, nearest to the envelope's middle along the edge.
  const Box3 around = CalcEnvelopeBox(part);
  Eigen::Matrix3d planes;
  planes << na.transpose(), nb.transpose(), t.transpose();
  const Vec3 edge =
      planes.inverse() * Vec3(a->at.middle_mm(), b->at.middle_mm(), t.dot(around.centre_mm()));
  const Vec3 along_a = (na.dot(nb) * na - nb).normalized();  // in face a, away from b
  const Vec3 along_b = (na.dot(nb) * nb - na).normalized();
  const Vec3 on_a = edge + chamfer.leg_a_mm * along_a;
  const Vec3 on_b = edge + chamfer.leg_b_mm * along_b;
  const Vec3 slope = 0.1 * (on_b - on_a);
  const Vec3 ends[] = {on_a - slope, on_b + slope, edge + (edge - 0.5 * (on_a + on_b)) * 0.3};
  Pose frame = Pose::Identity();
  frame.linear().col(0) = na;
  frame.linear().col(1) = t.cross(na);
  frame.linear().col(2) = t;
  frame.translation() = edge;
  std::vector<Vec2> triangle;
  for (const Vec3& p : ends) {
    triangle.emplace_back(na.dot(p - edge), frame.linear().col(1).dot(p - edge));
  }
  const double reach = 0.5 * around.size_mm().cwiseAbs().dot(t.cwiseAbs()) + kRunOut_mm;
  return One(MakePrism(frame, triangle, -reach, reach));
}

// Opens the mouth of a hole; the cone goes on a little into the hole's own air.
Result<std::vector<Solid>> MakeMouthChamfer(const Part& part, const Hole& hole,
                                            const RoundChamfer& chamfer) {
  const double r = 0.5 * hole.diameter.middle_mm();
  std::vector<Solid> solids;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec3 into = hole.into_P.normalized();
    const Vec3 mouth = chamfer.at_start ? entry : Vec3(entry + hole.depth_mm * into);
    const Axis3 axis{mouth, chamfer.at_start ? into : Vec3(-into)};
    const double big = r + chamfer.radial_mm;
    const double past =
        std::min({0.25, 0.5 * r / chamfer.radial_mm, 0.9 * (hole.depth_mm / chamfer.axial_mm - 1)});
    const double from = -RunOut(part, mouth, -axis.direction);
    std::vector<Vec2> outline = {{0, from}, {big, from}};
    if (from < 0) outline.emplace_back(big, 0);
    const double more = std::max(0.0, past);
    outline.emplace_back(r - more * chamfer.radial_mm, (1 + more) * chamfer.axial_mm);
    outline.emplace_back(0, (1 + more) * chamfer.axial_mm);
    const Result<Solid> one = MakeRevolve(axis, outline);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

// Breaks the edge of an outer diameter: a ring outside the cone.
Result<std::vector<Solid>> MakeRimChamfer(const Part& part, const OuterDiameter& outer,
                                          const RoundChamfer& chamfer) {
  const double r = 0.5 * outer.diameter.middle_mm();
  const double end = chamfer.at_start ? outer.from_mm : outer.to_mm;
  const double inward = chamfer.at_start ? 1.0 : -1.0;
  const Vec3 end_P = outer.axis_P.point_mm + end * outer.axis_P.direction;
  const double out = RunOut(part, end_P, -inward * outer.axis_P.direction);
  const double share = std::min(0.1, 0.5 * (r / chamfer.radial_mm - 1));
  const double past = out > 0 ? std::max(0.0, share) : 0.0;
  const double tip_r = r - chamfer.radial_mm * (1 + past);
  const double tip_z = end - inward * chamfer.axial_mm * past;
  const double root_z = end + inward * chamfer.axial_mm;
  return One(MakeRevolve(
      outer.axis_P,
      {{tip_r, tip_z}, {r + kRunOut_mm, tip_z}, {r + kRunOut_mm, root_z}, {r, root_z}}));
}

Result<std::vector<Solid>> MakeRoundChamfer(const Part& part, const Feature& feature,
                                            const RoundChamfer& chamfer) {
  const Feature* on = part.Find(chamfer.on);
  if (on == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kUnknownFeature, part, feature,
                                "a chamfer on a feature that the sheet does not have"));
  }
  if (!(chamfer.axial_mm > 0 && chamfer.radial_mm > 0)) {
    return Unexpected(Misplaced(ErrorCode::kOutOfRange, part, feature,
                                "both legs of a chamfer must be above zero"));
  }
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    return MakeMouthChamfer(part, *hole, chamfer);
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&on->shape)) {
    return MakeRimChamfer(part, *outer, chamfer);
  }
  return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                              "a round chamfer needs a hole or an outer diameter"));
}

Result<std::vector<Solid>> MakeGroove(const Part& part, const Feature& feature,
                                      const Groove& groove) {
  const double diameter = groove.diameter.middle_mm();
  if (groove.internal) {
    return One(MakeCylinder(groove.axis_P, groove.from_mm, groove.to_mm, diameter));
  }
  const double outside = CoveringDiameter(part, groove.axis_P, groove.from_mm, groove.to_mm);
  if (outside <= diameter) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "an outside groove needs an outer diameter larger than itself"));
  }
  return One(
      MakeRing(groove.axis_P, groove.from_mm, groove.to_mm, outside + 2 * kRunOut_mm, diameter));
}

Result<std::vector<Solid>> MakeFlats(const Part& part, const Feature& feature, const Flats& flats) {
  const double outside = CoveringDiameter(part, flats.axis_P, flats.from_mm, flats.to_mm);
  const double half = 0.5 * flats.across.middle_mm();
  const double r = 0.5 * outside;
  if (r <= half) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "flats need an outer diameter larger than their width across"));
  }
  const Vec3 d = flats.axis_P.direction.normalized();
  const Vec3 n = flats.first_normal_P.normalized();
  const auto at = [&](double z) { return Vec3(flats.axis_P.point_mm + z * d); };
  const double from = flats.from_mm - RunOut(part, at(flats.from_mm), -d);
  const double to = flats.to_mm + RunOut(part, at(flats.to_mm), d);
  std::vector<Solid> solids;
  for (const double side : {1.0, -1.0}) {
    Pose frame = Pose::Identity();
    frame.linear().col(0) = side * n;
    frame.linear().col(2) = d;
    frame.linear().col(1) = d.cross(side * n);
    frame.translation() = flats.axis_P.point_mm;
    const double far = r + kRunOut_mm;
    const Result<Solid> one =
        MakePrism(frame, {{half, -far}, {far, -far}, {far, far}, {half, far}}, from, to);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

// What the feature takes from the envelope; nothing for faces and outer diameters.
Result<std::vector<Solid>> MakeRemoved(const Part& part, const Feature& feature) {
  using Solids = Result<std::vector<Solid>>;
  return std::visit(
      Overloaded{
          [](const PlanarFace&) -> Solids { return std::vector<Solid>{}; },
          [](const OuterDiameter&) -> Solids { return std::vector<Solid>{}; },
          [&](const Hole& s) -> Solids { return MakeHole(part, s); },
          [&](const Slot& s) -> Solids { return MakeSlot(part, s); },
          [&](const Pocket& s) -> Solids { return MakePocket(part, s); },
          [&](const StepCut& s) -> Solids { return MakeStepCut(part, s); },
          [&](const EdgeChamfer& s) -> Solids { return MakeEdgeChamfer(part, feature, s); },
          [&](const RoundChamfer& s) -> Solids { return MakeRoundChamfer(part, feature, s); },
          [&](const Groove& s) -> Solids { return MakeGroove(part, feature, s); },
          [&](const Flats& s) -> Solids { return MakeFlats(part, feature, s); },
          [](const auto&) -> Solids { return std::vector<Solid>{}; }},
      feature.shape);
}

Result<Solid> StockBeyond(const Part& part, const PlanarFace& face) {
  const Result<Solid> stock = MakeStock(part);
  if (!stock) return stock;
  const Vec3 n = face.normal_P.normalized();
  const Result<Solid> beyond = MakeBeyond(face.at.middle_mm() * n, n);
  if (!beyond) return beyond;
  return Common(*stock, *beyond);
}

Result<Solid> StockAround(const Part& part, const OuterDiameter& outer) {
  const Result<Solid> stock = MakeStock(part);
  if (!stock) return stock;
  const Result<Solid> length =
      MakeCylinder(outer.axis_P, outer.from_mm, outer.to_mm,
                   2 * CalcBox(*stock).size_mm().norm() + outer.diameter.middle_mm());
  if (!length) return length;
  const Result<Solid> core =
      MakeCylinder(outer.axis_P, outer.from_mm, outer.to_mm, outer.diameter.middle_mm());
  if (!core) return core;
  const Result<Solid> near = Common(*stock, *length);
  if (!near) return near;
  return Cut(*near, {*core});
}

Error InPart(Error error, const Part& part, const Feature& feature) {
  const std::string prefix =
      fmt::format("part {}, feature {}", part.name.text(), feature.name.text());
  if (!error.message.starts_with("part ")) error.message = prefix + ": " + error.message;
  return error;
}

Error Untrusted(const Part& part) {
  return Error{
      ErrorCode::kKernel,
      fmt::format("part {}: no sound solid comes of its features; two of them meet in a mere "
                  "line or point",
                  part.name.text()),
      "",
      "look for a hole that just touches a wall, and move or resize it by 0.01 mm",
      {}};
}

}  // namespace

Result<DesignCut> MakeDesignCut(const Part& part) {
  const Result<Solid> envelope = MakeEnvelope(part);
  if (!envelope) return Unexpected(envelope.error());
  DesignCut cut{*envelope, {}};
  for (const Feature& feature : part.features) {
    Result<std::vector<Solid>> removed = MakeRemoved(part, feature);
    if (!removed) return Unexpected(InPart(removed.error(), part, feature));
    cut.removed.insert(cut.removed.end(), removed->begin(), removed->end());
  }
  return cut;
}

Result<Solid> MakeDesign(const Part& part) {
  const Result<DesignCut> cut = MakeDesignCut(part);
  if (!cut) return Unexpected(cut.error());
  return MakeDesign(part, *cut);
}

Result<Solid> MakeDesign(const Part& part, const DesignCut& cut) {
  Result<Solid> design = Cut(cut.envelope, cut.removed);
  if (!design || (!design->empty() && !IsValid(*design))) design = CutOneByOne(cut.envelope, cut.removed);
  if (!design) return Unexpected(Untrusted(part));
  if (design->empty()) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("part {}: the features leave nothing of it", part.name.text()),
              "",
              "check sizes and places of its features",
              {}});
  }
  if (!IsValid(*design)) return Unexpected(Untrusted(part));
  return design;
}

Result<Solid> MakeStock(const Part& part) {
  const Stock& stock = part.stock;
  if (stock.form != StockForm::kRound) return MakeBox(stock.box_P);
  return MakeCylinder(stock.axis_P, stock.from_mm, stock.to_mm, stock.diameter_mm);
}

Result<Solid> MakeFeatureVolume(const Part& part, const Feature& feature) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return StockBeyond(part, *face);
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    return StockAround(part, *outer);
  }
  const Result<std::vector<Solid>> removed = MakeRemoved(part, feature);
  if (!removed) return Unexpected(InPart(removed.error(), part, feature));
  if (removed->empty()) return Solid();
  return Gather(*removed);
}

}  // namespace fitwright::solid
