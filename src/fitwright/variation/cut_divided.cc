// Circles of holes divided on a rotary table: the radius is one reading of x for all of them, the angles are the
// table's own.
#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/cut_reader.h"

namespace fitwright::variation {
namespace {

constexpr double kSameRadius_mm = 0.01;

// From the table's middle to the hole, and round it, in P.
struct Polar {
  Vec3 out = Vec3::UnitX();
  Vec3 round = Vec3::UnitY();
  double radius_mm = 0;
};

Polar PolarOf(const Pose& X_PS, const Vec3& at_P) {
  const Vec3 at_S = X_PS.inverse() * at_P;
  Polar polar;
  polar.radius_mm = at_S.head<2>().norm();
  const Vec3 out_S = polar.radius_mm > kSameRadius_mm ? Vec3(at_S.x(), at_S.y(), 0).normalized() : Vec3::UnitX();
  polar.out = X_PS.linear() * out_S;
  polar.round = X_PS.linear() * Vec3::UnitZ().cross(out_S);
  return polar;
}

}  // namespace

bool CutReader::IsDivided(const Step& step) {
  return std::any_of(step.path.begin(), step.path.end(), [](const PathPiece& p) { return p.kind == PathKind::kPlunge && !p.table_deg.empty(); });
}

void CutReader::AddDivision(const FeatureRef& ref, const Hole& hole, std::size_t i, std::uint64_t visit, PoseForms& pose) {
  const Pose X_PS = PoseInSetup(ref.part);
  const Polar polar = PolarOf(X_PS, hole.entries_P_mm[i]);
  AddTurn(pose.own, X_PS.translation(), X_PS.linear().col(2), Draw(SpreadId::kRotaryTable, Law::kNormal, visit, 1));
  AddShift(pose.own, polar.out, Draw(SpreadId::kBoreCentring, Law::kNormal, now_.key, 1, kTableCentred));
  AddShift(pose.own, polar.round, Draw(SpreadId::kBoreCentring, Law::kNormal, now_.key, 1, kTableCentred + 1));
}

bool CutReader::AddDividedUse(const SourceUse& use, const FeatureRef& ref, const Hole& hole, std::size_t i, PoseForms& pose) {
  const Polar polar = PolarOf(PoseInSetup(ref.part), hole.entries_P_mm[i]);
  if (use.effect == Effect::kSkewXY) return true;  // y stays at 0
  if (use.effect == Effect::kScaleXY) {
    AddShift(pose.own, polar.out, Draw(use.spread, Law::kNormal, StableHash(now_.setup->machine.text()), 1), polar.radius_mm);
    return true;
  }
  const bool slides = use.spread == SpreadId::kReadoutPosition || use.spread == SpreadId::kLockShift;
  if (use.effect != Effect::kPlaceXY || !slides) return false;
  const bool dials = use.spread == SpreadId::kReadoutPosition && now_.machine != nullptr && !now_.machine->readout;
  const SpreadId spread = dials ? SpreadId::kDialPosition : use.spread;
  const auto circle = static_cast<std::uint64_t>(std::llround(polar.radius_mm / kSameRadius_mm));
  const std::uint64_t key = MixKeys(now_.key, circle);
  AddShift(pose.own, polar.out, Draw(spread, Law::kNormal, key, 1, 0));
  AddShift(pose.own, polar.round, Draw(spread, Law::kNormal, key, 1, 1));
  return true;
}

}  // namespace fitwright::variation
