#include "fitwright/model/already_made.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/material.h"

namespace fitwright {
namespace {

constexpr double kAlong = 1e-9;
constexpr double kSame_mm = 1e-6;

double Outermost_mm(const Part& part, const Vec3& normal_P) {
  const Box3 box = CalcEnvelope(part);
  return normal_P.cwiseMax(0).dot(box.max_mm) + normal_P.cwiseMin(0).dot(box.min_mm);
}

bool IsOutermost(const Part& part, const PlanarFace& face) {
  const double inside_mm = std::abs(face.at.middle_mm() - Outermost_mm(part, face.normal_P));
  return face.normal_P.cwiseAbs().maxCoeff() > 1 - kAlong && inside_mm < 0.5 * face.at.width_mm() + kSame_mm;
}

// The bar ends at the face.
void EndStockAt(Stock& stock, const PlanarFace& face) {
  if (!stock.IsBar()) {
    for (int axis = 0; axis < 3; ++axis) {
      if (face.normal_P[axis] > 1 - kAlong) stock.box_P.max_mm[axis] = face.at.middle_mm();
      if (face.normal_P[axis] < -1 + kAlong) stock.box_P.min_mm[axis] = -face.at.middle_mm();
    }
    return;
  }
  const double way = face.normal_P.dot(stock.axis_P.direction);
  if (std::abs(way) < 1 - kAlong) return;
  const double at = way * face.at.middle_mm() - stock.axis_P.direction.dot(stock.axis_P.point_mm);
  (way > 0 ? stock.to_mm : stock.from_mm) = at;
}

void MakePartReady(Machine& machine, const PartId& id) {
  const auto part = std::find_if(machine.parts.begin(), machine.parts.end(), [&](const Part& p) { return p.name == id; });
  const auto use = std::find_if(machine.uses.begin(), machine.uses.end(), [&](const PartUse& u) { return u.part == id; });
  if (part == machine.parts.end() || use == machine.uses.end()) return;
  BoughtPart ready;
  ready.part = *part;
  for (Feature& feature : ready.part.features) feature.finish = Finish::kAsSupplied;
  ready.kind = BoughtKind::kItem;
  ready.what = fmt::format("{}, already made", id.text());
  ready.quantity = use->quantity;
  ready.placed = true;
  machine.bought.push_back(std::move(ready));
  machine.bought_uses.push_back(*use);
  machine.parts.erase(part);
  machine.uses.erase(use);
}

void MakeFeatureReady(Machine& machine, const PartId& id, const FeatureId& made) {
  for (Part& part : machine.parts) {
    if (part.name != id) continue;
    for (Feature& feature : part.features) {
      if (feature.name != made) continue;
      feature.finish = Finish::kAsSupplied;
      if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) EndStockAt(part.stock, *face);
    }
  }
}

}  // namespace

bool IsAlreadyMade(const Part& part, const Feature& feature) { return feature.finish == Finish::kAsSupplied && !IsStockSurface(part, feature); }

bool CanBeAlreadyMade(const Part& part, const Feature& feature) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return IsOutermost(part, *face);
  return std::holds_alternative<Hole>(feature.shape) || std::holds_alternative<RoundChamfer>(feature.shape) ||
         std::holds_alternative<EdgeChamfer>(feature.shape);
}

Machine WithAlreadyMade(Machine machine, const Choices& choices, std::vector<std::string>& assumed) {
  for (const Pin& pin : choices.pins) {
    if (pin.kind != PinKind::kMade) continue;
    const std::size_t dot = pin.subject.find('.');
    const PartId part(pin.subject.substr(0, dot));
    if (dot == std::string::npos) {
      MakePartReady(machine, part);
    } else {
      MakeFeatureReady(machine, part, FeatureId(pin.subject.substr(dot + 1)));
    }
    assumed.push_back(fmt::format("{} is already made: its size is taken to lie anywhere within its limits, its place to be as drawn. Measure it.", pin.subject));
  }
  return machine;
}

}  // namespace fitwright
