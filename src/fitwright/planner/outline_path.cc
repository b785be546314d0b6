#include "fitwright/planner/outline_path.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::planner {
namespace {

constexpr double kSamePoint_mm = 1e-7;

// A straight line or an arc about `centre`, counter-clockwise from start to end (radius 0 = straight).
struct Stretch {
  Vec2 start = Vec2::Zero();
  Vec2 end = Vec2::Zero();
  Vec2 centre = Vec2::Zero();
  double radius = 0;
  double from_rad = 0;  // arcs: angle of start
  double turn_rad = 0;  // arcs: > 0
  Vec2 At(double share) const {
    if (radius == 0) return start + share * (end - start);
    const double a = from_rad + share * turn_rad;
    return centre + radius * Vec2(std::cos(a), std::sin(a));
  }
};

Stretch Line(const Vec2& a, const Vec2& b) {
  Stretch s;
  s.start = a;
  s.end = b;
  return s;
}

Stretch Arc(const Vec2& centre, double radius, double from_rad, double turn_rad) {
  Stretch s;
  s.centre = centre;
  s.radius = radius;
  s.from_rad = from_rad;
  s.turn_rad = turn_rad;
  s.start = s.At(0);
  s.end = s.At(1);
  return s;
}

double AngleOf(const Vec2& v) { return std::atan2(v.y(), v.x()); }

// A disc or bar of the outline, grown by `grown`.
struct Shape {
  std::vector<Stretch> rim;
  std::optional<Outline::Disc> disc;
  std::optional<Outline::Bar> bar;
  double grown = 0;

  // Signed distance to the rim, negative inside.
  double Distance(const Vec2& p) const { return (disc ? DistanceTo(*disc, p) : DistanceTo(*bar, p)) - grown; }
};

Shape Grown(const Outline::Disc& disc, double by) {
  Shape shape{{}, disc, {}, by};
  const double r = disc.diameter_mm / 2 + by;
  shape.rim = {Arc(disc.centre_mm, r, 0, kPi), Arc(disc.centre_mm, r, kPi, kPi)};
  return shape;
}

Shape Grown(const Outline::Bar& bar, double by) {
  Shape shape{{}, {}, bar, by};
  const Vec2 u = (bar.b_mm - bar.a_mm).normalized();
  const Vec2 v(-u.y(), u.x());
  const double h = bar.width_mm / 2;
  const Vec2 corners[] = {bar.a_mm - h * v, bar.b_mm - h * v, bar.b_mm + h * v, bar.a_mm + h * v};
  const Vec2 outward[] = {-v, u, v, -u};
  for (std::size_t i = 0; i < 4; ++i) {
    const Vec2& a = corners[i];
    const Vec2& b = corners[(i + 1) % 4];
    shape.rim.push_back(Line(a + by * outward[i], b + by * outward[i]));
    if (by > 0) shape.rim.push_back(Arc(b, by, AngleOf(outward[i]), kPi / 2));
  }
  return shape;
}

// Share along an arc of a point on its circle, if it lies on it.
std::optional<double> ShareOnArc(const Stretch& arc, const Vec2& p) {
  double turn = std::fmod(AngleOf(p - arc.centre) - arc.from_rad, 2 * kPi);
  if (turn < -kSamePoint_mm) turn += 2 * kPi;
  if (turn > arc.turn_rad + kSamePoint_mm) return std::nullopt;
  return std::clamp(turn / arc.turn_rad, 0.0, 1.0);
}
std::optional<double> ShareOnLine(const Stretch& line, const Vec2& p) {
  const Vec2 d = line.end - line.start;
  const double share = d.dot(p - line.start) / d.squaredNorm();
  const double slack = kSamePoint_mm / d.norm();
  if (share < -slack || share > 1 + slack) return std::nullopt;
  return std::clamp(share, 0.0, 1.0);
}
std::optional<double> ShareOn(const Stretch& s, const Vec2& p) {
  return s.radius > 0 ? ShareOnArc(s, p) : ShareOnLine(s, p);
}

// Points that two carrying lines or circles have in common.
std::vector<Vec2> CommonPoints(const Stretch& a, const Stretch& b) {
  if (a.radius == 0 && b.radius == 0) {
    const Vec2 d = a.end - a.start;
    const Vec2 e = b.end - b.start;
    const double cross = d.x() * e.y() - d.y() * e.x();
    if (std::abs(cross) < kSamePoint_mm * d.norm() * e.norm()) return {};
    const Vec2 w = b.start - a.start;
    return {a.start + d * ((w.x() * e.y() - w.y() * e.x()) / cross)};
  }
  if (a.radius == 0) {
    const Vec2 u = (a.end - a.start).normalized();
    const Vec2 foot = a.start + u * u.dot(b.centre - a.start);
    const double half = b.radius * b.radius - (foot - b.centre).squaredNorm();
    if (half < 0) return {};
    return {foot + std::sqrt(half) * u, foot - std::sqrt(half) * u};
  }
  if (b.radius == 0) return CommonPoints(b, a);
  const Vec2 w = b.centre - a.centre;
  const double d = w.norm();
  if (d < kSamePoint_mm || d > a.radius + b.radius || d < std::abs(a.radius - b.radius)) return {};
  const double along = (d * d + a.radius * a.radius - b.radius * b.radius) / (2 * d);
  const double half = std::sqrt(std::max(0.0, a.radius * a.radius - along * along));
  const Vec2 u = w / d;
  return {a.centre + along * u + half * Vec2(-u.y(), u.x()), a.centre + along * u - half * Vec2(-u.y(), u.x())};
}

Stretch PartOf(const Stretch& s, double from, double to) {
  if (s.radius == 0) return Line(s.At(from), s.At(to));
  return Arc(s.centre, s.radius, s.from_rad + from * s.turn_rad, (to - from) * s.turn_rad);
}

// Pieces of the rims that no other shape covers.
std::vector<Stretch> OuterStretches(const std::vector<Shape>& shapes) {
  std::vector<Stretch> outer;
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    for (const Stretch& s : shapes[i].rim) {
      std::vector<double> shares = {0, 1};
      for (std::size_t k = 0; k < shapes.size(); ++k) {
        if (k == i) continue;
        for (const Stretch& other : shapes[k].rim) {
          for (const Vec2& p : CommonPoints(s, other)) {
            const auto share = ShareOn(s, p);
            if (share && ShareOn(other, p)) shares.push_back(*share);
          }
        }
      }
      std::sort(shares.begin(), shares.end());
      for (std::size_t n = 0; n + 1 < shares.size(); ++n) {
        const Stretch piece = PartOf(s, shares[n], shares[n + 1]);
        if ((piece.end - piece.start).norm() < 10 * kSamePoint_mm) continue;
        const Vec2 middle = piece.At(0.5);
        bool covered = false;
        for (std::size_t k = 0; k < shapes.size() && !covered; ++k) {
          // Rims that run along each other count once, for the earlier shape.
          const double within = k < i ? kSamePoint_mm : -kSamePoint_mm;
          covered = k != i && shapes[k].Distance(middle) < within;
        }
        if (!covered) outer.push_back(piece);
      }
    }
  }
  return outer;
}

// The stretches in order round; empty when they do not close in one ring.
std::vector<Stretch> Chained(std::vector<Stretch> pieces) {
  std::vector<Stretch> ring = {pieces.front()};
  pieces.erase(pieces.begin());
  while (!pieces.empty()) {
    const auto next = std::min_element(pieces.begin(), pieces.end(), [&](const Stretch& a, const Stretch& b) {
      return (a.start - ring.back().end).norm() < (b.start - ring.back().end).norm();
    });
    if ((next->start - ring.back().end).norm() > 1e-4) return {};
    ring.push_back(*next);
    pieces.erase(next);
  }
  return (ring.back().end - ring.front().start).norm() < 1e-4 ? ring : std::vector<Stretch>{};
}

Vec2 OutwardAtEnd(const Stretch& s) {
  if (s.radius > 0) return (s.end - s.centre).normalized();
  const Vec2 d = (s.end - s.start).normalized();
  return {d.y(), -d.x()};
}
Vec2 OutwardAtStart(const Stretch& s) {
  if (s.radius > 0) return (s.start - s.centre).normalized();
  return OutwardAtEnd(s);
}

// Back from the grown rim by `by`: arcs get smaller, corners inside become arcs that turn right.
ClosedWay Shrunk(const std::vector<Stretch>& ring, double by) {
  ClosedWay way;
  const auto add = [&](const Vec2& p, double turn) {
    way.points_mm.push_back(p);
    way.turns_rad.push_back(turn);
  };
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Stretch& s = ring[i];
    const Stretch& next = ring[(i + 1) % ring.size()];
    const Vec2 out = OutwardAtEnd(s);
    const Vec2 then = OutwardAtStart(next);
    const bool is_point = s.radius > 0 && s.radius - by < kSamePoint_mm;
    if (!is_point) add(s.start - by * OutwardAtStart(s), s.radius > 0 ? s.turn_rad : 0);
    const double turn = std::atan2(out.x() * then.y() - out.y() * then.x(), out.dot(then));
    if (by > 0 && turn < -1e-6) add(s.end - by * out, turn);
  }
  return way;
}

}  // namespace

double DistanceTo(const Outline::Bar& bar, const Vec2& point_mm) {
  const Vec2 u = (bar.b_mm - bar.a_mm).normalized();
  const Vec2 d = point_mm - 0.5 * (bar.a_mm + bar.b_mm);
  const double x = std::abs(u.dot(d)) - 0.5 * (bar.b_mm - bar.a_mm).norm();
  const double y = std::abs(u.x() * d.y() - u.y() * d.x()) - 0.5 * bar.width_mm;
  return std::hypot(std::max(x, 0.0), std::max(y, 0.0)) + std::min(std::max(x, y), 0.0);
}

double DistanceTo(const Outline::Disc& disc, const Vec2& point_mm) {
  return (point_mm - disc.centre_mm).norm() - disc.diameter_mm / 2;
}

Result<ClosedWay> OutlineWay(const Outline& outline) {
  if (!outline.line.empty()) {
    ClosedWay way;
    for (const LineCorner& corner : outline.line) {
      way.points_mm.push_back(corner.at_mm);
      way.turns_rad.push_back(corner.turn_rad);
    }
    return way;
  }
  const double by = std::max(0.0, outline.inside_radius_mm);
  std::vector<Shape> shapes;
  for (const Outline::Disc& disc : outline.discs) shapes.push_back(Grown(disc, by));
  for (const Outline::Bar& bar : outline.bars) shapes.push_back(Grown(bar, by));
  const std::vector<Stretch> outer = OuterStretches(shapes);
  const std::vector<Stretch> ring = outer.empty() ? outer : Chained(outer);
  if (ring.empty()) {
    return Unexpected(Error{ErrorCode::kNoPlan, "the discs and bars of the outline do not make one closed line", {},
                            "let them overlap, and leave no hole between them", {}});
  }
  return Shrunk(ring, by);
}

}  // namespace fitwright::planner
