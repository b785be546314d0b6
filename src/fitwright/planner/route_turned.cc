// Routes of turned parts: from one end of the bar, parted off, turned round; what is not turned before or
// after that.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/route_internal.h"
#include "fitwright/planner/tool_choice.h"

namespace fitwright::planner {
namespace {

constexpr double kPartOffAbove_mm = 4;    // more than this beyond the far face is parted off, not faced
constexpr double kPartOffLeave_mm = 0.4;  // left on a parted face, to be faced
constexpr double kBlade_mm = 3;           // a parting blade and a little
constexpr double kJawRoom_mm = 2;
constexpr double kWantedGrip_mm = 6;
constexpr double kLeastGrip_mm = 5;       // where no way has more: as short as a chuck holds a land

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
  bool centred = false;          // the whole outside with its end on the tailstock's centre
  bool outside_on_bore = false;  // the second end on a mandrel in the bore, with all the outside it reaches
  double grip_mm = kWantedGrip_mm;  // of the bar, at least
  bool across_first = false;     // what is cut across the axis before what hollows an end
  bool grooves_last = false;     // outside grooves with the second end, gripped beside them
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

// The widest hole about the axis that an inside groove or cone widens; nothing for the rest.
const Feature* BoreUnder(const Part& part, const Feature& feature) {
  const auto* groove = std::get_if<Groove>(&feature.shape);
  const auto* cone = std::get_if<Taper>(&feature.shape);
  if (!(groove != nullptr && groove->internal) && !(cone != nullptr && cone->internal)) return nullptr;
  const Vec3& axis = part.turning_axis_P.direction;
  const Axis3& own = groove != nullptr ? groove->axis_P : cone->axis_P;
  const double middle = axis.dot(own.point_mm + own.direction * 0.5 * (groove != nullptr ? groove->from_mm + groove->to_mm : cone->from_mm + cone->to_mm));
  const double most = groove != nullptr ? groove->diameter.nominal_mm : std::max(cone->start_diameter.nominal_mm, cone->end_diameter.nominal_mm);
  const Feature* widest = nullptr;
  double diameter = 0;
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !IsTurned(part, f) || hole->diameter.nominal_mm > most || hole->diameter.nominal_mm < diameter) continue;
    const double entry = axis.dot(hole->entries_P_mm.front());
    const auto [low, high] = std::minmax({entry, entry + axis.dot(hole->into_P) * hole->depth_mm});
    if (middle < low || middle > high) continue;
    widest = &f;
    diameter = hole->diameter.nominal_mm;
  }
  return widest;
}

// Grooves and cones inside a bore wait for it.
void LeaveWhatHasNoBore(const Part& part, std::vector<FeatureId>& cuts) {
  std::vector<FeatureId> early;
  for (const FeatureId& id : cuts) {
    const Feature* bore = BoreUnder(part, *part.Find(id));
    if (bore != nullptr && !IsAsSupplied(*bore) && !Lists(cuts, bore->name)) early.push_back(id);
  }
  std::erase_if(cuts, [&](const FeatureId& id) { return Lists(early, id); });
}

// What one chucking of the bar with `up_P` outward makes: everything turned that can be reached and
// stands clear of the jaws.
SetupSketch BarSetup(const Part& part, const PieceState& raw, const Vec3& up_P, const std::vector<FeatureId>& ids,
                     const Way& way, const RouteWanted& deferred) {
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
  const double lowest = bar_end + way.grip_mm + kJawRoom_mm;
  for (const FeatureId& id : ids) {
    const Feature& feature = *part.Find(id);
    if (!IsTurned(part, feature) || !HasSide(part, feature, up_P)) continue;
    if (LowestOutside(part, feature, up_P) < lowest - 1e-6) continue;
    sketch.cuts.push_back(id);
  }
  LeaveWhatHasNoBore(part, sketch.cuts);
  SortCuts(part, sketch.cuts);
  const auto later = far_face ? deferred.leave_mm.find(*far_face) : deferred.leave_mm.end();
  const double kept = later == deferred.leave_mm.end() ? 0 : later->second;
  const double leave = way.far_end == FarEnd::kAsParted ? kept : kPartOffLeave_mm;
  if (parts_off && far_at - leave - kBlade_mm >= lowest - 1e-6) {
    sketch.part_off = far_face;
    sketch.part_off_leave_mm = leave;
  }
  return sketch;
}

// The outside that a chamfer, thread or knurl works on.
std::optional<FeatureId> OutsideUnder(const FeatureShape& shape) {
  if (const auto* c = std::get_if<RoundChamfer>(&shape)) return c->on;
  if (const auto* t = std::get_if<ExternalThread>(&shape)) return t->on;
  if (const auto* k = std::get_if<Knurl>(&shape)) return k->on;
  return std::nullopt;
}

// What runs true only to what it is turned on: outsides with all that stands on them, and outside grooves,
// that can be turned from `up_P` as well.
std::vector<FeatureId> OutsideFrom(const Part& part, const std::vector<FeatureId>& cuts, const Vec3& up_P) {
  std::vector<FeatureId> from;
  const auto all_from_there = [&](const FeatureId& outside) {
    return std::all_of(cuts.begin(), cuts.end(), [&](const FeatureId& id) {
      const Feature& feature = *part.Find(id);
      return OutsideUnder(feature.shape) != outside || HasSide(part, feature, up_P);
    });
  };
  for (const FeatureId& id : cuts) {
    const Feature& feature = *part.Find(id);
    const auto* groove = std::get_if<Groove>(&feature.shape);
    const auto* taper = std::get_if<Taper>(&feature.shape);
    const bool outside = std::holds_alternative<OuterDiameter>(feature.shape) || (groove != nullptr && !groove->internal) ||
                         (taper != nullptr && !taper->internal);
    if (outside && HasSide(part, feature, up_P) && all_from_there(id)) from.push_back(id);
  }
  for (const FeatureId& id : cuts) {
    const auto on = OutsideUnder(part.Find(id)->shape);
    if (on && Lists(from, *on)) from.push_back(id);
  }
  return from;
}

bool IsAcross(const Part& part, const Vec3& up_P) { return std::abs(up_P.dot(part.turning_axis_P.direction)) < kSameDirection; }

// A cut across the axis that comes after one along it, as the sheet has them.
bool HasAcrossAfterAlong(const Part& part, const std::vector<FeatureId>& ids) {
  const std::vector<SideGroup> groups = GroupBySide(part, ids, {});
  const auto along = std::find_if(groups.begin(), groups.end(), [&](const SideGroup& g) { return !IsAcross(part, g.up_P); });
  return std::any_of(along, groups.end(), [&](const SideGroup& g) { return IsAcross(part, g.up_P); });
}

// Outside grooves among the cuts that can be cut from `up_P` as well.
std::vector<FeatureId> GroovesFrom(const Part& part, const std::vector<FeatureId>& cuts, const Vec3& up_P) {
  std::vector<FeatureId> grooves;
  for (const FeatureId& id : cuts) {
    const Feature& feature = *part.Find(id);
    const auto* groove = std::get_if<Groove>(&feature.shape);
    if (groove != nullptr && !groove->internal && HasSide(part, feature, up_P)) grooves.push_back(id);
  }
  return grooves;
}

bool MakesBoreThrough(const Part& part, const std::vector<FeatureId>& cuts) {
  return std::any_of(cuts.begin(), cuts.end(), [&](const FeatureId& id) {
    const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
    return hole != nullptr && hole->through && !hole->thread;
  });
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

bool AddMilling(Route& route, PieceState& piece, const Part& part, const Shop& shop, const RouteWanted& deferred,
                const std::vector<FeatureId>& ids, std::string* why, bool across_first = false) {
  std::vector<SideGroup> groups = GroupBySide(part, ids, deferred.pins);
  if (across_first) std::stable_partition(groups.begin(), groups.end(), [&](const SideGroup& g) { return IsAcross(part, g.up_P); });
  for (const SideGroup& group : groups) {
    if (AddSetup(route, piece, SketchFor(part, group), shop, deferred, why)) continue;
    const SideGroup turned_over{-group.up_P, group.cuts};
    const bool either = std::all_of(group.cuts.begin(), group.cuts.end(),
                                    [&](const FeatureId& id) { return HasSide(part, *part.Find(id), turned_over.up_P); });
    if (!either || !AddSetup(route, piece, SketchFor(part, turned_over), shop, deferred, why)) return false;
  }
  return true;
}

// Where an outside that carries a chamfer or a thread ends, along up_P.
std::optional<double> EndAlong(const Part& part, const FeatureShape& shape, const Vec3& up_P) {
  const auto* chamfer = std::get_if<RoundChamfer>(&shape);
  const auto* thread = std::get_if<ExternalThread>(&shape);
  const auto on = OutsideUnder(shape);
  const auto* o = on ? std::get_if<OuterDiameter>(&part.Find(*on)->shape) : nullptr;
  if (o == nullptr || (chamfer == nullptr && thread == nullptr)) return std::nullopt;
  const bool at_start = chamfer != nullptr ? chamfer->at_start : thread->at_start;
  return up_P.dot(o->axis_P.point_mm + o->axis_P.direction * (at_start ? o->from_mm : o->to_mm));
}

// What can be cut only when the centre is gone from the end: its face, what stands on its edge, all inside.
bool AtTheEnd(const Part& part, const Feature& feature, const Vec3& up_P, double end) {
  if (std::holds_alternative<PlanarFace>(feature.shape)) return true;
  if (const auto at = EndAlong(part, feature.shape, up_P)) return *at > end - 1e-6;
  const auto* groove = std::get_if<Groove>(&feature.shape);
  const auto* taper = std::get_if<Taper>(&feature.shape);
  if (groove != nullptr) return groove->internal;
  if (taper != nullptr) return taper->internal;
  return !std::holds_alternative<OuterDiameter>(feature.shape) && !std::holds_alternative<Knurl>(feature.shape);
}

// What centres an end needs: the tailstock's, and a drill for them.
struct CentreTools {
  const HoldingDevice* centre = nullptr;
  const Tool* drill = nullptr;
  double left_mm = 0;  // of bar over the finished end, for the hole
};

constexpr double kFaceFirst_mm = 0.5;  // off the sawn end before it is centred

std::optional<CentreTools> FindCentreTools(const Part& part, const Shop& shop, const std::vector<FeatureId>& cuts) {
  constexpr double kPastCentre_mm = 1;  // of bar left under the centre
  double slimmest = 1e9;
  for (const FeatureId& id : cuts) {
    if (const auto* o = std::get_if<OuterDiameter>(&part.Find(id)->shape)) slimmest = std::min(slimmest, o->diameter.middle_mm());
  }
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind != HoldingDeviceKind::kTailstockCentre || shop.Find(device.on) == nullptr) continue;
    const Tool* drill = FindCentreDrill(shop, *shop.Find(device.on), slimmest);
    if (drill != nullptr) return CentreTools{&device, drill, CentreDepth_mm(*drill) + kPastCentre_mm};
  }
  return std::nullopt;
}

struct EndFace {
  FeatureId face;
  double at = -1e9;  // along its normal
};
std::optional<EndFace> OutermostFace(const Part& part, const std::vector<FeatureId>& cuts, const Vec3& up_P) {
  EndFace end;
  for (const FeatureId& id : cuts) {
    const auto* plane = std::get_if<PlanarFace>(&part.Find(id)->shape);
    if (plane == nullptr || !SameWay(plane->normal_P, up_P) || plane->at.middle_mm() < end.at) continue;
    end = {id, plane->at.middle_mm()};
  }
  return end.at > -1e8 ? std::optional(end) : std::nullopt;
}

// The bar's end faced and centred, with spare bar left for the centre.
SetupSketch Centring(const Part& part, const Vec3& up_P, const EndFace& end, const CentreTools& tools) {
  SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = up_P;
  sketch.cuts = {end.face};
  sketch.leave_mm[end.face] = tools.left_mm;
  sketch.centre = tools.drill->name;
  return sketch;
}

struct Centred {
  SetupSketch centring;  // the bar's end faced and centred, close to the jaws
  SetupSketch turning;   // the outside, its end on the centre
  SetupSketch ending;    // the end faced to length, the centre with it
};

// The first end's work on the tailstock's centre; the centre stands in spare bar beyond the end.
Result<Centred> OnCentre(const Part& part, const PieceState& raw, const Shop& shop, const SetupSketch& whole) {
  const Vec3& up = whole.up_P;
  const auto end = OutermostFace(part, whole.cuts, up);
  const auto tools = FindCentreTools(part, shop, whole.cuts);
  if (!end || !tools) {
    return NoHold(fmt::format("{} is too slender to be turned without support, and there is no centre for its end", part.name.text()),
                  "a centre for the tailstock and a centre drill");
  }
  const double spare = ExtentOf(raw, up).second - end->at;
  if (spare < tools->left_mm + kFaceFirst_mm) {
    return NoHold(fmt::format("{} is too slender to be turned without support: a centre wants {:.1f} mm of spare bar beyond {}, there are "
                              "{:.1f}", part.name.text(), tools->left_mm + kFaceFirst_mm, end->face.text(), spare),
                  "a longer bar");
  }
  Centred made;
  made.centring = Centring(part, up, *end, *tools);
  made.ending.part = part.name;
  made.ending.up_P = up;
  made.turning = whole;
  made.turning.cuts.clear();
  made.turning.centre = tools->drill->name;
  made.turning.support = tools->centre->name;
  for (const FeatureId& id : whole.cuts) {
    (AtTheEnd(part, *part.Find(id), up, end->at) ? made.ending : made.turning).cuts.push_back(id);
  }
  return made;
}

// Where an outside with all that stands on it, or an outside groove, begins along up_P; nothing for the rest.
std::optional<double> OutsideBegins(const Part& part, const Feature& feature, const Vec3& up_P) {
  const auto on = OutsideUnder(feature.shape);
  const double low = LowestOutside(part, on ? *part.Find(*on) : feature, up_P);
  return low < 1e8 ? std::optional(low) : std::nullopt;
}

// A cone outside that the top slide does not reach along: it is cut by itself, the tailstock set over.
bool IsLongCone(const Part& part, const Shop& shop, const FeatureId& id) {
  const auto* cone = std::get_if<Taper>(&part.Find(id)->shape);
  if (cone == nullptr || cone->internal) return false;
  const double along = std::abs(cone->to_mm - cone->from_mm);
  const double rise = 0.5 * (cone->end_diameter.middle_mm() - cone->start_diameter.middle_mm());
  return std::all_of(shop.machines.begin(), shop.machines.end(), [&](const MachineTool& m) {
    return m.kind != MachineToolKind::kLathe || std::hypot(along, rise) > m.top_slide_mm;
  });
}

// Each long cone in a setup of its own, after what is turned parallel on the same centres.
std::vector<SetupSketch> ConesApart(const Part& part, const Shop& shop, SetupSketch sketch) {
  std::vector<SetupSketch> setups;
  SetupSketch cone = sketch;
  cone.set_over = true;
  const auto is_long = [&](const FeatureId& id) { return IsLongCone(part, shop, id); };
  for (const FeatureId& id : sketch.cuts) {
    if (!is_long(id)) continue;
    cone.cuts = {id};
    setups.push_back(cone);
  }
  std::erase_if(sketch.cuts, is_long);
  if (!sketch.cuts.empty()) setups.insert(setups.begin(), sketch);
  return setups;
}

// Every outside on the piece's own two centres, turned round between them; then each end faced to length in
// the chuck. Empty where one side would have nothing to turn.
std::vector<SetupSketch> BetweenCentres(const Part& part, const PieceState& raw, const Shop& shop, const std::vector<FeatureId>& turned,
                                        const Vec3& up_P) {
  const std::array<Vec3, 2> ups = {up_P, Vec3(-up_P)};
  const auto tools = FindCentreTools(part, shop, turned);
  const std::array<std::optional<EndFace>, 2> ends = {OutermostFace(part, turned, ups[0]), OutermostFace(part, turned, ups[1])};
  if (!tools || !ends[0] || !ends[1] || raw.bands.size() != 1 || raw.bands.front().inner_diameter_mm > 0) return {};
  std::vector<SetupSketch> setups;
  for (std::size_t i = 0; i < 2; ++i) {
    if (ExtentOf(raw, ups[i]).second - ends[i]->at < tools->left_mm + kFaceFirst_mm) return {};
    setups.push_back(Centring(part, ups[i], *ends[i], *tools));
  }
  std::array<SetupSketch, 2> on_centres;
  std::array<SetupSketch, 2> in_chuck;
  for (std::size_t i = 0; i < 2; ++i) {
    on_centres[i].part = in_chuck[i].part = part.name;
    on_centres[i].up_P = in_chuck[i].up_P = ups[i];
    on_centres[i].centre = tools->drill->name;
    on_centres[i].support = tools->centre->name;
    on_centres[i].between_centres = true;
  }
  const double dog = -ends[1]->at - tools->left_mm + 2 * kDogFromEnd_mm + kDog_mm;
  std::array<bool, 2> turns = {false, false};
  for (const FeatureId& id : turned) {
    const Feature& feature = *part.Find(id);
    const std::size_t side = HasSide(part, feature, ups[0]) ? 0 : 1;
    const auto begins = OutsideBegins(part, feature, ups[0]);
    if (!begins || AtTheEnd(part, feature, ups[side], ends[side]->at)) {
      in_chuck[side].cuts.push_back(id);
      continue;
    }
    const std::size_t turned_from = side == 0 && *begins > dog - 1e-6 ? 0 : 1;
    if (!HasSide(part, feature, ups[turned_from])) return {};
    on_centres[turned_from].cuts.push_back(id);
    turns[turned_from] |= OutsideUnder(feature.shape) == std::nullopt;
  }
  if (!turns[0] || !turns[1]) return {};
  for (auto* pair : {&on_centres, &in_chuck}) {
    for (SetupSketch& sketch : *pair) {
      SortCuts(part, sketch.cuts);
      for (SetupSketch& apart : ConesApart(part, shop, sketch)) setups.push_back(std::move(apart));
    }
  }
  return setups;
}

struct Work {
  std::vector<FeatureId> turned;
  std::vector<FeatureId> milled;
  std::vector<FeatureId> bench;
};

// What is left for the other end, or the reason why it cannot be turned from there.
Result<SetupSketch> OtherEnd(const Part& part, const SetupSketch& first, const std::vector<FeatureId>& turned, FarEnd ending) {
  SetupSketch second;
  second.part = part.name;
  second.up_P = -first.up_P;
  for (const FeatureId& id : turned) {
    const bool parted = first.part_off == id && ending == FarEnd::kAsParted;
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

// Whether an outside that is still to be turned lies anywhere from `low` to `high` along the axis; with `beside_mm` only one
// that leaves that radius free.
bool IsUnturned(const Part& part, const PieceState& piece, double low, double high, double beside_mm = std::numeric_limits<double>::max()) {
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    return outer != nullptr && high > std::min(outer->from_mm, outer->to_mm) && low < std::max(outer->from_mm, outer->to_mm) &&
           !IsAsSupplied(f) && !piece.IsMade(f.name) && outer->diameter.middle_mm() / 2 < beside_mm;
  });
}

// Milled or drilled where a diameter is not turned yet: its depth would count from a skin that goes.
bool StandsOnRaw(const Part& part, const PieceState& piece, const FeatureId& id) {
  const Axis3& axis = part.turning_axis_P;
  const auto along = [&](const Vec3& p) { return (p - axis.point_mm).dot(axis.direction); };
  if (const auto* flats = std::get_if<Flats>(&part.Find(id)->shape)) {
    const double a = along(flats->axis_P.point_mm + flats->axis_P.direction * flats->from_mm);
    const double b = along(flats->axis_P.point_mm + flats->axis_P.direction * flats->to_mm);
    return IsUnturned(part, piece, std::min(a, b), std::max(a, b));
  }
  const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
  if (hole == nullptr) return false;
  const Vec3& entry = hole->entries_P_mm.front();
  const double into = hole->into_P.dot(axis.direction);
  if (std::abs(into) <= 0.5) return IsUnturned(part, piece, along(entry), along(entry));
  // Beside an outside that is turned down to its entry later.
  const double off_mm = (entry - axis.point_mm - axis.direction * along(entry)).norm();
  const double far = std::numeric_limits<double>::max();
  return into > 0 ? IsUnturned(part, piece, -far, along(entry), off_mm) : IsUnturned(part, piece, along(entry), far, off_mm);
}

// A hole of the setups from `first` on that is entered through a face of the bar's end that is not cut yet: the
// same holds of its depth.
std::optional<FeatureId> DrilledThroughSkin(const Part& part, const PieceState& before, const Route& route, std::size_t first) {
  constexpr double kOnFace_mm = 0.1;
  for (std::size_t i = first; i < route.setups.size(); ++i) {
    for (const FeatureId& id : route.setups[i].cuts) {
      const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
      if (hole == nullptr || !SameWay(-hole->into_P, route.setups[i].up_P)) continue;
      const bool uncut = std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
        const auto* face = std::get_if<PlanarFace>(&f.shape);
        return face != nullptr && SameWay(face->normal_P, -hole->into_P) && !IsAsSupplied(f) && !before.IsMade(f.name) &&
               !Lists(route.setups[i].cuts, f.name) &&
               std::abs(face->at.middle_mm() - face->normal_P.dot(hole->entries_P_mm.front())) < kOnFace_mm;
      });
      if (uncut) return id;
    }
  }
  return std::nullopt;
}

bool FindWay(const Part& part, const Shop& shop, const RouteWanted& deferred, const Work& work, const Way& way, Route& route,
             std::string* why) {
  const Vec3 up = part.turning_axis_P.direction * way.sign;
  PieceState piece = RawPiece(part);
  if (piece.bands.empty()) return false;
  SetupSketch first = BarSetup(part, piece, up, work.turned, way, deferred);
  if (first.cuts.empty()) return false;
  if (way.outside_on_bore) {
    const std::vector<FeatureId> later = OutsideFrom(part, first.cuts, -up);
    if (later.empty() || !MakesBoreThrough(part, first.cuts)) return false;
    std::erase_if(first.cuts, [&](const FeatureId& id) { return Lists(later, id); });
  }
  if (way.grooves_last) {
    const std::vector<FeatureId> later = GroovesFrom(part, first.cuts, -up);
    if (later.empty()) return false;
    std::erase_if(first.cuts, [&](const FeatureId& id) { return Lists(later, id); });
  }
  const Result<SetupSketch> second = OtherEnd(part, first, work.turned, way.far_end);
  if (!second) {
    *why = second.error().message;
    return false;
  }
  std::vector<SetupSketch> first_end = DrawnOut(part, piece, first);
  if (way.centred) {
    const Result<Centred> centred = OnCentre(part, piece, shop, first);
    if (!centred) {
      *why = centred.error().message;
      return false;
    }
    first_end = {centred->centring, centred->turning, centred->ending};
  }
  for (const SetupSketch& sketch : first_end) {
    if (!AddSetup(route, piece, sketch, shop, deferred, why)) return false;
  }
  if (way.mill_before_second) {
    for (const FeatureId& id : work.milled) {
      if (!StandsOnRaw(part, piece, id)) continue;
      *why = fmt::format("{} of {} stands on a diameter that is turned later", id.text(), part.name.text());
      return false;
    }
  }
  const PieceState before = piece;
  const std::size_t turned = route.setups.size();
  if (way.mill_before_second && !AddMilling(route, piece, part, shop, deferred, work.milled, why, way.across_first)) return false;
  if (const auto hole = DrilledThroughSkin(part, before, route, turned)) {
    *why = fmt::format("{} of {} is drilled from a face that is cut later", hole->text(), part.name.text());
    return false;
  }
  const auto wanted = way.outside_on_bore ? std::optional(HoldingKind::kStubMandrel) : std::nullopt;
  if (!second->cuts.empty() && !AddSetup(route, piece, *second, shop, deferred, why, wanted)) return false;
  if (!way.mill_before_second && !AddMilling(route, piece, part, shop, deferred, work.milled, why, way.across_first)) return false;
  return AddMilling(route, piece, part, shop, deferred, work.bench, why);
}

// Both ends to one pair of centres, where no bore could carry the outside.
bool FindBetweenCentres(const Part& part, const Shop& shop, const RouteWanted& deferred, const Work& work, double sign, Route& route) {
  PieceState piece = RawPiece(part);
  if (piece.bands.empty() || MakesBoreThrough(part, work.turned)) return false;
  std::string why;
  const std::vector<SetupSketch> setups = BetweenCentres(part, piece, shop, work.turned, part.turning_axis_P.direction * sign);
  for (const SetupSketch& sketch : setups) {
    if (!AddSetup(route, piece, sketch, shop, deferred, &why)) return false;
  }
  return !setups.empty() && AddMilling(route, piece, part, shop, deferred, work.milled, &why) &&
         AddMilling(route, piece, part, shop, deferred, work.bench, &why);
}

// From either end, milled before or after the second end is turned; where it differs, with what goes across first
// and with the grooves last.
std::vector<Way> BarWays(const Part& part, const Work& work, FarEnd ending) {
  std::vector<Way> ways;
  const bool across = HasAcrossAfterAlong(part, work.milled);
  const bool grooved = !work.milled.empty() && !GroovesFrom(part, work.turned, part.turning_axis_P.direction).empty();
  for (const double sign : {1.0, -1.0}) {
    for (const bool mill_before_second : {false, true}) {
      if (mill_before_second && work.milled.empty()) continue;
      for (const bool across_first : {false, true}) {
        if (across_first && !across) continue;
        for (const bool grooves_last : {false, true}) {
          if (grooves_last && !grooved) continue;
          Way way;
          way.sign = sign;
          way.mill_before_second = mill_before_second;
          way.far_end = ending;
          way.across_first = across_first;
          way.grooves_last = grooves_last;
          ways.push_back(way);
        }
      }
    }
  }
  return ways;
}

bool GoesOnMandrel(const Route& route) {
  return std::any_of(route.setups.begin(), route.setups.end(),
                     [](const SetupSketch& s) { return s.holding == HoldingKind::kStubMandrel; });
}

// From either end of the bar, with the milling before or after the second end.
std::vector<Route> WaysFromTheBar(const Part& part, const Shop& shop, const RouteWanted& deferred, const Work& work, double grip_mm,
                                  std::vector<std::string>* why) {
  std::vector<Route> routes;
  for (const FarEnd ending : {FarEnd::kFaced, FarEnd::kAsParted}) {
    // A face left as parted is the last resort, beside a mandrel turned for the facing alone.
    if (!std::all_of(routes.begin(), routes.end(), GoesOnMandrel)) break;
    for (Way way : BarWays(part, work, ending)) {
      way.grip_mm = grip_mm;
      Route route;
      std::string reason;
      if (FindWay(part, shop, deferred, work, way, route, &reason)) {
        routes.push_back(route);
      } else if (why != nullptr && !reason.empty()) {
        why->push_back(reason);
      }
    }
  }
  return routes;
}

}  // namespace

std::vector<Route> TurnedRoutes(const Part& part, const Shop& shop, const RouteWanted& deferred,
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
  for (const double grip_mm : {kWantedGrip_mm, kLeastGrip_mm}) {
    if (routes.empty()) routes = WaysFromTheBar(part, shop, deferred, work, grip_mm, why);
  }
  const bool too_slender = routes.empty();
  for (const double sign : {1.0, -1.0}) {
    Way way;
    way.sign = sign;
    way.centred = too_slender;
    way.outside_on_bore = !too_slender;
    Route route;
    std::string reason;
    if (FindWay(part, shop, deferred, work, way, route, &reason)) {
      routes.push_back(route);
    } else if (too_slender && why != nullptr && !reason.empty()) {
      why->push_back(reason);
    }
  }
  for (const double sign : {1.0, -1.0}) {
    Route route;
    if (!FindBetweenCentres(part, shop, deferred, work, sign, route)) continue;
    routes.push_back(route);
    break;
  }
  return routes;
}

}  // namespace fitwright::planner
