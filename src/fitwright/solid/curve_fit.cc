#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/surface_fit.h"

namespace fitwright::solid {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kLargestRadius = 1e4;  // in extents of the curve
constexpr double kFar = std::numeric_limits<double>::infinity();

struct Fit {
  FittedCurve curve;
  double misfit = kFar;
};

// The points in their own plane, of extent about 1.
struct Flattened {
  Axis3 plane;
  Vec3 x = Vec3::UnitX();
  MatrixXd points;    // 2 x n
  double off = kFar;  // greatest distance from the plane
};

Fit FitLine(const std::vector<Vec3>& points) {
  Fit fit;
  fit.curve.kind = CurveKind::kLine;
  const Vec3 run = points.back() - points.front();
  if (run.norm() < 1e-3) return fit;  // closed, or nearly
  const Vec3 along = run.normalized();
  fit.misfit = 0;
  double reached = -1e-9;
  for (const Vec3& point : points) {
    const Vec3 off = point - points.front();
    fit.misfit = std::max(fit.misfit, off.cross(along).norm());
    if (off.dot(along) < reached) fit.misfit = kFar;  // runs back on itself
    reached = off.dot(along) - 1e-9;
  }
  return fit;
}

Flattened Flatten(const std::vector<Vec3>& points) {
  Vec3 mean = Vec3::Zero();
  for (const Vec3& point : points) mean += point / static_cast<double>(points.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vec3& point : points) spread += (point - mean) * (point - mean).transpose();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
  Flattened flat;
  flat.plane = {mean, solver.eigenvectors().col(0)};
  flat.x = solver.eigenvectors().col(2);
  const Vec3 y = flat.plane.direction.cross(flat.x);
  flat.points.resize(2, static_cast<Eigen::Index>(points.size()));
  flat.off = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec3 at = points[i] - mean;
    flat.points.col(static_cast<Eigen::Index>(i)) = Vec2(at.dot(flat.x), at.dot(y));
    flat.off = std::max(flat.off, std::abs(at.dot(flat.plane.direction)));
  }
  return flat;
}

// Least squares on the distances, from the algebraic circle.
Fit FitCircle(const Flattened& flat) {
  const Eigen::Index count = flat.points.cols();
  MatrixXd left(count, 3);
  left.leftCols(2) = 2 * flat.points.transpose();
  left.col(2).setOnes();
  const VectorXd right = flat.points.colwise().squaredNorm().transpose();
  Eigen::Vector3d found = left.colPivHouseholderQr().solve(right);
  found[2] = std::sqrt(std::max(0.0, found[2] + found.head<2>().squaredNorm()));
  for (int round = 0; round < 5; ++round) {
    MatrixXd slopes(count, 3);
    VectorXd off(count);
    for (Eigen::Index i = 0; i < count; ++i) {
      const Vec2 out = flat.points.col(i) - found.head<2>();
      off[i] = out.norm() - found[2];
      slopes.row(i) << -out.normalized().transpose(), -1;
    }
    found -= slopes.colPivHouseholderQr().solve(off);
  }
  Fit fit;
  if (!found.allFinite() || found[2] <= 0 || found[2] > kLargestRadius) return fit;
  fit.misfit = flat.off;
  for (Eigen::Index i = 0; i < count; ++i) {
    const double off = (flat.points.col(i) - found.head<2>()).norm() - found[2];
    fit.misfit = std::max(fit.misfit, std::abs(off));
  }
  const Vec3 y = flat.plane.direction.cross(flat.x);
  fit.curve.kind = CurveKind::kCircle;
  fit.curve.axis = {flat.plane.point_mm + found[0] * flat.x + found[1] * y,
                    CanonicalDirection(flat.plane.direction)};
  fit.curve.radius_mm = found[2];
  return fit;
}

// a x^2 + b x y + c y^2 + d x + e y + f = 0 with b^2 < 4 a c; distances to first order.
Fit FitEllipse(const Flattened& flat) {
  const Eigen::Index count = flat.points.cols();
  MatrixXd rows(count, 6);
  for (Eigen::Index i = 0; i < count; ++i) {
    const double x = flat.points(0, i);
    const double y = flat.points(1, i);
    rows.row(i) << x * x, x * y, y * y, x, y, 1;
  }
  const Eigen::JacobiSVD<MatrixXd> svd(rows, Eigen::ComputeThinV);
  const VectorXd q = svd.matrixV().col(5);
  Fit fit;
  fit.curve.kind = CurveKind::kEllipse;
  if (!(q[1] * q[1] < 4 * q[0] * q[2])) return fit;
  fit.misfit = flat.off;
  for (Eigen::Index i = 0; i < count; ++i) {
    const double x = flat.points(0, i);
    const double y = flat.points(1, i);
    const Vec2 slope(2 * q[0] * x + q[1] * y + q[3], q[1] * x + 2 * q[2] * y + q[4]);
    const double off = std::abs(rows.row(i).dot(q)) / slope.norm();
    if (!(off >= 0)) fit.misfit = kFar;
    fit.misfit = std::max(fit.misfit, off);
  }
  return fit;
}

}  // namespace

FittedCurve FitCurve(const std::vector<Vec3>& points, double tolerance_mm) {
  constexpr std::size_t kFewest = 9;
  constexpr double kBetter = 0.01;
  constexpr double kGood_mm = 1e-5;
  if (points.size() < kFewest) return {};
  Box3 box = EmptyBox();
  for (const Vec3& point : points) Include(point, box);
  const double extent_mm = box.size_mm().norm();
  if (!(extent_mm > 0)) return {};
  std::vector<Vec3> unit;
  for (const Vec3& point : points) unit.push_back((point - box.centre_mm()) / extent_mm);
  Fit best = FitLine(unit);
  if (!(best.misfit * extent_mm <= tolerance_mm)) best = {};
  if (!(best.misfit * extent_mm <= kGood_mm)) {
    const Flattened flat = Flatten(unit);
    for (const auto fit : {FitCircle, FitEllipse}) {
      if (best.misfit * extent_mm <= kGood_mm) break;
      const Fit found = fit(flat);
      const bool first = best.curve.kind == CurveKind::kOther;
      const double most_mm = first ? tolerance_mm : kBetter * best.misfit * extent_mm;
      if (found.misfit * extent_mm <= most_mm) best = found;
    }
  }
  best.curve.axis.point_mm = box.centre_mm() + extent_mm * best.curve.axis.point_mm;
  best.curve.radius_mm *= extent_mm;
  return best.curve;
}

}  // namespace fitwright::solid
