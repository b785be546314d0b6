#include "fitwright/solid/lines.h"

#include <GCPnts_QuasiUniformDeflection.hxx>
#include <GeomAbs_CurveType.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Circ.hxx>
#include <map>
#include <utility>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

// Longest piece that is tested as one: shorter than any arc that could leave another and come back.
constexpr double kPiece_mm = 1.0;
constexpr double kCell_mm = 2.0;

double DistanceToSegment(const Vec2& p, const Vec2& a, const Vec2& b) {
  const Vec2 ab = b - a;
  const double length2 = ab.squaredNorm();
  const double t = length2 > 0 ? std::clamp((p - a).dot(ab) / length2, 0.0, 1.0) : 0.0;
  return (p - a - t * ab).norm();
}

// Segments laid down so far, found again by the cell of the plane they touch.
class LaidDown {
 public:
  explicit LaidDown(double near_mm) : near_mm_(near_mm) {}
  void Add(const Vec2& a, const Vec2& b) {
    const auto [low, high] = CellsOf(a, b);
    for (int x = low.first; x <= high.first; ++x) {
      for (int y = low.second; y <= high.second; ++y) cells_[{x, y}].push_back({a, b});
    }
  }
  bool Covers(const Vec2& p) const {
    const auto found = cells_.find({Cell(p.x()), Cell(p.y())});
    if (found == cells_.end()) return false;
    return std::any_of(found->second.begin(), found->second.end(), [&](const auto& s) {
      return DistanceToSegment(p, s.first, s.second) <= near_mm_;
    });
  }

 private:
  using Key = std::pair<int, int>;
  static int Cell(double v) { return static_cast<int>(std::floor(v / kCell_mm)); }
  std::pair<Key, Key> CellsOf(const Vec2& a, const Vec2& b) const {
    const Vec2 low = a.cwiseMin(b).array() - near_mm_;
    const Vec2 high = a.cwiseMax(b).array() + near_mm_;
    return {{Cell(low.x()), Cell(low.y())}, {Cell(high.x()), Cell(high.y())}};
  }
  double near_mm_;
  std::map<Key, std::vector<std::pair<Vec2, Vec2>>> cells_;
};

std::vector<Vec2> Subdivide(const std::vector<Vec2>& points) {
  std::vector<Vec2> fine = {points.front()};
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Vec2& from = points[i - 1];
    const int parts =
        std::max(1, static_cast<int>(std::ceil((points[i] - from).norm() / kPiece_mm)));
    for (int k = 1; k <= parts; ++k) {
      fine.push_back(from + (points[i] - from) * (static_cast<double>(k) / parts));
    }
  }
  return fine;
}

double LengthOf(const std::vector<Vec2>& points) {
  double length = 0;
  for (std::size_t i = 1; i < points.size(); ++i) length += (points[i] - points[i - 1]).norm();
  return length;
}

}  // namespace

std::vector<Vec3> SampleCurve(const BRepAdaptor_Curve& curve, double chord_mm) {
  const double from = curve.FirstParameter();
  const double to = curve.LastParameter();
  std::vector<Vec3> points;
  const auto even = [&](int parts) {
    for (int i = 0; i <= parts; ++i)
      points.push_back(ToVec(curve.Value(from + (to - from) * i / parts)));
  };
  if (curve.GetType() == GeomAbs_Line) {
    even(1);
  } else if (curve.GetType() == GeomAbs_Circle) {
    const double r = std::max(curve.Circle().Radius(), chord_mm);
    const double step = 2 * std::acos(1 - std::min(0.5, chord_mm / r));
    even(std::max(2, static_cast<int>(std::ceil(std::abs(to - from) / step))));
  } else {
    const GCPnts_QuasiUniformDeflection sampled(curve, chord_mm);
    if (!sampled.IsDone()) {
      even(32);
    } else {
      for (int i = 1; i <= sampled.NbPoints(); ++i) points.push_back(ToVec(sampled.Value(i)));
    }
  }
  return points;
}

// Farthest point first (Douglas and Peucker, 1973).
std::vector<Vec2> Thinned(const std::vector<Vec2>& points, double chord_mm) {
  std::vector<bool> keep(points.size(), false);
  keep.front() = keep.back() = true;
  std::vector<std::pair<std::size_t, std::size_t>> spans = {{0, points.size() - 1}};
  while (!spans.empty()) {
    const auto [from, to] = spans.back();
    spans.pop_back();
    double farthest_mm = chord_mm;
    std::size_t at = to;
    for (std::size_t i = from + 1; i < to; ++i) {
      const double off_mm = DistanceToSegment(points[i], points[from], points[to]);
      if (off_mm > farthest_mm) {
        farthest_mm = off_mm;
        at = i;
      }
    }
    if (at == to) continue;
    keep[at] = true;
    spans.emplace_back(from, at);
    spans.emplace_back(at, to);
  }
  std::vector<Vec2> kept;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (keep[i]) kept.push_back(points[i]);
  }
  return kept;
}

std::vector<DrawingLine> DropCovered(const std::vector<DrawingLine>& lines, double one_line_mm,
                                     double speck_mm) {
  LaidDown laid(one_line_mm);
  std::vector<DrawingLine> kept;
  for (const DrawingLine& line : lines) {
    const std::vector<Vec2> fine = Subdivide(line.points_mm);
    std::vector<DrawingLine> stretches;
    bool open = false;
    for (std::size_t i = 1; i < fine.size(); ++i) {
      const bool covered = laid.Covers(0.5 * (fine[i - 1] + fine[i])) && laid.Covers(fine[i - 1]) &&
                           laid.Covers(fine[i]);
      if (!covered && !open) {
        stretches.push_back(line);
        stretches.back().points_mm = {fine[i - 1]};
      }
      if (!covered) stretches.back().points_mm.push_back(fine[i]);
      open = !covered;
    }
    for (DrawingLine& stretch : stretches) {
      if (LengthOf(stretch.points_mm) < speck_mm) continue;
      for (std::size_t i = 1; i < stretch.points_mm.size(); ++i) {
        laid.Add(stretch.points_mm[i - 1], stretch.points_mm[i]);
      }
      kept.push_back(std::move(stretch));
    }
  }
  return kept;
}

}  // namespace fitwright::solid
