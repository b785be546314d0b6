// Surfaces that a setup touches must be there when it touches them.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/replay/seating.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kProbe_mm = 0.2;     // beside the named point, so that corners and edges count
constexpr double kCentred_mm = 0.02;  // two sides of a bore or outside alike
constexpr std::array<double, 5> kDown_mm = {0.5, 1.5, 3, -0.5, -1.5};

// What a contact claims, in S.
struct Claim {
  Vec3 point = Vec3::Zero();
  Vec3 normal = Vec3::UnitZ();
};

// Turns set by eye or angle touch nothing; a seat on raw stock is gauge: the jaws and supports that
// make it are looked at as solids.
bool TouchesNoDatum(ContactKind kind) {
  return kind == ContactKind::kSetBySquare || kind == ContactKind::kAngleSet ||
         kind == ContactKind::kLineSet || kind == ContactKind::kRough;
}
bool IsCentred(ContactKind kind) {
  return kind == ContactKind::kBoreCentred || kind == ContactKind::kOuterCentred ||
         kind == ContactKind::kMandrel;
}

// The piece lies against the plane from the normal's side, and the point is beside it.
bool LiesAgainstPlane(const Standing& s, const Claim& claim) {
  Pose X_NS = Pose::Identity();
  X_NS.linear() = ShortestTurn(claim.normal, Vec3::UnitZ());
  const bool upright = std::abs(claim.normal.cwiseAbs().maxCoeff() - 1) < 1e-9;
  const Box3 box = upright ? s.box_S : solid::CalcBoxIn(s.solid_S, X_NS);
  const Vec3 p = upright ? claim.point : X_NS * claim.point;
  Eigen::Index axis = 2;
  if (upright) claim.normal.cwiseAbs().maxCoeff(&axis);
  const bool low_side = !upright || claim.normal[axis] > 0;
  const double face = low_side ? box.min_mm[axis] : box.max_mm[axis];
  if (std::abs(p[axis] - face) > kDatum_mm) return false;
  for (Eigen::Index i = 0; i < 3; ++i) {
    if (i == axis) continue;
    if (p[i] < box.min_mm[i] - kDatum_mm || p[i] > box.max_mm[i] + kDatum_mm) return false;
  }
  return true;
}

// Beside the point, material begins on the normal's side within kDatum_mm.
bool MaterialBegins(const Standing& s, const Claim& claim) {
  const Vec3 n = claim.normal;
  Vec3 u = n.unitOrthogonal();
  const Vec3 v = n.cross(u);
  const std::array<Vec3, 9> beside = {Vec3::Zero(), u, -u, v, -v, u + v, u - v, v - u, -u - v};
  for (const Vec3& step : beside) {
    const Vec3 p = claim.point + kProbe_mm * step;
    const bool inside = solid::IsInside(s.solid_S, p + kDatum_mm * n);
    if (inside && !solid::IsInside(s.solid_S, p - kDatum_mm * n)) return true;
  }
  return false;
}

// Along +-normal from the point the surface stands equally far, somewhere near the named height.
Result<bool> IsCentredThere(const Standing& s, const Claim& claim, bool outside) {
  for (const double down : kDown_mm) {
    const Vec3 p = claim.point - down * Vec3::UnitZ();
    std::array<double, 2> reach = {0, 0};
    for (int side = 0; side < 2; ++side) {
      const Vec3 direction = side == 0 ? claim.normal : Vec3(-claim.normal);
      const auto crossings = solid::FindCrossings_mm(s.solid_S, p, direction);
      if (!crossings) return Unexpected(crossings.error());
      if (crossings->empty()) break;
      reach[static_cast<std::size_t>(side)] = outside ? crossings->back() : crossings->front();
    }
    if (reach[0] > kCentred_mm && std::abs(reach[0] - reach[1]) <= kCentred_mm) return true;
  }
  return false;
}

Result<bool> IsThere(const Standing& s, const Contact& contact) {
  if (s.solid_S.empty()) return false;
  const Claim claim{s.X_PS.inverse() * contact.point_P_mm,
                    s.X_PS.linear().transpose() * contact.normal_P};
  if (std::abs(claim.normal.norm() - 1) > 1e-6) return false;
  if (LiesAgainstPlane(s, claim)) return true;
  if (IsCentred(contact.kind)) {
    auto centred = IsCentredThere(s, claim, contact.kind == ContactKind::kOuterCentred);
    if (!centred || *centred) return centred;
  }
  return MaterialBegins(s, claim);
}

}  // namespace

Status CheckDatums(const SetupView& view, const Floor& floor, Findings& findings) {
  for (const Contact& contact : view.setup->contacts) {
    if (TouchesNoDatum(contact.kind)) continue;
    const auto at = std::find_if(floor.begin(), floor.end(),
                                 [&](const Standing& s) { return s.part == contact.surface.part; });
    if (at == floor.end() || !at->present) {
      findings.AddToSetup(Rule::kDatumMissing,
                          fmt::format("the {} contact is on {}, which is not there",
                                      WordOf(contact.kind), contact.surface.part.text()));
      continue;
    }
    const auto there = IsThere(*at, contact);
    if (!there) return Unexpected(there.error());
    if (*there) continue;
    const Vec3& p = contact.point_P_mm;
    const Vec3& n = contact.normal_P;
    findings.AddToSetup(
        Rule::kDatumMissing,
        fmt::format("the {} contact at ({}, {}, {}) with normal ({:.3f}, {:.3f}, {:.3f}) of {} "
                    "finds no surface there",
                    WordOf(contact.kind), Millimetres(p.x()), Millimetres(p.y()),
                    Millimetres(p.z()), n.x(), n.y(), n.z(), contact.surface.part.text()));
  }
  return Ok{};
}

}  // namespace fitwright::replay
