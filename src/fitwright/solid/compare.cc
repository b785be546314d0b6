#include <BRepGProp.hxx>
#include <GProp_GProps.hxx>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "fitwright/solid/crossing.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/probe.h"

namespace fitwright::solid {
namespace {

// Rounding of CalcVolume_mm3 as a share of the volume, with room.
constexpr double kVolumeNoise = 1e-8;
// For comparing two solids only, and never alone: see CalcMomentDifference_mm3.
constexpr std::array<double, 3> kCoarse_mm = {1e-5, 1e-4, 1e-3};
// A difference this many times what the moments show is looked at again.
constexpr double kDoubt = 1000;
// Below this nothing is looked at again.
constexpr double kSmall_mm3 = 1e-3;

// Only the volume: nothing is joined up, and an empty answer is not believed against plain
// evidence.
std::optional<double> TryCommonVolume(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Crossing crossing(a, {b}, fuzzy_mm);
    const std::optional<Solid> shared = crossing.Get(SetOperation::kShared);
    if (!shared) return std::nullopt;
    const double volume_mm3 = CalcVolume_mm3(*shared);
    if (volume_mm3 < kVolumeCheck_mm3 && (SeenToOverlap(a, b) || SeenToOverlap(b, a))) {
      return std::nullopt;
    }
    return volume_mm3;
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// What is left of either without the other, and what that hides at most by the whole volumes.
std::optional<double> TryDifference(const Solid& a, const Solid& b, double fuzzy_mm) {
  try {
    const Crossing crossing(a, {b}, fuzzy_mm);
    const std::optional<Solid> a_only = crossing.Get(SetOperation::kBodyWithoutTools);
    const std::optional<Solid> b_only = crossing.Get(SetOperation::kToolsWithoutBody);
    if (!a_only || !b_only) return std::nullopt;
    const double whole_a_mm3 = CalcVolume_mm3(a);
    const double whole_b_mm3 = CalcVolume_mm3(b);
    const double a_mm3 = std::abs(CalcVolume_mm3(*a_only));
    const double b_mm3 = std::abs(CalcVolume_mm3(*b_only));
    // Both shared volumes, whole less rest, must be one: a rest that the kernel lost shows here.
    const double lost_mm3 = std::abs((whole_a_mm3 - a_mm3) - (whole_b_mm3 - b_mm3));
    if (lost_mm3 > kVolumeCheck_mm3 + kVolumeCheck * whole_a_mm3) return std::nullopt;
    return a_mm3 + b_mm3 + (lost_mm3 > kVolumeNoise * whole_a_mm3 ? lost_mm3 : 0.0);
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

// Second witness where faces differ by the kernel's own approximation of crossing curves: both
// solids' volume, first and second moments. Each bounds the difference from below: a moment about
// the common middle differs by at most (reach ^ order) times the difference.
double CalcMomentDifference_mm3(const Solid& a, const Solid& b) {
  const gp_Pnt middle = ToPnt(CalcBox(a).centre_mm());
  const double reach_mm = 0.5 * CalcBox(a).size_mm().norm();
  GProp_GProps of_a(middle);
  GProp_GProps of_b(middle);
  BRepGProp::VolumeProperties(ShapeOf(a), of_a, kQuadrature, false, false);
  BRepGProp::VolumeProperties(ShapeOf(b), of_b, kQuadrature, false, false);
  double most_mm3 = std::abs(of_a.Mass() - of_b.Mass());
  const gp_XYZ first = of_a.CentreOfMass().XYZ() * of_a.Mass() -
                       of_b.CentreOfMass().XYZ() * of_b.Mass() -
                       middle.XYZ() * (of_a.Mass() - of_b.Mass());
  most_mm3 = std::max(most_mm3, first.Modulus() / reach_mm);
  const gp_Mat second = of_a.MatrixOfInertia() - of_b.MatrixOfInertia();
  for (int row = 1; row <= 3; ++row) {
    for (int column = 1; column <= 3; ++column) {
      const double share = std::abs(second(row, column)) / (reach_mm * reach_mm);
      most_mm3 = std::max(most_mm3, share);
    }
  }
  return most_mm3;
}

}  // namespace

Result<double> CalcSymmetricDifference_mm3(const Solid& a, const Solid& b) {
  return Guard("difference", [&]() -> Result<double> {
    if (a.empty() || b.empty() || BoxesMiss(a, b)) return CalcVolume_mm3(a) + CalcVolume_mm3(b);
    if (ShapeOf(a).IsEqual(ShapeOf(b))) return 0.0;
    const std::optional<double> plain = TryDifference(a, b, 0);
    if (plain && *plain <= kSmall_mm3) return *plain;
    // The kernel may have missed that two faces are one. A true difference shows in the moments,
    // all but a few that keep ten of them alike; only where they show next to nothing, or where
    // nothing came out, is it tried in other ways, and the least answer taken.
    const double moments_mm3 = CalcMomentDifference_mm3(a, b);
    if (plain && *plain <= kDoubt * moments_mm3) return *plain;
    if (moments_mm3 <= kSmall_mm3 && HaveSameBoundary(a, b)) return moments_mm3;
    std::optional<double> least = plain;
    const auto keep = [&](const std::optional<double>& tried) {
      if (tried && (!least || *tried < *least)) least = std::max(*tried, moments_mm3);
    };
    keep(TryDifference(b, a, 0));
    keep(TryDifference(a, b, kFuzzy_mm));
    for (const double fuzzy_mm : kCoarse_mm) {
      if (least && *least <= kSmall_mm3) break;
      keep(TryDifference(a, b, fuzzy_mm));
    }
    if (!least) return Unexpected(NotBelieved("difference"));
    return *least;
  });
}

Result<double> CalcCommonVolume_mm3(const Solid& a, const Solid& b) {
  return Guard("common volume", [&]() -> Result<double> {
    if (a.empty() || b.empty() || BoxesMiss(a, b)) return 0.0;
    std::optional<double> volume = TryCommonVolume(a, b, 0);
    if (!volume) volume = TryCommonVolume(a, b, kFuzzy_mm);
    // A kernel that cannot cross the two may still cut one by the other.
    if (!volume) {
      const std::optional<Solid> left = TryCutOneByOne(a, {b});
      if (left) volume = std::max(0.0, CalcVolume_mm3(a) - CalcVolume_mm3(*left));
    }
    if (!volume) return Unexpected(NotBelieved("common volume"));
    return *volume;
  });
}

Result<bool> Collides(const Solid& a, const Solid& b, double allowed_mm3) {
  const Result<double> shared_mm3 = CalcCommonVolume_mm3(a, b);
  if (!shared_mm3) return Unexpected(shared_mm3.error());
  return *shared_mm3 > allowed_mm3;
}

}  // namespace fitwright::solid
