#include "fitwright/solid/build.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fitwright/model/already_made.h"
#include "fitwright/solid/believed_cut.h"
#include "fitwright/solid/build_internal.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/envelope.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {

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

Solids One(Result<Solid> solid) {
  if (!solid) return Unexpected(solid.error());
  return std::vector<Solid>{*std::move(solid)};
}

namespace {

template <class... Cases>
struct Overloaded : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overloaded(Cases...) -> Overloaded<Cases...>;

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

// A hexagonal bar: the flat of flat_normal_P and the five others about the axis.
Result<Solid> MakeHexBar(const Stock& stock) {
  const double corner_mm = stock.diameter_mm / std::sqrt(3.0);
  Pose frame = Pose::Identity();
  frame.linear().col(0) = stock.flat_normal_P.normalized();
  frame.linear().col(2) = stock.axis_P.direction.normalized();
  frame.linear().col(1) = frame.linear().col(2).cross(frame.linear().col(0));
  frame.translation() = stock.axis_P.point_mm;
  std::vector<Vec2> corners;
  for (int i = 0; i < 6; ++i) {
    const double angle_rad = (i + 0.5) * kPi / 3;
    corners.push_back(corner_mm * Vec2(std::cos(angle_rad), std::sin(angle_rad)));
  }
  return MakePrism(frame, corners, stock.from_mm, stock.to_mm);
}

// What the feature takes from the envelope; nothing for faces, outer diameters, threads, knurls and
// markings.
Result<std::vector<Solid>> MakeRemoved(const Part& part, const Feature& feature) {
  return std::visit(
      Overloaded{
          [](const PlanarFace&) -> Solids { return std::vector<Solid>{}; },
          [](const OuterDiameter&) -> Solids { return std::vector<Solid>{}; },
          [&](const Hole& s) -> Solids { return MakeHole(part, s); },
          [&](const Slot& s) -> Solids { return MakeSlot(part, s); },
          [&](const Pocket& s) -> Solids { return MakePocket(part, s); },
          [&](const StepCut& s) -> Solids { return MakeStepCut(part, s); },
          [&](const EdgeChamfer& s) -> Solids { return MakeEdgeBreak(part, feature, s); },
          [&](const RoundChamfer& s) -> Solids { return MakeRoundBreak(part, feature, s); },
          [&](const Groove& s) -> Solids { return MakeGroove(part, feature, s); },
          [&](const Flats& s) -> Solids { return MakeFlats(part, feature, s); },
          [&](const Taper& s) -> Solids { return MakeTaper(part, feature, s); },
          [&](const Keyway& s) -> Solids { return MakeKeyway(part, feature, s); },
          [&](const Outline& s) -> Solids { return MakeAroundOutline(part, feature, s); },
          [](const auto&) -> Solids { return std::vector<Solid>{}; }},
      feature.shape);
}

Result<Solid> MakeBar(const Stock& stock) {
  if (stock.form == StockForm::kHex) return MakeHexBar(stock);
  if (!stock.IsRound()) return MakeBox(stock.box_P);
  return MakeRing(stock.axis_P, stock.from_mm, stock.to_mm, stock.diameter_mm, stock.inner_diameter_mm);
}

Result<Solid> StockBeyond(const Part& part, const PlanarFace& face) {
  const Result<Solid> stock = MakeBar(part.stock);
  if (!stock) return stock;
  const Vec3 n = face.normal_P.normalized();
  const Result<Solid> beyond = MakeBeyond(face.at.middle_mm() * n, n);
  if (!beyond) return beyond;
  return Common(*stock, *beyond);
}

Result<Solid> StockAround(const Part& part, const OuterDiameter& outer) {
  const Result<Solid> stock = MakeBar(part.stock);
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

Result<Solid> MakeBelieved(const Part& part, const DesignCut& cut, const Believed& believed) {
  bool known = false;
  Believed know;
  if (believed) know = [&](const Solid& left) { return known = believed(left); };
  Result<Solid> design = Cut(cut.envelope, cut.removed, know);
  if (design && known) return design;
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

}  // namespace

Result<DesignCut> MakeDesignCut(const Part& part) {
  const Result<Solid> envelope = MakeEnvelope(part);
  if (!envelope) return Unexpected(envelope.error());
  DesignCut cut{*envelope, {}};
  for (const Feature& feature : part.features) {
    const Result<std::vector<Solid>> removed = MakeFeatureCutters(part, feature);
    if (!removed) return Unexpected(removed.error());
    cut.removed.insert(cut.removed.end(), removed->begin(), removed->end());
  }
  return cut;
}

Result<Solid> MakeDesign(const Part& part) { return MakeDesign(part, Believed{}); }

Result<Solid> MakeDesign(const Part& part, const Believed& believed) {
  const Result<DesignCut> cut = MakeDesignCut(part);
  if (!cut) return Unexpected(cut.error());
  return MakeBelieved(part, *cut, believed);
}

Result<Solid> MakeDesign(const Part& part, const DesignCut& cut) {
  return MakeBelieved(part, cut, {});
}

Result<Solid> MakeStock(const Part& part) {
  std::vector<Solid> gone;
  for (const Feature& feature : part.features) {
    if (!IsAlreadyMade(part, feature)) continue;
    const Result<Solid> volume = MakeFeatureVolume(part, feature);
    if (!volume) return volume;
    if (!volume->empty()) gone.push_back(*volume);
  }
  const Result<Solid> bar = MakeBar(part.stock);
  return bar && !gone.empty() ? CutOneByOne(*bar, gone) : bar;
}

Result<Solid> MakeFeatureVolume(const Part& part, const Feature& feature) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return StockBeyond(part, *face);
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    return StockAround(part, *outer);
  }
  const Result<std::vector<Solid>> removed = MakeFeatureCutters(part, feature);
  if (!removed) return Unexpected(removed.error());
  if (removed->empty()) return Solid();
  return Gather(*removed);
}

Result<std::vector<Solid>> MakeFeatureCutters(const Part& part, const Feature& feature) {
  Result<std::vector<Solid>> removed = MakeRemoved(part, feature);
  if (!removed) return Unexpected(InPart(removed.error(), part, feature));
  return removed;
}

}  // namespace fitwright::solid
