#include "fitwright/planner/chuck_grip.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "fitwright/planner/finished_grip.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_keyway.h"

namespace fitwright::planner {
namespace {

constexpr double kToolRoom_mm = 2;    // between the jaws and the lowest cut
constexpr double kLeastGrip_mm = 5;   // shortest land that is gripped
constexpr double kPastEnd_mm = 1;     // an outside without a shoulder is turned this far past its end
constexpr double kBesidePoint_mm = 1;  // a pointed tool's flank comes lower than the vee that it cuts
constexpr double kThroughRoom_mm = 0.5;  // a bar goes into a bore that is wider by this: it is seldom round, and may carry what is left on it (opinion)
constexpr double kBelowTop_mm = 0.5;  // jaws of a chuck that holds for drilling alone

// A length from one end of an outside that a chamfer or a thread takes.
struct OuterEnd {
  Axis3 axis_P;
  double end_mm = 0;
  double inward_mm = 0;  // signed
};

std::optional<OuterEnd> EndOf(const PieceState& piece, const FeatureShape& shape) {
  FeatureId id;
  bool at_start = true;
  double length = 0;
  if (const auto* chamfer = std::get_if<RoundChamfer>(&shape)) {
    id = chamfer->on;
    at_start = chamfer->at_start;
    length = chamfer->axial_mm;
  } else if (const auto* thread = std::get_if<ExternalThread>(&shape)) {
    id = thread->on;
    at_start = thread->at_start;
    length = thread->length_mm;
  } else {
    return std::nullopt;
  }
  const auto* outer = std::get_if<OuterDiameter>(&CutOf(piece, id).shape);
  if (outer == nullptr) return std::nullopt;
  const double sense = (outer->to_mm > outer->from_mm) == at_start ? 1 : -1;
  return OuterEnd{outer->axis_P, at_start ? outer->from_mm : outer->to_mm, sense * length};
}

// Where the jaws must end so that drills which come out beside a land of this diameter clear them.
double DrillRoom(const SetupSketch& sketch, const PieceState& piece, double land_mm) {
  double room = 1e9;
  const Vec3& axis_point = piece.part->turning_axis_P.point_mm;
  for (const FeatureId& id : sketch.cuts) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    if (hole == nullptr || !hole->through) continue;
    for (const Vec3& entry : hole->entries_P_mm) {
      const Vec3 d = entry - axis_point;
      const double away = (d - sketch.up_P * sketch.up_P.dot(d)).norm();
      const double r = hole->diameter.upper_mm / 2;
      if (away < 1e-6 || away + r < land_mm / 2 || away - r > land_mm / 2 + 30) continue;
      const Vec3 exit = entry + hole->into_P * hole->depth_mm;
      const double out = std::min(sketch.up_P.dot(entry), sketch.up_P.dot(exit));
      room = std::min(room, out - r - kToolRoom_mm - 1);  // the point is about 0.6 r long, 1 beyond it
    }
  }
  return room;
}

std::optional<FeatureId> ShoulderBelow(const PieceState& piece, const Vec3& up_P, double at) {
  for (const FeatureId& id : piece.made) {
    const auto* face = std::get_if<PlanarFace>(&piece.part->Find(id)->shape);
    if (face == nullptr || face->normal_P.dot(up_P) > -1 + 1e-9) continue;
    if (std::abs(-face->at.middle_mm() - at) < kDrawnAlike_mm) return id;
  }
  return std::nullopt;
}

double ThickestBelow(const std::vector<Band>& bands, double at) {
  double thickest = 0;
  for (const Band& band : bands) {
    if (band.from_mm < at - 1e-6) thickest = std::max(thickest, band.diameter_mm);
  }
  return thickest;
}

// Collets stand in half millimetres and close by little (from memory).
bool FitsCollet(double diameter_mm) {
  constexpr double kStep_mm = 0.5;
  constexpr double kClosesBy_mm = 0.1;
  const double size = kStep_mm * std::ceil(diameter_mm / kStep_mm - 1e-3);
  return size - diameter_mm < kClosesBy_mm;
}

// What stands out of the jaws up to `at` springs under a load there as a bar of its slimmest diameter would
// that hangs so many diameters free.
double AsFree_diameters(const std::vector<Band>& bands, double jaws, double at) {
  double slim = 1e9;
  for (const Band& band : bands) {
    if (band.to_mm > jaws + 1e-6 && band.from_mm < at - 1e-6) slim = std::min(slim, band.diameter_mm);
  }
  double cubes = 0;
  for (const Band& band : bands) {
    const double from = std::max(band.from_mm, jaws);
    const double to = std::min(band.to_mm, at);
    if (to <= from) continue;
    cubes += (std::pow(at - from, 3) - std::pow(at - to, 3)) * std::pow(slim / band.diameter_mm, 4);
  }
  return std::cbrt(cubes) / slim;
}

}  // namespace

std::vector<Band> BandsAlong(const PieceState& piece, const Vec3& up_P) {
  const Axis3& axis = piece.part->turning_axis_P;
  const double sign = up_P.dot(axis.direction);
  const double base = up_P.dot(axis.point_mm);
  std::vector<Band> bands;
  for (const Band& b : piece.bands) {
    Band along = b;
    const double p = base + sign * b.from_mm;
    const double q = base + sign * b.to_mm;
    along.from_mm = std::min(p, q);
    along.to_mm = std::max(p, q);
    bands.push_back(along);
  }
  std::sort(bands.begin(), bands.end(), [](const Band& a, const Band& b) { return a.from_mm < b.from_mm; });
  return bands;
}

double LowestOutsideCut(const SetupSketch& sketch, const PieceState& piece) {
  double lowest = ExtentOf(piece, sketch.up_P).second;
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    const auto span = [&](const Axis3& axis, double from, double to) {
      const double a = sketch.up_P.dot(axis.point_mm + axis.direction * from);
      const double b = sketch.up_P.dot(axis.point_mm + axis.direction * to);
      lowest = std::min({lowest, a, b});
    };
    if (const auto* outer = std::get_if<OuterDiameter>(&shape)) span(outer->axis_P, outer->from_mm, outer->to_mm);
    if (const auto* groove = std::get_if<Groove>(&shape); groove != nullptr && !groove->internal) {
      const double beside = groove->profile == GrooveProfile::kVee ? kBesidePoint_mm : 0;
      span(groove->axis_P, groove->from_mm - beside, groove->to_mm + beside);
    }
    if (const auto* flats = std::get_if<Flats>(&shape)) span(flats->axis_P, flats->from_mm, flats->to_mm);
    if (const auto* taper = std::get_if<Taper>(&shape); taper != nullptr && !taper->internal) {
      span(taper->axis_P, taper->from_mm, taper->to_mm);
    }
    if (const auto on = EndOf(piece, shape)) span(on->axis_P, on->end_mm, on->end_mm + on->inward_mm);
    if (const auto* knurl = std::get_if<Knurl>(&shape)) {
      const auto& outer = std::get<OuterDiameter>(CutOf(piece, knurl->on).shape);
      span(outer.axis_P, knurl->from_mm, knurl->to_mm);
    }
    if (const auto* face = std::get_if<PlanarFace>(&shape)) {
      lowest = std::min(lowest, face->normal_P.dot(sketch.up_P) * face->at.middle_mm());
    }
  }
  if (sketch.part_off) {
    const auto& face = std::get<PlanarFace>(CutOf(piece, *sketch.part_off).shape);
    const double at = face.normal_P.dot(sketch.up_P) * (face.at.middle_mm() + sketch.part_off_leave_mm);
    lowest = std::min(lowest, at - 3);  // the blade's width and a little
  }
  return lowest;
}

double WidestThroughBore(const SetupSketch& sketch, const PieceState& piece) {
  double widest = 0;
  for (const FeatureId& id : sketch.cuts) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    if (hole != nullptr && hole->through && IsTurned(*piece.part, CutOf(piece, id))) {
      widest = std::max(widest, hole->diameter.upper_mm);
    }
  }
  return std::max(widest, KeywayRoom_mm(sketch, piece));
}

double StickOut_diameters(const SetupSketch& sketch, const PieceState& piece, const Grip& grip, const Shop& shop) {
  double worst = 0;
  const bool sawn = std::any_of(shop.tools.begin(), shop.tools.end(), [](const Tool& t) { return t.kind == ToolKind::kHacksaw; });
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    const auto* outer = std::get_if<OuterDiameter>(&shape);
    const auto* taper = std::get_if<Taper>(&shape);
    if (const auto* face = std::get_if<PlanarFace>(&shape)) {
      constexpr double kMuch_mm = 6;  // more is sawn off first, else taken off in slices, each as far out as it stands
      const double top = ExtentOf(piece, sketch.up_P).second;
      const auto leave = sketch.leave_mm.find(id);
      const double done = sketch.up_P.dot(face->normal_P) * face->at.middle_mm() + (leave == sketch.leave_mm.end() ? 0 : leave->second);
      const double at = top - done > kMuch_mm && !sawn ? top : done;
      worst = std::max({worst, (at - grip.jaw_end) / grip.band.diameter_mm, AsFree_diameters(BandsAlong(piece, sketch.up_P), grip.jaw_end, at)});
    }
    if (outer == nullptr && (taper == nullptr || taper->internal)) continue;
    const Axis3& axis = outer != nullptr ? outer->axis_P : taper->axis_P;
    const double from = outer != nullptr ? outer->from_mm : taper->from_mm;
    const double to = outer != nullptr ? outer->to_mm : taper->to_mm;
    const double diameter = outer != nullptr ? outer->diameter.middle_mm()
                                             : std::min(taper->start_diameter.middle_mm(), taper->end_diameter.middle_mm());
    const double top = std::max(sketch.up_P.dot(axis.point_mm + axis.direction * from),
                                sketch.up_P.dot(axis.point_mm + axis.direction * to));
    // All that stands out is as stout as what the jaws hold; the land itself as slim as it is turned.
    worst = std::max({worst, (top - grip.jaw_end) / grip.band.diameter_mm, std::abs(to - from) / diameter});
  }
  return worst;
}

double GroovesIn(const PieceState& piece, const Vec3& up_P, const Grip& grip, bool at_ends, double edge_mm) {
  double taken = 0;
  const double low = std::max(grip.from, grip.jaw_root) + edge_mm;
  for (const FeatureId& id : piece.made) {
    const auto* groove = std::get_if<Groove>(&CutOf(piece, id).shape);
    if (groove == nullptr || groove->internal) continue;
    const double p = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->from_mm);
    const double q = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->to_mm);
    const double from = std::max(std::min(p, q), low);
    const double to = std::min(std::max(p, q), grip.jaw_end);
    const bool counts = !at_ends || from < low + 1e-6 || to > grip.jaw_end - 1e-6;
    if (counts) taken += std::max(0.0, to - from);
  }
  return taken;
}

bool HasThinLand(const PieceState& piece, const Vec3& up_P, const Grip& grip) {
  constexpr double kThinLand_mm = 2;  // opinion
  const auto is_thin = [](double wide) { return wide > kGeometryNoise_mm && wide < kThinLand_mm; };
  std::vector<std::pair<double, double>> grooves;
  const double low = std::max(grip.from, grip.jaw_root);
  const double high = std::min(grip.band.to_mm, grip.jaw_end);
  for (const FeatureId& id : piece.made) {
    const auto* groove = std::get_if<Groove>(&CutOf(piece, id).shape);
    if (groove == nullptr || groove->internal) continue;
    const double p = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->from_mm);
    const double q = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->to_mm);
    if (std::max(p, q) > low && std::min(p, q) < high) grooves.emplace_back(std::min(p, q), std::max(p, q));
  }
  std::sort(grooves.begin(), grooves.end());
  double from = grip.from;
  for (const auto& [start, end] : grooves) {
    if (is_thin(start - from)) return true;
    from = end;
  }
  return !grooves.empty() && is_thin(grip.band.to_mm - from);
}

Result<Grip> FindGrip(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& chuck) {
  const std::vector<Band> bands = BandsAlong(piece, sketch.up_P);
  const double lowest = LowestOutsideCut(sketch, piece);
  std::optional<Grip> best;
  double best_score = 0;
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Band& band = bands[i];
    if (band.diameter_mm < chuck.grip_min_mm || band.diameter_mm > chuck.grip_max_mm) continue;
    if (chuck.kind == HoldingDeviceKind::kCollet && !FitsCollet(band.diameter_mm)) continue;
    if (!band.feature && piece.IsCut()) continue;  // raw bar is a first seat only
    Grip grip;
    grip.band = band;
    const double drills = DrillRoom(sketch, piece, band.diameter_mm);
    grip.jaw_end = std::min({band.to_mm, lowest - kToolRoom_mm, drills});
    // Where nothing is cut outside or across the top, a short land is gripped nearly to the top.
    const bool inside_only = lowest > ExtentOf(piece, sketch.up_P).second - 1e-6;
    if (inside_only && grip.jaw_end - band.from_mm < kLeastGrip_mm)
      grip.jaw_end = std::min({band.to_mm, lowest - kBelowTop_mm, drills});
    // A bar too thick for the chuck's bore stands on the chuck face at the deepest.
    if (ThickestBelow(bands, grip.jaw_end - chuck.jaw_reach_mm) + kThroughRoom_mm > chuck.bore_mm) {
      grip.jaw_end = std::min(grip.jaw_end, bands.front().from_mm + chuck.jaw_reach_mm);
    }
    // Nor does it go further than the chuck's body where the spindle is narrower.
    const double behind = chuck.jaw_reach_mm + chuck.body_length_mm;
    if (machine.spindle_bore_mm > 0 && ThickestBelow(bands, grip.jaw_end - behind) + kThroughRoom_mm > machine.spindle_bore_mm) {
      grip.jaw_end = std::min(grip.jaw_end, bands.front().from_mm + behind);
    }
    // Material below the land must pass inside the jaws.
    grip.jaw_root = grip.jaw_end - chuck.jaw_reach_mm;
    bool below_is_slimmer = true;
    for (std::size_t j = 0; j < i; ++j) {
      const bool sliver = bands[j].from_mm > band.from_mm - kPastEnd_mm;  // turned off with the land: the cut goes that far past it
      below_is_slimmer &= sliver || bands[j].diameter_mm <= band.diameter_mm + 1e-6;
    }
    for (std::size_t j = i + 1; j < bands.size(); ++j) {
      if (bands[j].from_mm < grip.jaw_end - 1e-6 && bands[j].diameter_mm > band.diameter_mm) below_is_slimmer = false;
    }
    if (!below_is_slimmer) continue;
    grip.from = band.from_mm;
    for (std::size_t j = i; j > 0 && std::abs(bands[j - 1].diameter_mm - band.diameter_mm) < 1e-6; --j) {
      grip.from = bands[j - 1].from_mm;
    }
    grip.seat = band.from_mm;
    grip.seat_face = ShoulderBelow(piece, sketch.up_P, band.from_mm);
    if (grip.depth_mm() - GroovesIn(piece, sketch.up_P, grip, false) < kLeastGrip_mm) continue;
    const Feature* land = band.feature ? piece.part->Find(*band.feature) : nullptr;
    const bool precious = land != nullptr && land->do_not_grip;
    const bool close = land != nullptr && !precious && IsCloseOutside(*land);
    const double score = std::min(grip.depth_mm(), 0.5 * band.diameter_mm) + (grip.seat_face ? 4 : 0) +
                         (band.feature ? 3 : 0) - (precious ? 14 : 0) - (close ? 10 : 0) + 30;
    if (!best || score > best_score) {
      best = grip;
      best_score = score;
    }
  }
  if (!best) {
    return NoHold(fmt::format("nothing of {} is left to grip in {} below the cuts with {} towards the tool",
                              sketch.part.text(), chuck.words.empty() ? chuck.name.text() : chuck.words,
                              SideWord(sketch.up_P)),
                  "a longer piece of bar, or cut these features in another setup");
  }
  return *best;
}

}  // namespace fitwright::planner
