#include "fitwright/model/closed_line.h"

#include <algorithm>
#include <cmath>

namespace fitwright {
namespace {

constexpr double kStraight_rad = 1e-9;
// So far over, the ends of a half circle may be apart by rounding.
constexpr double kOverWide_mm = 1e-4;
constexpr double kEndless = 1e6;

double Cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

struct Piece {
  Vec2 from = Vec2::Zero();
  Vec2 to = Vec2::Zero();
  double turn = 0;
  bool IsArc() const { return std::abs(turn) > kStraight_rad; }
  double Radius() const { return 0.5 * (to - from).norm() / std::abs(std::sin(0.5 * turn)); }
  Vec2 Centre() const {
    const Vec2 chord = to - from;
    return 0.5 * (from + to) + 0.5 / std::tan(0.5 * turn) * Vec2(-chord.y(), chord.x());
  }
  // The arc's middle lies to the right of the way where it turns left.
  Vec2 At(double share) const {
    if (!IsArc()) return from + share * (to - from);
    const Vec2 centre = Centre();
    return centre + Eigen::Rotation2Dd(share * turn) * (from - centre);
  }
  // Whether a point of the whole circle lies on the arc.
  bool Holds(const Vec2& p) const {
    const Vec2 out = p - Centre();
    const Vec2 start = from - Centre();
    double angle = std::atan2(Cross(start, out), start.dot(out));
    if (turn < 0) angle = -angle;
    if (angle < 0) angle += 2 * kPi;
    return angle <= std::abs(turn);
  }
  double DistanceTo(const Vec2& p) const {
    if (!IsArc()) {
      const Vec2 chord = to - from;
      const double t = std::clamp((p - from).dot(chord) / std::max(chord.squaredNorm(), 1e-18), 0.0, 1.0);
      return (p - from - t * chord).norm();
    }
    const double ends = std::min((p - from).norm(), (p - to).norm());
    return Holds(p) ? std::min(ends, std::abs((p - Centre()).norm() - Radius())) : ends;
  }
  // Between the chord and the arc.
  bool HoldsInSegment(const Vec2& p) const {
    if (!IsArc() || (p - Centre()).norm() >= Radius()) return false;
    const double side = Cross(to - from, p - from);
    return turn > 0 ? side < 0 : side > 0;
  }
};

Piece PieceOf(const ClosedLine& line, std::size_t i) {
  return {line[i].at_mm, line[(i + 1) % line.size()].at_mm, line[i].turn_rad};
}

int Winding(const ClosedLine& line, const Vec2& p) {
  int winding = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Piece piece = PieceOf(line, i);
    const double side = Cross(piece.to - piece.from, p - piece.from);
    if (piece.from.y() <= p.y() && piece.to.y() > p.y() && side > 0) ++winding;
    if (piece.from.y() > p.y() && piece.to.y() <= p.y() && side < 0) --winding;
    if (piece.HoldsInSegment(p)) winding += piece.turn > 0 ? 1 : -1;
  }
  return winding;
}

// Where the straight line crosses the piece, along it.
void AddCrossings(const Piece& piece, const Vec2& point, const Vec2& direction, std::vector<double>& at) {
  if (!piece.IsArc()) {
    const Vec2 chord = piece.to - piece.from;
    const double slope = Cross(direction, chord);
    if (std::abs(slope) < 1e-12) return;
    const double share = Cross(piece.from - point, direction) / slope;
    if (share >= -1e-9 && share <= 1 + 1e-9) at.push_back(Cross(piece.from - point, chord) / slope);
    return;
  }
  const Vec2 off = point - piece.Centre();
  const double a = direction.squaredNorm();
  const double b = off.dot(direction);
  const double rest = b * b - a * (off.squaredNorm() - piece.Radius() * piece.Radius());
  if (rest < 0) return;
  for (const double sense : {-1.0, 1.0}) {
    const double s = (-b + sense * std::sqrt(rest)) / a;
    if (piece.Holds(point + s * direction)) at.push_back(s);
  }
}

bool SegmentsCross(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  const double ab_c = Cross(b - a, c - a);
  const double ab_d = Cross(b - a, d - a);
  const double cd_a = Cross(d - c, a - c);
  const double cd_b = Cross(d - c, b - c);
  return ab_c * ab_d < 0 && cd_a * cd_b < 0;
}

}  // namespace

Vec2 MiddleOf(const ClosedLine& line, std::size_t i) { return PieceOf(line, i).At(0.5); }

double AreaWithin_mm2(const ClosedLine& line) {
  double area = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Piece piece = PieceOf(line, i);
    area += 0.5 * Cross(piece.from, piece.to);
    if (piece.IsArc()) area += 0.5 * piece.Radius() * piece.Radius() * (piece.turn - std::sin(piece.turn));
  }
  return area;
}

std::pair<Vec2, Vec2> ReachOf(const ClosedLine& line) {
  Vec2 low = Vec2::Constant(kEndless);
  Vec2 high = Vec2::Constant(-kEndless);
  const auto include = [&](const Vec2& p) {
    low = low.cwiseMin(p);
    high = high.cwiseMax(p);
  };
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Piece piece = PieceOf(line, i);
    include(piece.from);
    if (!piece.IsArc()) continue;
    for (const Vec2& way : {Vec2(1, 0), Vec2(-1, 0), Vec2(0, 1), Vec2(0, -1)}) {
      const Vec2 p = piece.Centre() + piece.Radius() * way;
      if (piece.Holds(p)) include(p);
    }
  }
  return {low, high};
}

bool Encloses(const ClosedLine& line, const Vec2& point_mm) { return Winding(line, point_mm) != 0; }

double DistanceTo(const ClosedLine& line, const Vec2& point_mm) {
  double least = kEndless;
  for (std::size_t i = 0; i < line.size(); ++i) least = std::min(least, PieceOf(line, i).DistanceTo(point_mm));
  return Encloses(line, point_mm) ? -least : least;
}

std::vector<std::pair<double, double>> StretchesWithin(const ClosedLine& line, const Vec2& point_mm, const Vec2& direction) {
  std::vector<std::pair<double, double>> within;
  if (direction.norm() < 1e-12) {
    if (Encloses(line, point_mm)) within.emplace_back(-kEndless, kEndless);
    return within;
  }
  std::vector<double> at;
  for (std::size_t i = 0; i < line.size(); ++i) AddCrossings(PieceOf(line, i), point_mm, direction, at);
  std::sort(at.begin(), at.end());
  for (std::size_t i = 0; i + 1 < at.size(); ++i) {
    if (at[i + 1] - at[i] <= kGeometryNoise_mm) continue;
    if (!Encloses(line, point_mm + 0.5 * (at[i] + at[i + 1]) * direction)) continue;
    if (!within.empty() && at[i] - within.back().second <= kGeometryNoise_mm) {
      within.back().second = at[i + 1];
    } else {
      within.emplace_back(at[i], at[i + 1]);
    }
  }
  return within;
}

bool CrossesItself(const ClosedLine& line) {
  constexpr int kChords = 16;
  std::vector<Vec2> points;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Piece piece = PieceOf(line, i);
    const int chords = piece.IsArc() ? kChords : 1;
    for (int k = 0; k < chords; ++k) points.push_back(piece.At(static_cast<double>(k) / chords));
  }
  const std::size_t count = points.size();
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t k = i + 2; k < count; ++k) {
      if (i == 0 && k + 1 == count) continue;
      if (SegmentsCross(points[i], points[i + 1], points[k], points[(k + 1) % count])) return true;
    }
  }
  return false;
}

ClosedLine Mirrored(ClosedLine line) {
  for (LineCorner& corner : line) {
    corner.at_mm.y() = 0.0 - corner.at_mm.y();
    corner.turn_rad = 0.0 - corner.turn_rad;
  }
  return line;
}

std::optional<double> TurnOfArc(const Vec2& from_mm, const Vec2& to_mm, double radius_mm) {
  if (radius_mm == 0) return 0.0;
  const double half = 0.5 * (to_mm - from_mm).norm();
  const double radius = std::abs(radius_mm);
  if (half > radius + kOverWide_mm) return std::nullopt;
  const double turn = 2 * std::asin(std::min(1.0, half / radius));
  return radius_mm > 0 ? turn : -turn;
}

double RadiusOf(const ClosedLine& line, std::size_t i) {
  const Piece piece = PieceOf(line, i);
  if (!piece.IsArc()) return 0;
  return piece.turn > 0 ? piece.Radius() : -piece.Radius();
}

}  // namespace fitwright
