// What stands around an outline: its discs and bars joined, and the metal that a cutter of the
// inside radius cannot reach between them joined to them, taken from a box around the part. Each
// such patch hangs on one place of the cutter where it touches two shapes and lies clear of all
// others.
#include <BRepPrimAPI_MakePrism.hxx>
#include <algorithm>
#include <array>
#include <cmath>
#include <gp_Vec.hxx>
#include <optional>

#include "fitwright/solid/arcs.h"
#include "fitwright/solid/build_internal.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/envelope.h"
#include "fitwright/solid/planar.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

constexpr double kClear_mm = 1e-6;  // a cutter that touches is clear of what it touches

double Cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

// One disc or bar. A disc: no length. Its border is where the distance is 0.
struct Shape {
  Vec2 middle = Vec2::Zero();
  Vec2 along = Vec2::UnitX();
  Vec2 half = Vec2::Zero();  // of a bar: half length, half width
  double radius = 0;         // of a disc

  Vec2 Local(const Vec2& p) const {
    const Vec2 d = p - middle;
    return {along.dot(d), Cross(along, d)};
  }
  Vec2 Global(const Vec2& q) const {
    return middle + q.x() * along + q.y() * Vec2(-along.y(), along.x());
  }
  double Distance(const Vec2& p) const {
    if (radius > 0) return (p - middle).norm() - radius;
    const Vec2 out = Local(p).cwiseAbs() - half;
    return out.cwiseMax(0).norm() + std::min(out.maxCoeff(), 0.0);
  }
  // The border's point nearest to a point outside.
  Vec2 Nearest(const Vec2& p) const {
    if (radius > 0) return middle + radius * (p - middle).normalized();
    const Vec2 q = Local(p);
    return Global(q.cwiseMax(-half).cwiseMin(half));
  }
  // A point well inside, near to a point of the border.
  Vec2 Inside(const Vec2& border) const {
    if (radius > 0) return middle;
    const double keep = std::max(0.0, half.x() - half.y());
    return Global({std::clamp(Local(border).x(), -keep, keep), 0});
  }
};

std::vector<Shape> ShapesOf(const Outline& outline) {
  std::vector<Shape> shapes;
  for (const Outline::Disc& disc : outline.discs) {
    Shape shape;
    shape.middle = disc.centre_mm;
    shape.radius = 0.5 * disc.diameter_mm;
    shapes.push_back(shape);
  }
  for (const Outline::Bar& bar : outline.bars) {
    Shape shape;
    shape.middle = 0.5 * (bar.a_mm + bar.b_mm);
    shape.along = (bar.b_mm - bar.a_mm).normalized();
    shape.half = 0.5 * Vec2((bar.b_mm - bar.a_mm).norm(), bar.width_mm);
    shapes.push_back(shape);
  }
  return shapes;
}

double Distance(const std::vector<Shape>& shapes, const Vec2& p) {
  double least = 1e9;
  for (const Shape& shape : shapes) least = std::min(least, shape.Distance(p));
  return least;
}

// Lines and circles on which points lie at one distance from the shape; pieces of them do.
struct Track {
  Vec2 point = Vec2::Zero();  // a line's, or the circle's middle
  Vec2 along = Vec2::Zero();  // zero = circle
  double radius = 0;
};
std::vector<Track> TracksAt(const Shape& shape, double distance) {
  if (shape.radius > 0) return {{shape.middle, Vec2::Zero(), shape.radius + distance}};
  std::vector<Track> tracks;
  const Vec2 across(-shape.along.y(), shape.along.x());
  for (const double sense : {-1.0, 1.0}) {
    tracks.push_back({shape.Global({0, sense * (shape.half.y() + distance)}), shape.along, 0});
    tracks.push_back({shape.Global({sense * (shape.half.x() + distance), 0}), across, 0});
    if (distance <= 0) continue;
    for (const double other : {-1.0, 1.0}) {
      const Vec2 corner(sense * shape.half.x(), other * shape.half.y());
      tracks.push_back({shape.Global(corner), Vec2::Zero(), distance});
    }
  }
  return tracks;
}

std::vector<Vec2> Crossings(const Track& a, const Track& b) {
  const bool line_a = a.along.norm() > 0;
  const bool line_b = b.along.norm() > 0;
  if (line_a && line_b) {
    const double turn = Cross(a.along, b.along);
    if (std::abs(turn) < 1e-9) return {};
    return {a.point + Cross(b.point - a.point, b.along) / turn * a.along};
  }
  if (!line_a && line_b) return Crossings(b, a);
  const Vec2 apart = b.point - a.point;
  if (line_a) {
    const double foot = a.along.dot(apart);
    const double off = Cross(a.along, apart);
    const double rest = b.radius * b.radius - off * off;
    if (rest < 0) return {};
    return {a.point + (foot - std::sqrt(rest)) * a.along,
            a.point + (foot + std::sqrt(rest)) * a.along};
  }
  const double d = apart.norm();
  if (d < kClear_mm) return {};
  const double foot = (d * d + a.radius * a.radius - b.radius * b.radius) / (2 * d);
  const double rest = a.radius * a.radius - foot * foot;
  if (rest < 0) return {};
  const Vec2 u = apart / d;
  const Vec2 side = std::sqrt(rest) * Vec2(-u.y(), u.x());
  return {a.point + foot * u - side, a.point + foot * u + side};
}

std::vector<Vec2> Crossings(const Shape& a, const Shape& b, double distance) {
  std::vector<Vec2> points;
  for (const Track& one : TracksAt(a, distance)) {
    for (const Track& two : TracksAt(b, distance)) {
      for (const Vec2& p : Crossings(one, two)) points.push_back(p);
    }
  }
  return points;
}

// Whether the whole stretch lies in the union.
bool Covered(const std::vector<Shape>& shapes, const Vec2& a, const Vec2& b) {
  constexpr int kSamples = 64;
  for (int i = 0; i <= kSamples; ++i) {
    if (Distance(shapes, a + (b - a) * (static_cast<double>(i) / kSamples)) > kClear_mm)
      return false;
  }
  return true;
}

// A way from one touching point to the other inside the union: where the borders cross, or over the
// shapes' middles.
std::optional<std::vector<Vec2>> WayInside(const std::vector<Shape>& shapes, const Shape& a,
                                           const Shape& b, const Vec2& on_a, const Vec2& on_b) {
  std::vector<std::vector<Vec2>> ways;
  for (const Vec2& corner : Crossings(a, b, 0)) {
    if (std::abs(a.Distance(corner)) < kClear_mm && std::abs(b.Distance(corner)) < kClear_mm)
      ways.push_back({corner});
  }
  std::stable_sort(ways.begin(), ways.end(), [&](const auto& one, const auto& two) {
    return (one[0] - on_a).norm() < (two[0] - on_a).norm();
  });
  ways.push_back({b.Inside(on_b), a.Inside(on_a)});
  ways.push_back({b.Inside(on_b), b.middle, a.middle, a.Inside(on_a)});
  for (const auto& way : ways) {
    Vec2 at = on_b;
    bool covered = true;
    for (const Vec2& next : way) {
      covered &= Covered(shapes, at, next);
      at = next;
    }
    if (covered && Covered(shapes, at, on_a)) return way;
  }
  return std::nullopt;
}

// What the cutter at `centre` leaves between the two shapes it touches.
Result<ArcOutline> MakePatch(const std::vector<Shape>& shapes, const Shape& a, const Shape& b,
                             const Vec2& centre) {
  const Vec2 on_a = a.Nearest(centre);
  const Vec2 on_b = b.Nearest(centre);
  const auto way = WayInside(shapes, a, b, on_a, on_b);
  if (!way) {
    return Unexpected(Error{ErrorCode::kBadOutline,
                            "the inside radius is too large for the gap between two of its shapes",
                            "",
                            "write a smaller inside_radius",
                            {}});
  }
  const double turn =
      std::atan2(Cross(on_a - centre, on_b - centre), (on_a - centre).dot(on_b - centre));
  ArcOutline patch;
  patch.To(on_a, turn);
  patch.To(on_b);
  for (const Vec2& p : *way) patch.To(p);
  return patch;
}

Result<std::vector<ArcOutline>> MakePatches(const std::vector<Shape>& shapes, double radius) {
  std::vector<ArcOutline> patches;
  std::vector<Vec2> done;
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    for (std::size_t k = i + 1; k < shapes.size(); ++k) {
      for (const Vec2& centre : Crossings(shapes[i], shapes[k], radius)) {
        // A crossing of tracks past their own ends touches only one of the two, or neither.
        const double away = std::max(shapes[i].Distance(centre), shapes[k].Distance(centre));
        if (away > radius + kClear_mm || Distance(shapes, centre) < radius - kClear_mm) continue;
        const auto same = [&](const Vec2& other) { return (other - centre).norm() < kClear_mm; };
        if (std::any_of(done.begin(), done.end(), same)) continue;
        const bool apart =
            (shapes[i].Nearest(centre) - shapes[k].Nearest(centre)).norm() > 10 * kClear_mm;
        if (!apart) continue;
        done.push_back(centre);
        auto patch = MakePatch(shapes, shapes[i], shapes[k], centre);
        if (!patch) return Unexpected(patch.error());
        patches.push_back(*std::move(patch));
      }
    }
  }
  return patches;
}

ArcOutline BorderOf(const Shape& shape) {
  ArcOutline border;
  if (shape.radius > 0) {
    // Its ends away from the axes and from the other shapes' middles.
    const Vec2 out = shape.radius * Vec2(std::cos(0.4142), std::sin(0.4142));
    border.To(shape.middle + out, kPi);
    border.To(shape.middle - out, kPi);
    return border;
  }
  for (const Vec2& corner : {Vec2(-1, -1), Vec2(1, -1), Vec2(1, 1), Vec2(-1, 1)})
    border.To(shape.Global(corner.cwiseProduct(shape.half)));
  return border;
}

// Of a closed line itself, or of each disc, bar and patch.
Result<std::vector<ArcOutline>> BordersOf(const Part& part, const Feature& feature,
                                          const Outline& outline) {
  std::vector<ArcOutline> borders;
  if (!outline.line.empty()) {
    borders.emplace_back();
    for (const LineCorner& corner : outline.line) borders.back().To(corner.at_mm, corner.turn_rad);
    return borders;
  }
  const std::vector<Shape> shapes = ShapesOf(outline);
  if (shapes.empty())
    return Unexpected(Misplaced(ErrorCode::kBadOutline, part, feature, "the outline is empty"));
  for (const Shape& shape : shapes) borders.push_back(BorderOf(shape));
  if (outline.inside_radius_mm > kGeometryNoise_mm) {
    const auto patches = MakePatches(shapes, outline.inside_radius_mm);
    if (!patches)
      return Unexpected(Misplaced(patches.error().code, part, feature, patches.error().message));
    borders.insert(borders.end(), patches->begin(), patches->end());
  }
  return borders;
}

}  // namespace

Solids MakeAroundOutline(const Part& part, const Feature& feature, const Outline& outline) {
  const auto borders = BordersOf(part, feature, outline);
  if (!borders) return Unexpected(borders.error());
  Pose frame = Pose::Identity();
  frame.linear().col(0) = outline.u_P;
  frame.linear().col(1) = outline.v_P;
  frame.linear().col(2) = -outline.into_P;
  const Box3 box = CalcEnvelopeBox(part);
  const Vec3 up = -outline.into_P;
  double low =
      up.cwiseMax(0).dot(box.min_mm) + up.cwiseMin(0).dot(box.max_mm) - 2 * kRunOut_mm;
  double high =
      up.cwiseMax(0).dot(box.max_mm) + up.cwiseMin(0).dot(box.min_mm) + 2 * kRunOut_mm;
  const double entry = up.dot(outline.origin_P_mm);
  if (outline.depth_mm > 0) {
    low = entry - outline.depth_mm;
    if (entry < high - 2 * kRunOut_mm - kDrawnAlike_mm) high = entry;
  }
  frame.translation() = outline.origin_P_mm + (low - up.dot(outline.origin_P_mm)) * up;
  const Result<Solid> inside = Guard("outline", [&]() -> Result<Solid> {
    std::vector<TopoDS_Shape> faces;
    for (const ArcOutline& border : *borders) faces.push_back(MakeArcFace(frame, border));
    const Vec3 by = (high - low) * up;
    return WrapOutward(
        BRepPrimAPI_MakePrism(FuseFaces(faces), gp_Vec(by.x(), by.y(), by.z())).Shape());
  });
  if (!inside) return Unexpected(inside.error());
  if (outline.within) return One(inside);
  const Vec3 margin = Vec3::Constant(kRunOut_mm);
  Box3 all{box.min_mm - margin, box.max_mm + margin};
  if (outline.depth_mm > 0) {
    const int axis = up.cwiseAbs().maxCoeff() == std::abs(up.x()) ? 0 : std::abs(up.y()) > 0.5 ? 1 : 2;
    const double floor = up[axis] * low;
    const double mouth = std::min(high, up[axis] > 0 ? all.max_mm[axis] : -all.min_mm[axis]);
    (up[axis] > 0 ? all.min_mm : all.max_mm)[axis] = floor;
    (up[axis] > 0 ? all.max_mm : all.min_mm)[axis] = up[axis] * mouth;
  }
  const Result<Solid> around = MakeBox(all);
  if (!around) return Unexpected(around.error());
  return One(Cut(*around, {*inside}));
}

}  // namespace fitwright::solid
