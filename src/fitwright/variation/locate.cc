#include "fitwright/variation/locate.h"

#include <Eigen/Dense>
#include <array>
#include <cmath>

namespace fitwright::variation {
namespace {

// A row whose new part is smaller than this share of itself is settled by the rows before it.
constexpr double kDependent = 1e-7;
constexpr int kMost = 9;

using Row = Eigen::Matrix<double, 1, kMost>;

struct System {
  std::vector<Row> rows;
  std::vector<const Form*> moves;
};

std::array<bool, 3> FinderAxes(const std::vector<LocatingRow>& rows) {
  std::array<bool, 3> has{};
  for (const LocatingRow& row : rows) {
    if (!row.finder) continue;
    int axis = 0;
    row.normal.cwiseAbs().maxCoeff(&axis);
    has[static_cast<std::size_t>(axis)] = true;
  }
  return has;
}

Row RowOf(const LocatingRow& row, const std::array<bool, 3>& finder_axes) {
  Row r = Row::Zero();
  if (row.turn) {
    r.segment<3>(0) = row.normal.transpose() / kLever_mm;
    return r;
  }
  r.segment<3>(0) = row.point.cross(row.normal).transpose() / kLever_mm;
  r.segment<3>(3) = row.normal.transpose();
  if (row.finder) return r;
  for (int axis = 0; axis < 3; ++axis) {
    if (finder_axes[static_cast<std::size_t>(axis)]) r[6 + axis] = row.normal[axis];
  }
  return r;
}

Result<System> Independent(const std::vector<LocatingRow>& rows) {
  const auto finder_axes = FinderAxes(rows);
  System system;
  std::vector<Row> basis;
  for (const LocatingRow& row : rows) {
    const Row r = RowOf(row, finder_axes);
    Row rest = r;
    for (int pass = 0; pass < 2; ++pass) {
      for (const Row& b : basis) rest -= rest.dot(b) * b;
    }
    if (rest.norm() <= kDependent * r.norm()) {
      if (row.may_repeat) continue;
      return Unexpected(
          Error{ErrorCode::kNoPlan,
                fmt::format("a contact at ({:.2f}, {:.2f}, {:.2f}) is settled by those before it",
                            row.point.x(), row.point.y(), row.point.z()),
                {},
                "take one contact away, or adjust the extra freedom",
                {}});
    }
    basis.push_back(rest / rest.norm());
    system.rows.push_back(r);
    system.moves.push_back(&row.move);
  }
  return system;
}

std::vector<Vec6> FreeMotions(const Eigen::MatrixXd& A) {
  // The zero's shifts are not motions of the part: a motion is free when some shift goes with it.
  Eigen::FullPivLU<Eigen::MatrixXd> lu(A);
  lu.setThreshold(kDependent);
  std::vector<Vec6> free;
  if (lu.rank() == A.cols()) return free;
  const Eigen::MatrixXd kernel = lu.kernel();
  for (Eigen::Index c = 0; c < kernel.cols(); ++c) {
    Vec6 v = kernel.col(c).head<6>();
    const double size = v.norm();
    for (const Vec6& f : free) v -= v.dot(f) * f;
    if (v.norm() > kDependent * std::max(1.0, size)) free.push_back(v.normalized());
  }
  return free;
}

}  // namespace

Result<Located> Locate(const std::vector<LocatingRow>& rows) {
  const Result<System> system = Independent(rows);
  if (!system) return Unexpected(system.error());
  Located located;
  const auto n = static_cast<Eigen::Index>(system->rows.size());
  if (n == 0) {
    for (int i = 0; i < 6; ++i) located.free.push_back(Vec6::Unit(i));
    return located;
  }
  // Columns of shifts that no row reads are left out.
  std::vector<int> columns = {0, 1, 2, 3, 4, 5};
  for (int c = 6; c < kMost; ++c) {
    bool read = false;
    for (const Row& r : system->rows) read |= r[c] != 0;
    if (read) columns.push_back(c);
  }
  Eigen::MatrixXd A(n, static_cast<Eigen::Index>(columns.size()));
  for (Eigen::Index i = 0; i < n; ++i) {
    for (std::size_t c = 0; c < columns.size(); ++c) {
      A(i, static_cast<Eigen::Index>(c)) = system->rows[static_cast<std::size_t>(i)][columns[c]];
    }
  }
  const Eigen::MatrixXd M = n == A.cols()
                                ? Eigen::MatrixXd(A.inverse())
                                : Eigen::MatrixXd(A.transpose() * (A * A.transpose()).inverse());
  FormSum sum;
  for (Eigen::Index k = 0; k < 6; ++k) {
    for (Eigen::Index j = 0; j < n; ++j) {
      if (std::abs(M(k, j)) > 1e-13) sum.Add(*system->moves[static_cast<std::size_t>(j)], M(k, j));
    }
    if (k < 3) {
      located.t.w[static_cast<std::size_t>(k)] = Scaled(sum.Take(), 1 / kLever_mm);
    } else {
      located.t.d[static_cast<std::size_t>(k - 3)] = sum.Take();
    }
  }
  if (n < A.cols()) located.free = FreeMotions(A);
  return located;
}

}  // namespace fitwright::variation
