#include "fitwright/solid/surface_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/solid/face_graph_internal.h"

namespace fitwright::solid {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

// Normals of a fitted surface may lean this much from the file's.
constexpr double kNormal_rad = 0.5 * kRadPerDeg;
// Rounder than this, in diagonals of the face, nothing is called round.
constexpr double kLargestRadius = 1e4;

Vec3 MeanOf(const std::vector<Vec3>& all) {
  return std::accumulate(all.begin(), all.end(), Vec3(Vec3::Zero())) /
         static_cast<double>(all.size());
}

// The direction along which the vectors, off their `middle`, spread least.
Vec3 LeastSpread(const std::vector<Vec3>& all, const Vec3& middle) {
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vec3& one : all) spread += (one - middle) * (one - middle).transpose();
  return Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors().col(0);
}

double ExtentOf(const std::vector<Vec3>& points) {
  Box3 box = EmptyBox();
  for (const Vec3& point : points) Include(point, box);
  return box.size_mm().norm();
}

Vec3 Radial(const Axis3& axis, const Vec3& point) {
  const Vec3 off = point - axis.point_mm;
  return off - off.dot(axis.direction) * axis.direction;
}

// Away from the axis: what the surface's normal is there.
Vec3 NormalOf(const Surface& surface, const Vec3& point) {
  const Vec3& along = surface.axis_F.direction;
  const Vec3 radial = Radial(surface.axis_F, point);
  switch (surface.kind) {
    case SurfaceKind::kPlane:
      return along;
    case SurfaceKind::kSphere:
      return (point - surface.axis_F.point_mm).normalized();
    case SurfaceKind::kCone:
      return std::cos(surface.half_angle_rad) * radial.normalized() -
             std::sin(surface.half_angle_rad) * along;
    case SurfaceKind::kTorus:
      return (point - surface.axis_F.point_mm - surface.radius_mm * radial.normalized())
          .normalized();
    default:
      return radial.normalized();
  }
}

// What a kind may change: the axis' place square to it and its lean always (a sphere only its
// place), then what follows it here.
std::vector<double Surface::*> SizesOf(SurfaceKind kind) {
  switch (kind) {
    case SurfaceKind::kCylinder:
    case SurfaceKind::kSphere:
      return {&Surface::radius_mm};
    case SurfaceKind::kCone:
      return {&Surface::radius_mm, &Surface::half_angle_rad};
    case SurfaceKind::kTorus:
      return {&Surface::radius_mm, &Surface::minor_radius_mm};
    default:
      return {};
  }
}

Surface ChangedBy(const Surface& surface, const VectorXd& by) {
  Surface changed = surface;
  const Vec3& along = surface.axis_F.direction;
  const Vec3 x = along.unitOrthogonal();
  const Vec3 y = along.cross(x);
  changed.axis_F.point_mm += by[0] * x + by[1] * y + by[2] * along;
  changed.axis_F.direction = (along + by[3] * x + by[4] * y).normalized();
  int at = 5;
  for (double Surface::*size : SizesOf(surface.kind)) changed.*size += by[at++];
  return changed;
}

VectorXd DistancesOf(const Surface& surface, const std::vector<Vec3>& points) {
  VectorXd all(static_cast<Eigen::Index>(points.size()));
  for (std::size_t i = 0; i < points.size(); ++i) {
    all[static_cast<Eigen::Index>(i)] = CalcDistance_mm(surface, points[i]);
  }
  return all;
}

// Gauss-Newton with damping on the distances; the points are of extent 1.
Surface Refine(Surface surface, const std::vector<Vec3>& points) {
  constexpr int kRounds = 30;
  constexpr double kStep = 1e-6;
  const Eigen::Index count = 5 + static_cast<Eigen::Index>(SizesOf(surface.kind).size());
  VectorXd now = DistancesOf(surface, points);
  double damping = 1e-9;
  for (int round = 0; round < kRounds && now.squaredNorm() > 1e-28; ++round) {
    MatrixXd slopes(now.size(), count);
    for (Eigen::Index i = 0; i < count; ++i) {
      VectorXd by = VectorXd::Zero(count);
      by[i] = kStep;
      slopes.col(i) =
          (DistancesOf(ChangedBy(surface, by), points) - DistancesOf(ChangedBy(surface, -by), points)) /
          (2 * kStep);
    }
    const MatrixXd normal = slopes.transpose() * slopes;
    const VectorXd pull = slopes.transpose() * now;
    const double scale = normal.diagonal().maxCoeff();
    bool better = false;
    while (!better && damping < 1e3) {
      const MatrixXd damped = normal + damping * scale * MatrixXd::Identity(count, count);
      const Surface next = ChangedBy(surface, -damped.ldlt().solve(pull));
      const VectorXd there = DistancesOf(next, points);
      better = there.squaredNorm() < now.squaredNorm();
      const bool done = better && there.squaredNorm() > (1 - 1e-6) * now.squaredNorm();
      if (better) {
        surface = next;
        now = there;
        damping = std::max(damping * 0.1, 1e-14);
        if (done) return surface;
      } else {
        damping *= 10;
      }
    }
    if (!better) break;
  }
  return surface;
}

// c and s with points = c + s * directions, least squares, over `rows` coordinates of each.
VectorXd SolveOffset(const MatrixXd& points, const MatrixXd& directions) {
  const Eigen::Index rows = points.rows();
  const Eigen::Index count = points.cols();
  MatrixXd left = MatrixXd::Zero(rows * count, rows + 1);
  VectorXd right(rows * count);
  for (Eigen::Index i = 0; i < count; ++i) {
    left.block(i * rows, 0, rows, rows).setIdentity();
    left.block(i * rows, rows, rows, 1) = directions.col(i);
    right.segment(i * rows, rows) = points.col(i);
  }
  return left.colPivHouseholderQr().solve(right);
}

Surface GuessPlane(const SurfaceSamples& samples) {
  Surface plane;
  plane.kind = SurfaceKind::kPlane;
  plane.axis_F = {MeanOf(samples.points), LeastSpread(samples.points, MeanOf(samples.points))};
  if (plane.axis_F.direction.dot(samples.normals.front()) < 0) plane.axis_F.direction *= -1;
  return plane;
}

// Points and normals in the plane square to `along`, or in the half plane through the axis.
struct Flat {
  MatrixXd points;
  MatrixXd normals;
};

Flat SquareTo(const Vec3& along, const SurfaceSamples& samples) {
  const Vec3 x = along.unitOrthogonal();
  const Vec3 y = along.cross(x);
  const auto count = static_cast<Eigen::Index>(samples.points.size());
  Flat flat{MatrixXd(2, count), MatrixXd(2, count)};
  for (Eigen::Index i = 0; i < count; ++i) {
    const Vec3& p = samples.points[static_cast<std::size_t>(i)];
    const Vec3& n = samples.normals[static_cast<std::size_t>(i)];
    flat.points.col(i) = Vec2(p.dot(x), p.dot(y));
    flat.normals.col(i) = Vec2(n.dot(x), n.dot(y));
  }
  return flat;
}

Flat Profile(const Axis3& axis, const SurfaceSamples& samples) {
  const auto count = static_cast<Eigen::Index>(samples.points.size());
  Flat flat{MatrixXd(2, count), MatrixXd(2, count)};
  for (Eigen::Index i = 0; i < count; ++i) {
    const Vec3& p = samples.points[static_cast<std::size_t>(i)];
    const Vec3& n = samples.normals[static_cast<std::size_t>(i)];
    const Vec3 radial = Radial(axis, p);
    flat.points.col(i) = Vec2(radial.norm(), (p - axis.point_mm).dot(axis.direction));
    flat.normals.col(i) = Vec2(n.dot(radial.normalized()), n.dot(axis.direction));
  }
  return flat;
}

std::optional<Surface> GuessCylinder(const SurfaceSamples& samples) {
  Surface cylinder;
  cylinder.kind = SurfaceKind::kCylinder;
  const Vec3 along = LeastSpread(samples.normals, Vec3::Zero());
  const Flat flat = SquareTo(along, samples);
  const VectorXd found = SolveOffset(flat.points, flat.normals);
  const Vec3 x = along.unitOrthogonal();
  cylinder.axis_F = {found[0] * x + found[1] * along.cross(x), along};
  cylinder.radius_mm = std::abs(found[2]);
  return cylinder;
}

std::optional<Surface> GuessSphere(const SurfaceSamples& samples) {
  const auto count = static_cast<Eigen::Index>(samples.points.size());
  MatrixXd points(3, count);
  MatrixXd normals(3, count);
  for (Eigen::Index i = 0; i < count; ++i) {
    points.col(i) = samples.points[static_cast<std::size_t>(i)];
    normals.col(i) = samples.normals[static_cast<std::size_t>(i)];
  }
  const VectorXd found = SolveOffset(points, normals);
  Surface sphere;
  sphere.kind = SurfaceKind::kSphere;
  sphere.axis_F.point_mm = found.head<3>();
  sphere.radius_mm = std::abs(found[3]);
  return sphere;
}

// The tangent planes of a cone meet in its tip, and its normals lie on a circle about the axis.
std::optional<Surface> GuessCone(const SurfaceSamples& samples) {
  const Vec3 mean = MeanOf(samples.normals);
  Surface cone;
  cone.kind = SurfaceKind::kCone;
  cone.axis_F.direction = LeastSpread(samples.normals, mean);
  Eigen::Matrix3d left = Eigen::Matrix3d::Zero();
  Vec3 right = Vec3::Zero();
  for (std::size_t i = 0; i < samples.points.size(); ++i) {
    const Vec3& n = samples.normals[i];
    left += n * n.transpose();
    right += n * n.dot(samples.points[i]);
  }
  const Vec3 tip = left.ldlt().solve(right);
  const Vec3 middle = MeanOf(samples.points);
  if (!tip.allFinite() || (tip - middle).norm() > kLargestRadius) return std::nullopt;
  Vec3& along = cone.axis_F.direction;
  if (along.dot(middle - tip) < 0) along *= -1;
  cone.half_angle_rad = std::asin(std::min(1.0, std::abs(mean.dot(along))));
  const double height = (middle - tip).dot(along);
  cone.axis_F.point_mm = tip + height * along;
  cone.radius_mm = height * std::tan(cone.half_angle_rad);
  return cone;
}

// All normals of a surface of revolution meet its axis: that of the lines which they nearly all
// meet.
std::optional<Surface> GuessTorus(const SurfaceSamples& samples) {
  const auto count = static_cast<Eigen::Index>(samples.points.size());
  MatrixXd moments(count, 3);
  MatrixXd lines(count, 3);
  for (Eigen::Index i = 0; i < count; ++i) {
    const auto at = static_cast<std::size_t>(i);
    moments.row(i) = samples.points[at].cross(samples.normals[at]).transpose();
    lines.row(i) = samples.normals[at].transpose();
  }
  const auto solver = lines.colPivHouseholderQr();
  const MatrixXd rest = moments - lines * solver.solve(moments);
  const Eigen::Matrix3d spread = rest.transpose() * rest;
  Surface torus;
  torus.kind = SurfaceKind::kTorus;
  const Vec3 along = Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors().col(0);
  const Vec3 moment = -solver.solve(moments * along);
  torus.axis_F = {along.cross(moment), along};
  const Flat flat = Profile(torus.axis_F, samples);
  const VectorXd found = SolveOffset(flat.points, flat.normals);
  torus.radius_mm = found[0];
  torus.axis_F.point_mm += found[1] * along;
  torus.minor_radius_mm = std::abs(found[2]);
  return torus;
}

bool IsSane(const Surface& surface) {
  const auto sized = [](double radius) { return radius > 0 && radius < kLargestRadius; };
  const bool finite = surface.axis_F.point_mm.allFinite() && surface.axis_F.direction.allFinite();
  switch (surface.kind) {
    case SurfaceKind::kPlane:
      return finite;
    case SurfaceKind::kCone:
      return finite && sized(surface.radius_mm) && surface.half_angle_rad > 1e-4 &&
             surface.half_angle_rad < 0.5 * kPi - 1e-3;
    case SurfaceKind::kTorus:
      return finite && sized(surface.radius_mm) && sized(surface.minor_radius_mm);
    default:
      return finite && sized(surface.radius_mm);
  }
}

// The greatest distance; infinite where a normal does not agree.
double MisfitOf(const Surface& surface, const SurfaceSamples& samples) {
  constexpr double kFar = std::numeric_limits<double>::infinity();
  if (!IsSane(surface)) return kFar;
  double misfit = 0;
  int side = 0;
  for (std::size_t i = 0; i < samples.points.size(); ++i) {
    const double distance = std::abs(CalcDistance_mm(surface, samples.points[i]));
    if (!(distance < kFar)) return kFar;
    misfit = std::max(misfit, distance);
    const double lean = NormalOf(surface, samples.points[i]).dot(samples.normals[i]);
    const int here = lean < 0 ? -1 : 1;
    if (side == 0) side = here;
    // A tip or a point on the axis has no normal of its own.
    const bool on_axis = Radial(surface.axis_F, samples.points[i]).norm() < 1e-6;
    if (on_axis && surface.kind != SurfaceKind::kPlane) continue;
    if (here != side || std::abs(lean) < std::cos(kNormal_rad)) return kFar;
  }
  return misfit;
}

std::optional<Surface> Guess(SurfaceKind kind, const SurfaceSamples& samples) {
  switch (kind) {
    case SurfaceKind::kPlane:
      return GuessPlane(samples);
    case SurfaceKind::kCylinder:
      return GuessCylinder(samples);
    case SurfaceKind::kSphere:
      return GuessSphere(samples);
    case SurfaceKind::kCone:
      return GuessCone(samples);
    case SurfaceKind::kTorus:
      return GuessTorus(samples);
    case SurfaceKind::kHelical:
    case SurfaceKind::kOther:
      break;
  }
  return std::nullopt;
}

}  // namespace

double CalcDistance_mm(const Surface& surface, const Vec3& point) {
  const Vec3 off = point - surface.axis_F.point_mm;
  const double along = off.dot(surface.axis_F.direction);
  if (surface.kind == SurfaceKind::kPlane) return along;
  if (surface.kind == SurfaceKind::kSphere) return off.norm() - surface.radius_mm;
  const double out = (off - along * surface.axis_F.direction).norm();
  if (surface.kind == SurfaceKind::kCone) {
    return std::cos(surface.half_angle_rad) *
           (out - surface.radius_mm - along * std::tan(surface.half_angle_rad));
  }
  if (surface.kind == SurfaceKind::kTorus) {
    return std::hypot(out - surface.radius_mm, along) - surface.minor_radius_mm;
  }
  return out - surface.radius_mm;
}

std::optional<Surface> FitSurface(const SurfaceSamples& samples, double tolerance_mm) {
  constexpr std::size_t kFewest = 9;
  constexpr double kBetter = 0.01;
  constexpr double kGood_mm = 1e-5;
  if (samples.points.size() < kFewest) return std::nullopt;
  const Vec3 middle = MeanOf(samples.points);
  const double extent_mm = ExtentOf(samples.points);
  if (!(extent_mm > 0)) return std::nullopt;
  SurfaceSamples unit = samples;
  for (Vec3& point : unit.points) point = (point - middle) / extent_mm;
  std::optional<Surface> best;
  for (const SurfaceKind kind : {SurfaceKind::kPlane, SurfaceKind::kCylinder, SurfaceKind::kSphere,
                                 SurfaceKind::kCone, SurfaceKind::kTorus}) {
    if (best && best->misfit_mm <= kGood_mm) break;
    const std::optional<Surface> guess = Guess(kind, unit);
    if (!guess || !IsSane(*guess)) continue;
    Surface found = Refine(*guess, unit.points);
    found.misfit_mm = extent_mm * MisfitOf(found, unit);
    const double most_mm = best ? kBetter * best->misfit_mm : tolerance_mm;
    if (!(found.misfit_mm <= most_mm)) continue;
    best = found;
  }
  if (!best) return best;
  best->axis_F.point_mm = middle + extent_mm * best->axis_F.point_mm;
  best->radius_mm *= extent_mm;
  best->minor_radius_mm *= extent_mm;
  if (best->kind == SurfaceKind::kSphere) best->axis_F.direction = Vec3::UnitZ();
  const bool free = best->kind == SurfaceKind::kCylinder || best->kind == SurfaceKind::kTorus;
  if (free) best->axis_F.direction = CanonicalDirection(best->axis_F.direction);
  return best;
}

}  // namespace fitwright::solid
