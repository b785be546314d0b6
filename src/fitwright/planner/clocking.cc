#include "fitwright/planner/clocking.h"

#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kShows_mm = 15;    // of a pin, a blade or a stem, clear of the holding; opinion
constexpr double kBeside_mm = 0.5;  // from the surface to the middle of a thin blade
constexpr double kClear_mm = 0.6;
constexpr double kIn_mm = 1;        // below the mouth
constexpr double kSquare = 0.1;     // sine of what still counts as square

// A place on a feature that shows the turn, in P.
struct Touch {
  Vec3 point = Vec3::Zero();
  Vec3 normal = Vec3::UnitX();
  Vec3 out = Vec3::UnitZ();
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

// A sunk shape: the middle of one of its long walls, else of a short one.
void AddSunk(const Part& part, const Vec3& centre, const Vec3& into, const Vec3& along, double half_long, double half_wide, double depth,
             bool through, std::vector<Touch>& touches) {
  const Vec3& axis = part.turning_axis_P.direction;
  const double in = std::min(kIn_mm, depth / 2);
  const Vec3 across = into.cross(along);
  for (const auto& [w, half] : {std::pair(across, half_wide), std::pair(Vec3(-across), half_wide), std::pair(along, half_long)}) {
    if (std::abs(w.dot(axis)) > kSquare) continue;
    touches.push_back({centre + into * in + w * half, w, -into});
    if (through) touches.push_back({centre + into * (depth - in) + w * half, w, into});
  }
}

std::vector<Touch> TouchesOf(const Part& part, const Feature& feature) {
  std::vector<Touch> touches;
  if (const auto* hole = std::get_if<Hole>(&feature.shape); hole != nullptr && !IsTurned(part, feature)) {
    AddHole(part, *hole, touches);
  } else if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) {
    AddSunk(part, pocket->centre_P_mm, pocket->into_P, pocket->along_P, pocket->length_mm / 2, pocket->width_mm / 2, pocket->depth_mm, false,
            touches);
  } else if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    AddSunk(part, slot->centre_P_mm, slot->into_P, slot->along_P, slot->length_mm / 2, slot->width.middle_mm() / 2, slot->depth_mm,
            slot->through, touches);
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

bool IsHole(const PieceState& piece, const FeatureId& id) { return std::holds_alternative<Hole>(piece.part->Find(id)->shape); }

std::vector<FeatureId> Showing(const PieceState& piece) {
  std::vector<FeatureId> ids;
  for (const FeatureId& id : piece.made) {
    if (!TouchesOf(*piece.part, *piece.part->Find(id)).empty()) ids.push_back(id);
  }
  return ids;
}

std::string AngleWords(double rise_deg) {
  if (std::abs(rise_deg) < 0.01) return "level with the middle";
  if (std::abs(rise_deg) > 90 - 0.01) return rise_deg > 0 ? "straight above the middle" : "straight below the middle";
  return fmt::format("{:.1f} degrees {} level", std::abs(rise_deg), rise_deg > 0 ? "above" : "below");
}

}  // namespace

bool IsAlikeAllRound(const PieceState& piece) { return Showing(piece).empty(); }

std::vector<Vec3> ClockSides(const PieceState& piece) {
  std::vector<Vec3> sides;
  const Vec3& axis = piece.part->turning_axis_P.direction;
  for (const FeatureId& id : Showing(piece)) {
    for (const Touch& touch : TouchesOf(*piece.part, *piece.part->Find(id))) {
      if (std::abs(touch.out.dot(axis)) < kSquare) sides.push_back(touch.out);
    }
  }
  return sides;
}

std::optional<Clock> FindClock(const PieceState& piece, const Pose& X_PS, const std::vector<FixtureSolid>& fixtures, double open_mm) {
  const Pose X_SP = X_PS.inverse();
  for (const FeatureId& id : Showing(piece)) {
    for (const Touch& touch : TouchesOf(*piece.part, *piece.part->Find(id))) {
      const Clock clock{id, X_SP * touch.point, X_SP.linear() * touch.normal, X_SP.linear() * touch.out};
      if (StandsOut(clock, fixtures) && (IsHole(piece, id) || StandsOut(Lower(clock, open_mm), fixtures))) return clock;
    }
  }
  return std::nullopt;
}

std::string ClockWords(const PieceState& piece, const Clock& clock, const Pose& X_PS, const std::string& base) {
  const Part& part = *piece.part;
  const auto* hole = std::get_if<Hole>(&part.Find(clock.feature)->shape);
  const std::string name = clock.feature.text();
  if (hole == nullptr) return fmt::format(" Before it is tight turn it until {} stands square: a square or a parallel from the {} against it.", name, base);
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
  return fmt::format(" Before it is tight turn it until {} stands {}, by a pin in it.", name, AngleWords(rise));
}

std::string CoveredWords(const PieceState& piece) {
  const std::vector<FeatureId> ids = Showing(piece);
  return fmt::format("{} of {} shows how it is turned, and is covered by what holds it", ids.empty() ? "nothing" : ids.front().text(),
                     piece.part->name.text());
}

}  // namespace fitwright::planner
