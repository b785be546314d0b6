#include "fitwright/planner/clocking.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kShows_mm = 15;    // of a pin, a blade or a stem, clear of the holding; opinion
constexpr double kBeside_mm = 0.5;  // from the surface to the middle of a thin blade
constexpr double kClear_mm = 0.6;
constexpr double kIn_mm = 1;        // below the mouth
constexpr double kSquare = 0.1;     // sine of what still counts as square
constexpr double kStretch_mm = 4;   // of a straight wall, for a blade against it or a stylus along it; opinion
constexpr double kBehind_mm = 0.3;  // where metal is looked for behind a wall
constexpr double kLook_mm = 0.25;   // along the wall
constexpr double kStylus_mm = 2;    // under a wall that lies level, for a lever indicator's ball; common practice

// A place on a feature that shows the turn, in P.
struct Touch {
  Vec3 point = Vec3::Zero();
  Vec3 normal = Vec3::UnitX();
  Vec3 out = Vec3::UnitZ();
  double long_mm = 0;  // of a straight wall
};

bool IsAxial(const Part& part, const Vec3& direction) { return std::abs(direction.dot(part.turning_axis_P.direction)) > 1 - 1e-9; }

Vec3 OffAxis(const Part& part, const Vec3& p) {
  const Vec3 d = p - part.turning_axis_P.point_mm;
  return d - part.turning_axis_P.direction * part.turning_axis_P.direction.dot(d);
}

void AddHole(const Part& part, const Hole& hole, std::vector<Touch>& touches) {
  const Vec3& axis = part.turning_axis_P.direction;
  const double r = hole.diameter.middle_mm() / 2;
  const double in = std::min(kIn_mm + (IsAxial(part, hole.into_P) ? 0 : r), hole.depth_mm / 2);
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec3 aside = OffAxis(part, entry);
    const Vec3 wall = IsAxial(part, hole.into_P) ? Vec3(axis.cross(aside)) : Vec3(axis.cross(hole.into_P));
    if (wall.norm() < kSquare) continue;
    const Vec3 w = wall.normalized();
    touches.push_back({entry + hole.into_P * in + w * r, w, -hole.into_P});
    if (hole.through) touches.push_back({entry + hole.into_P * (hole.depth_mm - in) + w * r, w, hole.into_P});
  }
}

// Metal of the piece as it stands: inside its outside, and no cut so far took it.
bool IsMetal(const PieceState& piece, const Vec3& p) {
  const Part& part = *piece.part;
  const double along = part.turning_axis_P.direction.dot(p - part.turning_axis_P.point_mm);
  const double r = OffAxis(part, p).norm();
  const bool inside = std::any_of(piece.bands.begin(), piece.bands.end(), [&](const Band& band) {
    return along > band.from_mm && along < band.to_mm && 2 * r < band.diameter_mm && 2 * r > band.inner_diameter_mm;
  });
  return inside && std::none_of(piece.made.begin(), piece.made.end(), [&](const FeatureId& id) { return FeatureTakes(part, *part.Find(id), p); });
}

// The longest stretch of the wall through `middle`, half_mm to either side of it along t, that other cuts have left.
std::optional<Touch> StretchOf(const PieceState& piece, const Vec3& middle, const Vec3& wall, const Vec3& t, double half_mm, const Vec3& out) {
  double best_from = 0;
  double best_to = 0;
  double from = -half_mm;
  for (double at = -half_mm; at <= half_mm + 1e-9; at += kLook_mm) {
    if (!IsMetal(piece, middle + t * at + wall * kBehind_mm)) {
      from = at + kLook_mm;
    } else if (at - from > best_to - best_from) {
      best_from = from;
      best_to = at;
    }
  }
  if (best_to - best_from < kStretch_mm) return std::nullopt;
  return Touch{middle + t * (0.5 * (best_from + best_to)), wall, out, best_to - best_from};
}

struct Sunk {
  Vec3 centre;
  Vec3 into;
  Vec3 along;
  double half_long_mm = 0;
  double half_wide_mm = 0;
  double corner_mm = 0;
  double depth_mm = 0;
  bool through = false;
};

// Its straight walls, where enough of them is left.
void AddSunk(const PieceState& piece, const Sunk& sunk, std::vector<Touch>& touches) {
  const Vec3& axis = piece.part->turning_axis_P.direction;
  const double in = std::min(kIn_mm, sunk.depth_mm / 2);
  const Vec3 across = sunk.into.cross(sunk.along);
  const double straight_long = sunk.half_long_mm - sunk.corner_mm;
  const double straight_wide = sunk.half_wide_mm - sunk.corner_mm;
  struct Wall {
    Vec3 normal;
    double off_mm;
    Vec3 tangent;
    double half_mm;
  };
  const std::array<Wall, 4> walls = {Wall{across, sunk.half_wide_mm, sunk.along, straight_long}, Wall{-across, sunk.half_wide_mm, sunk.along, straight_long},
                                     Wall{sunk.along, sunk.half_long_mm, across, straight_wide}, Wall{-sunk.along, sunk.half_long_mm, across, straight_wide}};
  for (const Wall& wall : walls) {
    if (std::abs(wall.normal.dot(axis)) > kSquare) continue;
    const Vec3 mouth = sunk.centre + wall.normal * wall.off_mm;
    if (const auto touch = StretchOf(piece, mouth + sunk.into * in, wall.normal, wall.tangent, wall.half_mm, -sunk.into)) touches.push_back(*touch);
    if (!sunk.through) continue;
    const auto far = StretchOf(piece, mouth + sunk.into * (sunk.depth_mm - in), wall.normal, wall.tangent, wall.half_mm, sunk.into);
    if (far) touches.push_back(*far);
  }
}

std::vector<Touch> TouchesOf(const PieceState& piece, const Feature& feature) {
  const Part& part = *piece.part;
  std::vector<Touch> touches;
  if (const auto* hole = std::get_if<Hole>(&feature.shape); hole != nullptr && !IsTurned(part, feature)) {
    AddHole(part, *hole, touches);
  } else if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) {
    AddSunk(piece, {pocket->centre_P_mm, pocket->into_P, pocket->along_P, pocket->length_mm / 2, pocket->width_mm / 2, pocket->corner_radius_mm,
                    pocket->depth_mm}, touches);
  } else if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    const double r = slot->width.middle_mm() / 2;
    AddSunk(piece, {slot->centre_P_mm, slot->into_P, slot->along_P, slot->length_mm / 2, r, r, slot->depth_mm, slot->through}, touches);
  } else if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
    const Vec3 middle = flats->axis_P.point_mm + flats->axis_P.direction * (0.5 * (flats->from_mm + flats->to_mm));
    for (int i = 0; i < flats->count; ++i) {
      const Vec3 n = FlatNormal(*flats, i);
      touches.push_back({middle + n * FlatDistance(part, *flats), -n, n});
    }
  } else if (const auto* key = std::get_if<Keyway>(&feature.shape)) {
    const Vec3 w = key->axis_P.direction.cross(key->side_P) * (key->width.middle_mm() / 2);
    const double top = CoveringDiameter(part, key->axis_P, key->from_mm, key->to_mm) / 2;
    const double height = key->internal ? key->floor_mm - kBeside_mm : 0.5 * (top + key->floor_mm);
    const auto at = [&](double along) -> Vec3 { return key->axis_P.point_mm + key->axis_P.direction * along + key->side_P * height + w; };
    const auto [low, high] = std::minmax(key->from_mm, key->to_mm);
    if (!key->internal) touches.push_back({at(0.5 * (low + high)), w.normalized(), key->side_P});
    touches.push_back({at(low + kIn_mm), w.normalized(), -key->axis_P.direction});
    touches.push_back({at(high - kIn_mm), w.normalized(), key->axis_P.direction});
  }
  return touches;
}

bool IsIn(const FixtureSolid& solid, const Vec3& p_S) {
  if (const auto* box = std::get_if<FixtureBox>(&solid.shape)) {
    const Vec3 p = box->X_SF.inverse() * p_S;
    return ((p - box->box_F.min_mm).array() > -kClear_mm).all() && ((box->box_F.max_mm - p).array() > -kClear_mm).all();
  }
  const auto& ring = std::get<FixtureCylinder>(solid.shape);
  const Vec3 d = p_S - ring.axis_S.point_mm;
  const double along = ring.axis_S.direction.dot(d);
  const double r = (d - ring.axis_S.direction * along).norm();
  return along > ring.from_mm - kClear_mm && along < ring.to_mm + kClear_mm && r > ring.inner_mm / 2 - kClear_mm &&
         r < ring.outer_mm / 2 + kClear_mm;
}

bool StandsOut(const Clock& clock, const std::vector<FixtureSolid>& fixtures) {
  const Vec3 from = clock.point_S - kBeside_mm * clock.normal_S;
  for (double out = 0; out <= kShows_mm; out += kBeside_mm) {
    const Vec3 p = from + out * clock.out_S;
    if (std::any_of(fixtures.begin(), fixtures.end(), [&](const FixtureSolid& f) { return IsIn(f, p); })) return false;
  }
  return true;
}

Clock Lower(Clock clock, double by_mm) {
  clock.point_S.z() -= by_mm;
  return clock;
}

// A wall that an indicator's stylus runs along from below.
bool IsLevelRoof(const Clock& clock) { return clock.long_mm > 0 && clock.normal_S.z() > 1 - kSquare; }

bool IsHole(const PieceState& piece, const FeatureId& id) { return std::holds_alternative<Hole>(piece.part->Find(id)->shape); }

std::vector<FeatureId> Showing(const PieceState& piece) {
  std::vector<FeatureId> ids;
  for (const FeatureId& id : piece.made) {
    if (!TouchesOf(piece, *piece.part->Find(id)).empty()) ids.push_back(id);
  }
  return ids;
}

std::string AngleWords(double rise_deg) {
  if (std::abs(rise_deg) < 0.01) return "level with the middle";
  if (std::abs(rise_deg) > 90 - 0.01) return rise_deg > 0 ? "straight above the middle" : "straight below the middle";
  return fmt::format("{:.1f} degrees {} level", std::abs(rise_deg), rise_deg > 0 ? "above" : "below");
}

// A wall stands across the axis of the indicator's way, or upright for a square.
std::string WallWords(const Clock& clock, const std::string& name, const std::string& base) {
  const Vec3 along = clock.normal_S.cross(clock.out_S);
  const bool by_indicator = clock.long_mm > 0 && std::abs(along.z()) < kSquare;
  if (!by_indicator) return fmt::format(" Before it is tight turn it until {} stands square: a square or a parallel from the {} against it.", name, base);
  const char* which = clock.normal_S.z() > 1 - kSquare ? "under the upper wall" : clock.normal_S.z() < -1 + kSquare ? "on the lower wall" : "on a wall";
  const char* slide = std::abs(along.x()) > std::abs(along.y()) ? "x" : "y";
  return fmt::format(" Before it is tight turn it until the needle stands still: the indicator's stylus {} of {}, the table moved in {} over its {:.0f} mm. Read it once more when it is tight: tightening turns it.",
                     which, name, slide, std::floor(clock.long_mm));
}

// The figure to set a pin in the hole by. Near level its height tells; near upright how far it stands in from both sides.
std::string StandsWords(const PieceState& piece, const Hole& hole, const Pose& X_PS, double rise_deg) {
  constexpr double kHeightTells_deg = 60;
  const Vec3& middle = hole.entries_P_mm.front();
  const double r = hole.diameter.nominal_mm / 2;
  if (std::abs(rise_deg) <= kHeightTells_deg) {
    const Vec3 up_P = X_PS.linear().col(2);
    const double height = up_P.dot(middle) - ExtentOf(piece, up_P).first + r;
    return fmt::format(": a pin of {0} mm has its top {1} mm above what the piece lies on (the jaws' tops stand over that by what the piece is held: packing of the rest on them, a straightedge over it)", Num(2 * r), Num(height));
  }
  const Vec3 across_P = X_PS.linear().col(2).cross(piece.part->turning_axis_P.direction).normalized();
  const auto [low, high] = ExtentOf(piece, across_P);
  return fmt::format(": a square upright against the outside on one side stands {} mm from a pin of {} mm in it, on the other {} mm",
                     Num(across_P.dot(middle) - low - r), Num(2 * r), Num(high - across_P.dot(middle) - r));
}

}  // namespace

bool IsAlikeAllRound(const PieceState& piece) {
  const Part& part = *piece.part;
  return std::none_of(piece.made.begin(), piece.made.end(), [&](const FeatureId& id) {
    const Feature& f = *part.Find(id);
    const bool hole = std::holds_alternative<Hole>(f.shape) && !IsTurned(part, f);
    return hole || std::holds_alternative<Pocket>(f.shape) || std::holds_alternative<Slot>(f.shape) || std::holds_alternative<Flats>(f.shape) ||
           std::holds_alternative<Keyway>(f.shape);
  });
}

std::vector<Vec3> ClockSides(const PieceState& piece) {
  std::vector<Vec3> sides;
  const Vec3& axis = piece.part->turning_axis_P.direction;
  for (const FeatureId& id : Showing(piece)) {
    for (const Touch& touch : TouchesOf(piece, *piece.part->Find(id))) {
      if (std::abs(touch.out.dot(axis)) < kSquare) sides.push_back(touch.out);
    }
  }
  return sides;
}

std::optional<Clock> FindClock(const PieceState& piece, const Pose& X_PS, const std::vector<FixtureSolid>& fixtures, double open_mm) {
  const Pose X_SP = X_PS.inverse();
  for (const FeatureId& id : Showing(piece)) {
    for (const Touch& touch : TouchesOf(piece, *piece.part->Find(id))) {
      const Clock clock{id, X_SP * touch.point, X_SP.linear() * touch.normal, X_SP.linear() * touch.out, touch.long_mm};
      const double below_mm = IsLevelRoof(clock) ? std::min(open_mm, kStylus_mm) : open_mm;
      if (StandsOut(clock, fixtures) && (IsHole(piece, id) || StandsOut(Lower(clock, below_mm), fixtures))) return clock;
    }
  }
  return std::nullopt;
}

std::string ClockWords(const PieceState& piece, const Clock& clock, const Pose& X_PS, const std::string& base) {
  const Part& part = *piece.part;
  const auto* hole = std::get_if<Hole>(&part.Find(clock.feature)->shape);
  const std::string name = clock.feature.text();
  if (hole == nullptr) return WallWords(clock, name, base);
  const double d = hole->diameter.middle_mm();
  if (!IsAxial(part, hole->into_P)) {
    const bool level = std::abs(clock.out_S.z()) < kSquare;
    const bool upright = std::abs(part.turning_axis_P.direction.dot(X_PS.linear().col(2))) > 1 - 1e-9;
    const std::string how = !level ? fmt::format("stands upright, by a square on the {} against it", base)
                            : upright ? "lies as the drawing has it, by the indicator run along it"
                                      : "lies level, by the indicator run along it";
    return fmt::format(" Before it is tight put a {:g} mm pin into {} and turn the piece until it {}.", std::round(10 * d) / 10, name, how);
  }
  const Vec3 aside = OffAxis(part, hole->entries_P_mm.front()).normalized();
  const Vec3 aside_S = X_PS.linear().transpose() * aside;
  if (std::abs(clock.out_S.z()) > kSquare) {
    return fmt::format(" Before it is tight turn the piece until {} lies as the drawing has it, by the spindle over a pin in it.", name);
  }
  const double rise = std::asin(std::clamp(aside_S.z(), -1.0, 1.0)) / kRadPerDeg;
  return fmt::format(" Before it is tight turn it until {} stands {}, by a pin in it or by what already stands in it{}.", name, AngleWords(rise),
                     StandsWords(piece, *hole, X_PS, rise));
}

std::string CoveredWords(const PieceState& piece) {
  const std::vector<FeatureId> ids = Showing(piece);
  const std::string& part = piece.part->name.text();
  if (ids.empty()) return fmt::format("no hole and no straight wall of {} is left to show how it is turned", part);
  return fmt::format("{} of {} shows how it is turned, and is covered by what holds it", ids.front().text(), part);
}

}  // namespace fitwright::planner
