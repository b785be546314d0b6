// Locating: linear forms against exact rigid-body motion, and against published small cases
// computed independently from first principles (3-2-1 kinematics; variation cases B1 and B2).
#include "fitwright/variation/locate.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>

namespace fitwright::variation {
namespace {

constexpr double kPrinted = 5e-9;     // the values are printed to 9 or 10 decimals
constexpr double kFirstOrder = 2e-4;  // relative: locator errors of 0.05 over 100 mm, squared

struct Locator {
  Vec3 point;
  Vec3 normal;
};

std::vector<LocatingRow> RowsOf(const std::vector<Locator>& locators) {
  std::vector<LocatingRow> rows;
  for (std::size_t i = 0; i < locators.size(); ++i) {
    LocatingRow row;
    row.point = locators[i].point;
    row.normal = locators[i].normal;
    row.move = FormOf(static_cast<SourceIndex>(i));
    rows.push_back(row);
  }
  return rows;
}

Vec3 MoveOf(const Form6& t, const Vec3& p, const std::vector<double>& e) {
  Vec3 move;
  for (int axis = 0; axis < 3; ++axis) move[axis] = Evaluate(MoveAlong(t, p, Vec3::Unit(axis)), e);
  return move;
}

double Variance(const Form& form, double sigma) {
  double sum = 0;
  for (const Term& t : form.terms) sum += t.factor * t.factor * sigma * sigma;
  return sum;
}

double Covariance(const Form& a, const Form& b, double sigma) {
  double sum = 0;
  for (const Term& t : a.terms) sum += t.factor * FactorOf(b, t.source) * sigma * sigma;
  return sum;
}

// Exact rigid motion x -> R x + d that puts each flat face of a block on its locator's moved tip:
// the block's planes (through `point`, square to `normal`) pass through point + e * normal. Newton
// on the rotation vector and d.
struct Rigid {
  Eigen::Matrix3d R = Eigen::Matrix3d::Identity();
  Vec3 d = Vec3::Zero();
};

Rigid ExactSeat(const std::vector<Locator>& locators, const std::vector<double>& e) {
  Rigid x;
  const auto residuals = [&](const Rigid& r) {
    Eigen::VectorXd f(static_cast<Eigen::Index>(locators.size()));
    for (std::size_t i = 0; i < locators.size(); ++i) {
      const Vec3 tip = locators[i].point + e[i] * locators[i].normal;
      const Vec3 back = r.R.transpose() * (tip - r.d);
      f[static_cast<Eigen::Index>(i)] = locators[i].normal.dot(back - locators[i].point);
    }
    return f;
  };
  for (int step = 0; step < 20; ++step) {
    const Eigen::VectorXd f = residuals(x);
    Eigen::MatrixXd J(f.size(), 6);
    for (int k = 0; k < 6; ++k) {
      const double h = 1e-6;
      Rigid moved = x;
      if (k < 3) {
        moved.R = Eigen::AngleAxisd(h, Vec3::Unit(k)).toRotationMatrix() * x.R;
      } else {
        moved.d += h * Vec3::Unit(k - 3);
      }
      J.col(k) = (residuals(moved) - f) / h;
    }
    const Eigen::VectorXd s = J.colPivHouseholderQr().solve(-f);
    const Vec3 turn = s.head<3>();
    if (turn.norm() > 0)
      x.R = Eigen::AngleAxisd(turn.norm(), turn.normalized()).toRotationMatrix() * x.R;
    x.d += s.tail<3>();
  }
  return x;
}

// B1: two locators below, one at the left; made three-dimensional by three more without error.
TEST(Locate, TwoDimensionsB1) {
  const std::vector<Locator> locators = {
      {{20, 0, 0}, Vec3::UnitY()},  {{120, 0, 0}, Vec3::UnitY()},  {{0, 40, 0}, Vec3::UnitX()},
      {{20, 20, 0}, Vec3::UnitZ()}, {{120, 20, 0}, Vec3::UnitZ()}, {{70, 80, 0}, Vec3::UnitZ()}};
  const std::vector<double> e = {0.05, -0.03, 0.02, 0, 0, 0};
  const auto located = Locate(RowsOf(locators));
  ASSERT_TRUE(located);
  EXPECT_NEAR(Evaluate(located->t.w[2], e), -0.0008, kPrinted);
  const struct {
    Vec3 p;
    double dx, dy, exact_dx, exact_dy, sx, sy, cov;
  } cases[] = {
      {{70, 50, 0}, 0.028, 0.01, 0.028022391, 0.010015997, 0.0201990099, 0.0141421356, 0},
      {{120, 0, 0}, -0.012, -0.03, -0.011961596, -0.02999999, 0.0229782506, 0.02, 0.00016},
      {{20, 80, 0}, 0.052, 0.05, 0.052006383, 0.050025584, 0.0229782506, 0.02, 0.00016},
      {{120, 80, 0}, 0.052, -0.03, 0.052038383, -0.02997439, 0.0229782506, 0.02, -0.00016}};
  const Rigid rigid = ExactSeat(locators, e);
  for (const auto& c : cases) {
    const Vec3 move = MoveOf(located->t, c.p, e);
    EXPECT_NEAR(move.x(), c.dx, kPrinted);
    EXPECT_NEAR(move.y(), c.dy, kPrinted);
    // A feature cut at its nominal machine place appears in the part at minus the displacement.
    const Vec3 in_part = rigid.R.transpose() * (c.p - rigid.d) - c.p;
    EXPECT_NEAR(in_part.x(), -c.exact_dx, 1e-8);
    EXPECT_NEAR(in_part.y(), -c.exact_dy, 1e-8);
    EXPECT_NEAR(in_part.x(), -move.x(), kFirstOrder);
    EXPECT_NEAR(in_part.y(), -move.y(), kFirstOrder);
    const Form x = MoveAlong(located->t, c.p, Vec3::UnitX());
    const Form y = MoveAlong(located->t, c.p, Vec3::UnitY());
    // The printed deviations hold for the three planar locators alone.
    EXPECT_NEAR(std::sqrt(Variance(x, 0.02)), c.sx, 1e-9);
    EXPECT_NEAR(std::sqrt(Variance(y, 0.02)), c.sy, 1e-9);
    EXPECT_NEAR(Covariance(x, y, 0.02), c.cov, 1e-12);
  }
}

const std::vector<Locator> kB2 = {{{20, 20, 0}, Vec3::UnitZ()},  {{120, 20, 0}, Vec3::UnitZ()},
                                  {{70, 80, 0}, Vec3::UnitZ()},  {{20, 0, 25}, Vec3::UnitY()},
                                  {{120, 0, 25}, Vec3::UnitY()}, {{0, 50, 25}, Vec3::UnitX()}};

TEST(Locate, ThreeDimensionsB2) {
  const std::vector<double> e = {0.03, -0.01, 0.02, 0.015, -0.025, 0.01};
  const auto located = Locate(RowsOf(kB2));
  ASSERT_TRUE(located);
  const double q[6] = {-0.02, 0.0271666667, 0.0346666667, 0.000166666667, 0.0004, -0.0004};
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(Evaluate(located->t.d[i], e), q[i], 1e-9);
    EXPECT_NEAR(Evaluate(located->t.w[i], e), q[i + 3], 1e-9);
  }
  const double inverse[6][6] = {{-0.25, 0.25, 0, -0.5, 0.5, 1},
                                {-0.2083333333, -0.2083333333, 0.4166666667, 1.2, -0.2, 0},
                                {1.3666666667, -0.0333333333, -0.3333333333, 0, 0, 0},
                                {-0.0083333333, -0.0083333333, 0.0166666667, 0, 0, 0},
                                {0.01, -0.01, 0, 0, 0, 0},
                                {0, 0, 0, -0.01, 0.01, 0}};
  for (std::size_t i = 0; i < 6; ++i) {
    const Form& row = i < 3 ? located->t.d[i] : located->t.w[i - 3];
    for (std::size_t j = 0; j < 6; ++j)
      EXPECT_NEAR(FactorOf(row, static_cast<SourceIndex>(j)), inverse[i][j], 1e-9) << i << j;
  }
  const Rigid rigid = ExactSeat(kB2, e);
  const struct {
    Vec3 p;
    Vec3 linear;
    Vec3 exact;
    Vec3 in_part;
  } cases[] = {{{70, 50, 40},
                {0.016, -0.0075, 0.015},
                {0.016015199, -0.00750181, 0.014996099},
                {-0.016012197, 0.007492906, -0.015003754}},
               {{120, 80, 40},
                {0.028, -0.0275, 0},
                {0.028007198, -0.027501292, -1.2031e-05},
                {-0.028018197, 0.027490088, -3.756e-06}},
               {{20, 20, 40},
                {0.004, 0.0125, 0.03},
                {0.0040232, 0.012497672, 0.030004229},
                {-0.004006198, -0.012504276, -0.030003753}}};
  for (const auto& c : cases) {
    EXPECT_LT((MoveOf(located->t, c.p, e) - c.linear).norm(), 1e-9);
    EXPECT_LT((rigid.R * c.p + rigid.d - c.p - c.exact).norm(), 2e-9);
    EXPECT_LT((rigid.R.transpose() * (c.p - rigid.d) - c.p - c.in_part).norm(), 2e-9);
  }
  const Form x = MoveAlong(located->t, {120, 80, 40}, Vec3::UnitX());
  const Form y = MoveAlong(located->t, {120, 80, 40}, Vec3::UnitY());
  const Form z = MoveAlong(located->t, {120, 80, 40}, Vec3::UnitZ());
  EXPECT_NEAR(std::sqrt(Variance(x, 0.01)), 0.011067972, 1e-9);
  EXPECT_NEAR(std::sqrt(Variance(y, 0.01)), 0.01045825, 1e-9);
  EXPECT_NEAR(std::sqrt(Variance(z, 0.01)), 0.012247449, 1e-9);
  EXPECT_NEAR(Covariance(x, y, 0.01), -3e-5, 1e-12);
  EXPECT_NEAR(Covariance(x, z, 0.01), -1.5e-5, 1e-12);
  EXPECT_NEAR(Covariance(y, z, 0.01), -2.5e-5, 1e-12);
}

// First order is 0.2 um for 0.1 mm over 50 mm.
TEST(Locate, FirstOrderIsGoodTo0_2um) {
  const std::vector<Locator> locators = {
      {{0, 0, 0}, Vec3::UnitZ()},  {{50, 0, 0}, Vec3::UnitZ()},  {{25, 50, 0}, Vec3::UnitZ()},
      {{0, 0, 10}, Vec3::UnitY()}, {{50, 0, 10}, Vec3::UnitY()}, {{0, 25, 10}, Vec3::UnitX()}};
  const std::vector<double> e = {0.1, 0, 0, 0, 0, 0};
  const auto located = Locate(RowsOf(locators));
  ASSERT_TRUE(located);
  const Rigid rigid = ExactSeat(locators, e);
  for (const Vec3& p : {Vec3(50, 50, 0), Vec3(25, 25, 0), Vec3(0, 50, 0)}) {
    EXPECT_LT((rigid.R * p + rigid.d - p - MoveOf(located->t, p, e)).norm(), 0.0003)
        << p.transpose();
  }
}

// An edge found takes the place of the stop along its axis, and leaves two jaw contacts the turn.
TEST(Locate, FinderMovesTheZero) {
  std::vector<LocatingRow> rows = RowsOf(kB2);
  LocatingRow edge;
  edge.finder = true;
  edge.point = Vec3(0, 30, 40);
  edge.normal = Vec3::UnitX();
  edge.move = FormOf(6, -1);
  rows.push_back(edge);
  LocatingRow jaw = edge;
  jaw.point = Vec3(70, 0, 40);
  jaw.normal = Vec3::UnitY();
  jaw.move = FormOf(7, -1);
  rows.push_back(jaw);
  const auto located = Locate(rows);
  ASSERT_TRUE(located);
  const Form x = MoveAlong(located->t, {0, 30, 40}, Vec3::UnitX());
  EXPECT_NEAR(FactorOf(x, 6), -1, 1e-12);
  EXPECT_NEAR(FactorOf(x, 5), 0, 1e-12);
  const Form y = MoveAlong(located->t, {70, 0, 40}, Vec3::UnitY());
  EXPECT_NEAR(FactorOf(y, 7), -1, 1e-12);
  EXPECT_NEAR(FactorOf(y, 3), 0, 1e-12);
  // The turn still comes from the jaw.
  EXPECT_NEAR(FactorOf(located->t.w[2], 4), 0.01, 1e-12);
}

TEST(Locate, OverDeterminedIsAnError) {
  std::vector<LocatingRow> rows = RowsOf(kB2);
  LocatingRow more = rows[0];
  more.point = Vec3(20, 80, 0);
  rows.push_back(more);
  ASSERT_FALSE(Locate(rows));
  EXPECT_EQ(Locate(rows).error().code, ErrorCode::kNoPlan);
  rows.back().may_repeat = true;
  EXPECT_TRUE(Locate(rows));
}

TEST(Locate, WhatIsFreeIsNamed) {
  std::vector<LocatingRow> rows = RowsOf(kB2);
  rows.pop_back();
  const auto located = Locate(rows);
  ASSERT_TRUE(located);
  ASSERT_EQ(located->free.size(), 1u);
  EXPECT_NEAR(std::abs(located->free[0][3]), 1, 1e-9);
}

// Seen from another frame, points move alike.
TEST(Forms, TransformedMovesPointsAlike) {
  const auto located = Locate(RowsOf(kB2));
  ASSERT_TRUE(located);
  const std::vector<double> e = {0.03, -0.01, 0.02, 0.015, -0.025, 0.01};
  Pose X_AB = Pose(Eigen::AngleAxisd(0.7, Vec3(1, 2, 3).normalized()));
  X_AB.translation() = Vec3(5, -7, 11);
  const Form6 t_A = Transformed(X_AB, located->t);
  for (const Vec3& p : {Vec3(1, 2, 3), Vec3(-40, 10, 7)}) {
    const Vec3 moved_B = MoveOf(located->t, p, e);
    EXPECT_LT((MoveOf(t_A, X_AB * p, e) - X_AB.linear() * moved_B).norm(), 1e-12);
  }
}

TEST(Forms, SumsKeepOrderAndCancel) {
  const Form a{1, {{1, 2}, {5, -1}}};
  const Form b{2, {{0, 1}, {5, 1}, {7, 3}}};
  const Form sum = Plus(a, b);
  EXPECT_EQ(sum, (Form{3, {{0, 1}, {1, 2}, {7, 3}}}));
  FormSum many;
  many.Add(a);
  many.Add(b, 2);
  many.Add(static_cast<SourceIndex>(1), -2);
  EXPECT_EQ(many.Take(), (Form{5, {{0, 2}, {5, 1}, {7, 6}}}));
}

}  // namespace
}  // namespace fitwright::variation
