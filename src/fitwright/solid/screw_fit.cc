#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/surface_fit.h"

namespace fitwright::solid {
namespace {

using Matrix6 = Eigen::Matrix<double, 6, 6>;
using Vector6 = Eigen::Matrix<double, 6, 1>;

// How far a normal may lean from square to the movement of its point.
constexpr double kLean_rad = 1.0 * kRadPerDeg;
// A second movement that keeps the surface as well, to this many times, makes it no screw.
constexpr double kApart = 20;
constexpr std::size_t kFewest = 20;

struct Movement {
  Vec3 turn = Vec3::UnitZ();
  Vec3 advance = Vec3::Zero();  // of the origin
  double rms = 0;
  double next_rms = 0;
};

// The turn and advance that moves the points most nearly along the surface: n . (w x p + t) = 0 is
// linear in both.
Movement LeastLifting(const SurfaceSamples& samples) {
  Matrix6 sum = Matrix6::Zero();
  for (std::size_t i = 0; i < samples.points.size(); ++i) {
    Vector6 row;
    row << samples.points[i].cross(samples.normals[i]), samples.normals[i];
    sum += row * row.transpose();
  }
  sum /= static_cast<double>(samples.points.size());
  const Eigen::SelfAdjointEigenSolver<Matrix6> solver(sum);
  const Vector6 least = solver.eigenvectors().col(0);
  return {least.head<3>(), least.tail<3>(), std::sqrt(std::max(0.0, solver.eigenvalues()[0])),
          std::sqrt(std::max(0.0, solver.eigenvalues()[1]))};
}

bool Keeps(const Movement& movement, const SurfaceSamples& samples) {
  for (std::size_t i = 0; i < samples.points.size(); ++i) {
    const Vec3 way = movement.turn.cross(samples.points[i]) + movement.advance;
    if (std::abs(samples.normals[i].dot(way)) > kLean_rad * way.norm()) return false;
  }
  return true;
}

}  // namespace

std::optional<Surface> FitScrew(const SurfaceSamples& samples) {
  if (samples.points.size() < kFewest) return std::nullopt;
  const Vec3 middle =
      std::accumulate(samples.points.begin(), samples.points.end(), Vec3(Vec3::Zero())) /
      static_cast<double>(samples.points.size());
  Box3 box = EmptyBox();
  for (const Vec3& point : samples.points) Include(point, box);
  const double extent_mm = box.size_mm().norm();
  if (!(extent_mm > 0)) return std::nullopt;
  SurfaceSamples unit = samples;
  for (Vec3& point : unit.points) point = (point - middle) / extent_mm;
  const Movement movement = LeastLifting(unit);
  const double turn = movement.turn.norm();
  if (turn < 1e-3 || movement.next_rms < kApart * movement.rms || !Keeps(movement, unit))
    return std::nullopt;
  Surface screw;
  screw.kind = SurfaceKind::kHelical;
  screw.pitch_mm = 2 * kPi * extent_mm * movement.turn.dot(movement.advance) / (turn * turn);
  screw.axis_F.direction = CanonicalDirection(movement.turn / turn);
  screw.axis_F.point_mm =
      middle + extent_mm * movement.turn.cross(movement.advance) / (turn * turn);
  screw.radius_mm = std::numeric_limits<double>::infinity();
  for (const Vec3& point : samples.points) {
    const double out_mm = (point - screw.axis_F.point_mm).cross(screw.axis_F.direction).norm();
    screw.radius_mm = std::min(screw.radius_mm, out_mm);
    screw.reach_mm = std::max(screw.reach_mm, out_mm);
  }
  if (std::abs(screw.pitch_mm) < 1e-3 * extent_mm || screw.radius_mm > 10 * extent_mm)
    return std::nullopt;
  return screw;
}

}  // namespace fitwright::solid
