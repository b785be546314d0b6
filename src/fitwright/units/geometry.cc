#include "fitwright/units/geometry.h"

namespace fitwright {

Eigen::Matrix3d ShortestTurn(const Vec3& from, const Vec3& to) {
  return Eigen::Quaterniond::FromTwoVectors(from, to).toRotationMatrix();
}

}  // namespace fitwright
