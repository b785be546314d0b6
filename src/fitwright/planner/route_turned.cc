// Routes of turned parts: from one end of the bar, parted off, turned round; what is not turned before or
// after that.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/route_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kDirection = 1e-9;
constexpr double kPartOffAbove_mm = 4;    // more than this beyond the far face is parted off, not faced
constexpr double kPartOffLeave_mm = 0.4;  // left on a parted face, to be faced
constexpr double kBlade_mm = 3;           // a parting blade and a little
constexpr double kJawRoom_mm = 2;
constexpr double kWantedGrip_mm = 6;

bool SameWay(const Vec3& a, const Vec3& b) { return a.dot(b) > 1 - kDirection; }
bool Lists(const std::vector<FeatureId>& ids, const FeatureId& id) {
  return std::find(ids.begin(), ids.end(), id) != ids.end();
}

// How the end towards the chuck comes to its length.
enum class FarEnd { kFaced, kAsParted };

// One way to go about it.
struct Way {
  double sign = 1;
  bool mill_before_second = false;
  FarEnd far_end = FarEnd::kFaced;
};

double LowestOutside(const Part& part, const Feature& feature, const Vec3& up_P) {
  const auto span = [&](const Axis3& axis, double from, double to) {
    return std::min(up_P.dot(axis.point_mm + axis.direction * from), up_P.dot(axis.point_mm + axis.direction * to));
  };
  // What stands on an outside waits for it, unless the bar brings it.
  const auto with = [&](const FeatureId& id, bool at_start, double length) {
    const Feature& on = *part.Find(id);
    const auto* o = std::get_if<OuterDiameter>(&on.shape);
    if (o == nullptr) return 1e9;
    if (!IsAsSupplied(on)) return span(o->axis_P, o->from_mm, o->to_mm);
    const double inward = (o->to_mm > o->from_mm) == at_start ? 1 : -1;
    const double end = at_start ? o->from_mm : o->to_mm;
    return span(o->axis_P, end, end + inward * length);
  };
  if (const auto* o = std::get_if<OuterDiameter>(&feature.shape)) return span(o->axis_P, o->from_mm, o->to_mm);
  if (const auto* t = std::get_if<Taper>(&feature.shape); t != nullptr && !t->internal) {
    return span(t->axis_P, t->from_mm, t->to_mm);
  }
  if (const auto* g = std::get_if<Groove>(&feature.shape); g != nullptr && !g->internal) {
    return span(g->axis_P, g->from_mm, g->to_mm);
  }
  if (const auto* c = std::get_if<RoundChamfer>(&feature.shape)) return with(c->on, c->at_start, c->axial_mm);
  if (const auto* t = std::get_if<ExternalThread>(&feature.shape)) return with(t->on, t->at_start, t->length_mm);
  if (const auto* k = std::get_if<Knurl>(&feature.shape)) return with(k->on, true, 0);
  return 1e9;
}

bool HasSide(const Part& part, const Feature& feature, const Vec3& up_P) {
  const std::vector<Vec3> sides = ToolSides(part, feature);
  return std::any_of(sides.begin(), sides.end(), [&](const Vec3& s) { return SameWay(s, up_P); });
}

// What one chucking of the bar with `up_P` outward makes: everything turned that can be reached and
// stands clear of the jaws.
SetupSketch BarSetup(const Part& part, const PieceState& raw, const Vec3& up_P, const std::vector<FeatureId>& ids,
                     FarEnd ending) {
  SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = up_P;
  const double bar_end = ExtentOf(raw, up_P).first;
  std::optional<FeatureId> far_face;
  double far_at = 0;
  for (const FeatureId& id : ids) {
    const auto* face = std::get_if<PlanarFace>(&part.Find(id)->shape);
    if (face == nullptr || !SameWay(face->normal_P, -up_P)) continue;
    if (far_face && -face->at.middle_mm() > far_at) continue;
    far_face = id;
    far_at = -face->at.middle_mm();
  }
  const bool parts_off = far_face && far_at - bar_end > kPartOffAbove_mm;
  const double lowest = bar_end + kWantedGrip_mm + kJawRoom_mm;
  for (const FeatureId& id : ids) {
    const Feature& feature = *part.Find(id);
    if (!IsTurned(part, feature) || !HasSide(part, feature, up_P)) continue;
    if (LowestOutside(part, feature, up_P) < lowest - 1e-6) continue;
    sketch.cuts.push_back(id);
  }
  SortCuts(part, sketch.cuts);
  const double leave = ending == FarEnd::kAsParted ? 0 : kPartOffLeave_mm;
  if (parts_off && far_at - leave - kBlade_mm >= lowest - 1e-6) {
    sketch.part_off = far_face;
    sketch.part_off_leave_mm = leave;
  }
  return sketch;
}

// A slim bar is worked close to the jaws: its end first, then drawn out to be parted.
std::vector<SetupSketch> DrawnOut(const Part& part, const PieceState& raw, const SetupSketch& whole) {
  if (!whole.part_off) return {whole};
  const double top = ExtentOf(raw, whole.up_P).second;
  double lowest = top;
  for (const FeatureId& id : whole.cuts) lowest = std::min(lowest, LowestOutside(part, *part.Find(id), whole.up_P));
  const auto& face = std::get<PlanarFace>(part.Find(*whole.part_off)->shape);
  const double parted = -face.at.middle_mm() - whole.part_off_leave_mm - kBlade_mm - kJawRoom_mm;
  const double diameter = raw.bands.front().diameter_mm;
  const bool slim = top - parted > kMostStickOut_diameters * diameter;
  if (!slim || top - lowest > kMostStickOut_diameters * diameter || raw.bands.front().feature == std::nullopt) return {whole};
  SetupSketch end = whole;
  end.part_off.reset();
  end.part_off_leave_mm = 0;
  SetupSketch drawn = whole;
  drawn.cuts.clear();
  return {end, drawn};
}

bool AddMilling(Route& route, PieceState& piece, const Part& part, const Shop& shop, const Deferred& deferred,
                const std::vector<FeatureId>& ids, std::string* why) {
  for (const SideGroup& group : GroupBySide(part, ids)) {
    if (AddSetup(route, piece, SketchFor(part, group), shop, deferred, why)) continue;
    const SideGroup turned_over{-group.up_P, group.cuts};
    const bool either = std::all_of(group.cuts.begin(), group.cuts.end(),
                                    [&](const FeatureId& id) { return HasSide(part, *part.Find(id), turned_over.up_P); });
    if (!either || !AddSetup(route, piece, SketchFor(part, turned_over), shop, deferred, why)) return false;
  }
  return true;
}

struct Work {
  std::vector<FeatureId> turned;
  std::vector<FeatureId> milled;
  std::vector<FeatureId> bench;
};

// What is left for the other end, or the reason why it cannot be turned from there.
Result<SetupSketch> OtherEnd(const Part& part, const SetupSketch& first, const std::vector<FeatureId>& turned) {
  SetupSketch second;
  second.part = part.name;
  second.up_P = -first.up_P;
  for (const FeatureId& id : turned) {
    const bool parted = first.part_off == id && first.part_off_leave_mm == 0;
    if (Lists(first.cuts, id) || parted) continue;
    if (!HasSide(part, *part.Find(id), second.up_P)) {
      return NoHold(fmt::format("{} of {} cannot be turned from either end as the bar is held", id.text(), part.name.text()),
                    "a longer bar");
    }
    second.cuts.push_back(id);
  }
  SortCuts(part, second.cuts);
  return second;
}

// Milled from the side where the diameter is not turned yet: its depth would count from a skin that goes.
bool StandsOnRaw(const Part& part, const PieceState& piece, const FeatureId& id) {
  const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
  const Axis3& axis = part.turning_axis_P;
  if (hole == nullptr || std::abs(hole->into_P.dot(axis.direction)) > 0.5) return false;
  const double along = (hole->entries_P_mm.front() - axis.point_mm).dot(axis.direction);
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    return outer != nullptr && along > std::min(outer->from_mm, outer->to_mm) && along < std::max(outer->from_mm, outer->to_mm) &&
           !IsAsSupplied(f) && !piece.IsMade(f.name);
  });
}

bool FindWay(const Part& part, const Shop& shop, const Deferred& deferred, const Work& work, const Way& way, Route& route,
             std::string* why) {
  const Vec3 up = part.turning_axis_P.direction * way.sign;
  PieceState piece = RawPiece(part);
  if (piece.bands.empty()) return false;
  const SetupSketch first = BarSetup(part, piece, up, work.turned, way.far_end);
  if (first.cuts.empty()) return false;
  const Result<SetupSketch> second = OtherEnd(part, first, work.turned);
  if (!second) {
    *why = second.error().message;
    return false;
  }
  for (const SetupSketch& sketch : DrawnOut(part, piece, first)) {
    if (!AddSetup(route, piece, sketch, shop, deferred, why)) return false;
  }
  if (way.mill_before_second) {
    for (const FeatureId& id : work.milled) {
      if (!StandsOnRaw(part, piece, id)) continue;
      *why = fmt::format("{} of {} stands on a diameter that is turned later", id.text(), part.name.text());
      return false;
    }
  }
  if (way.mill_before_second && !AddMilling(route, piece, part, shop, deferred, work.milled, why)) return false;
  if (!second->cuts.empty() && !AddSetup(route, piece, *second, shop, deferred, why)) return false;
  if (!way.mill_before_second && !AddMilling(route, piece, part, shop, deferred, work.milled, why)) return false;
  return AddMilling(route, piece, part, shop, deferred, work.bench, why);
}

}  // namespace

std::vector<Route> TurnedRoutes(const Part& part, const Shop& shop, const Deferred& deferred,
                                std::vector<std::string>* why) {
  std::vector<FeatureId> ids = OwnCuts(part, deferred);
  Work work;
  work.bench = TakeHandWork(part, ids);
  for (const FeatureId& id : ids) {
    const Feature& feature = *part.Find(id);
    const bool turned = IsTurned(part, feature) && !std::holds_alternative<Flats>(feature.shape);
    (turned ? work.turned : work.milled).push_back(id);
  }
  std::vector<Route> routes;
  for (const FarEnd ending : {FarEnd::kFaced, FarEnd::kAsParted}) {
    if (!routes.empty()) break;  // a face left as parted is the last resort
    for (const double sign : {1.0, -1.0}) {
      for (const bool mill_before_second : {false, true}) {
        if (mill_before_second && work.milled.empty()) continue;
        Route route;
        std::string reason;
        if (FindWay(part, shop, deferred, work, {sign, mill_before_second, ending}, route, &reason)) {
          routes.push_back(route);
        } else if (why != nullptr && !reason.empty()) {
          why->push_back(reason);
        }
      }
    }
  }
  return routes;
}

}  // namespace fitwright::planner
