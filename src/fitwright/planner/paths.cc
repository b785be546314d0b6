#include "fitwright/planner/paths.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"

namespace fitwright::planner {
namespace {

constexpr double kRowShare = 0.8;  // of the cutter's diameter from row to row

void AddUnlessSame(std::vector<Vec3>& points, const Vec3& p) {
  if (points.empty() || (points.back() - p).norm() > kGeometryNoise_mm) points.push_back(p);
}

Row RowAt(const FlatRegion& region, double from, double to, double across, double z_mm) {
  const Vec2 a = region.At(from, across);
  const Vec2 b = region.At(to, across);
  return {Vec3(a.x(), a.y(), z_mm), Vec3(b.x(), b.y(), z_mm)};
}

}  // namespace

std::vector<double> RowMiddles(double lo_mm, double hi_mm, double width_mm) {
  if (hi_mm <= lo_mm + kGeometryNoise_mm) return {0.5 * (lo_mm + hi_mm)};
  const int steps = static_cast<int>(std::ceil((hi_mm - lo_mm) / (kRowShare * width_mm) - 1e-9));
  std::vector<double> middles;
  for (int i = 0; i <= steps; ++i) middles.push_back(lo_mm + (hi_mm - lo_mm) * i / steps);
  return middles;
}

std::vector<Row> CoverRows(const FlatRegion& region, double z_mm, double diameter_mm,
                           double run_mm, double over_mm) {
  FW_CHECK(diameter_mm > 0, diameter_mm);
  const double outer = std::max(0.0, region.half_v_mm + over_mm - diameter_mm / 2);
  const double end = region.half_u_mm + diameter_mm / 2 + run_mm;
  std::vector<Row> rows;
  for (const double b : RowMiddles(-outer, outer, diameter_mm)) {
    rows.push_back(RowAt(region, -end, end, b, z_mm));
  }
  return rows;
}

std::vector<Row> StepRows(const FlatRegion& moves, double z_mm, double diameter_mm,
                          bool ends_low) {
  std::vector<double> middles = RowMiddles(-moves.half_v_mm, moves.half_v_mm, diameter_mm);
  if (ends_low) std::reverse(middles.begin(), middles.end());
  const double from = ends_low ? moves.half_u_mm : -moves.half_u_mm;
  std::vector<Row> rows;
  for (const double b : middles) rows.push_back(RowAt(moves, from, -from, b, z_mm));
  return rows;
}

std::vector<Vec3> ClearRoom(const FlatRegion& room, double z_mm, double diameter_mm) {
  std::vector<Vec3> points;
  const auto add = [&](double a, double b) {
    const Vec2 p = room.At(a, b);
    AddUnlessSame(points, Vec3(p.x(), p.y(), z_mm));
  };
  const double u = std::max(0.0, room.half_u_mm);
  const double v = std::max(0.0, room.half_v_mm);
  const std::vector<double> rows = RowMiddles(-v, v, diameter_mm);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (i > 0) add(-u, rows[i - 1]);  // back through the cut, so that every row has its metal on the left
    add(-u, rows[i]);
    add(u, rows[i]);
  }
  if (v > kGeometryNoise_mm && u > kGeometryNoise_mm) {
    for (const auto& [a, b] : {std::pair(u, v), {u, -v}, {-u, -v}, {-u, v}, {u, v}}) add(a, b);
  }
  return points;
}

double LengthOf(const std::vector<Vec3>& points) {
  double length = 0;
  for (std::size_t i = 1; i < points.size(); ++i) length += (points[i] - points[i - 1]).norm();
  return length;
}

double LengthOf(const std::vector<Row>& rows) {
  double length = 0;
  for (const Row& row : rows) length += (row[1] - row[0]).norm();
  return length;
}

std::vector<int> TravelOrder(const std::vector<Vec2>& places) {
  const int count = static_cast<int>(places.size());
  const auto far = [&](int a, int b) {
    return (places[static_cast<std::size_t>(a)] - places[static_cast<std::size_t>(b)]).norm();
  };
  std::vector<int> order;
  std::vector<bool> seen(places.size(), false);
  for (int at = 0; static_cast<int>(order.size()) < count;) {
    order.push_back(at);
    seen[static_cast<std::size_t>(at)] = true;
    int next = -1;
    for (int i = 0; i < count; ++i) {
      if (seen[static_cast<std::size_t>(i)]) continue;
      if (next < 0 || far(at, i) < far(at, next) - kGeometryNoise_mm) next = i;
    }
    at = next;
  }
  for (bool better = true; better;) {
    better = false;
    for (std::size_t i = 1; i + 1 < order.size(); ++i) {
      for (std::size_t k = i + 1; k < order.size(); ++k) {
        const double tail_now = k + 1 < order.size() ? far(order[k], order[k + 1]) : 0;
        const double tail_then = k + 1 < order.size() ? far(order[i], order[k + 1]) : 0;
        if (far(order[i - 1], order[k]) + tail_then + kGeometryNoise_mm <
            far(order[i - 1], order[i]) + tail_now) {
          std::reverse(order.begin() + static_cast<std::ptrdiff_t>(i),
                       order.begin() + static_cast<std::ptrdiff_t>(k) + 1);
          better = true;
        }
      }
    }
  }
  return order;
}

}  // namespace fitwright::planner
