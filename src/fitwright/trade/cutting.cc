#include "fitwright/trade/cutting.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/base/check.h"

namespace fitwright::trade {
namespace {

constexpr double kPi = 3.14159265358979323846;

// Starting speeds for high-speed steel, m/min: order of magnitude of handbooks, from memory, at the
// gentle end for light machines and no flood (turning mild steel 25-30, free-cutting 40, brass
// 60-90, aluminium 90 up, grey iron 18-25, annealed tool steel 15-20, stainless 15; drills about
// 3/4). tough: factor on feeds and depths (opinion).
struct SpeedRow {
  MaterialKind kind;
  double turn;
  double drill;
  double mill;
  double ream;
  double tap;
  double part;
  double carbide;  // factor on turn, drill, mill, part
  double tough;
};
constexpr auto kSpeeds = std::to_array<SpeedRow>({
    {MaterialKind::kAluminium, 90, 60, 75, 25, 12, 45, 2.5, 1.2},
    {MaterialKind::kSteel, 28, 21, 25, 9, 6, 15, 3.0, 1.0},
    {MaterialKind::kFreeCuttingSteel, 40, 30, 32, 11, 8, 20, 3.0, 1.0},
    {MaterialKind::kSilverSteel, 17, 13, 15, 6, 4, 10, 3.0, 0.8},
    {MaterialKind::kStainless, 15, 11, 14, 5, 4, 9, 3.0, 0.8},
    {MaterialKind::kCastIron, 22, 17, 20, 8, 6, 12, 3.0, 1.1},
    {MaterialKind::kBronze, 45, 32, 35, 12, 8, 22, 2.0, 1.0},
    {MaterialKind::kBrass, 75, 55, 60, 20, 12, 35, 2.0, 1.2},
    {MaterialKind::kGasketSheet, 30, 20, 30, 10, 5, 15, 1.0, 1.0},
});

const SpeedRow& RowOf(MaterialKind kind) {
  for (const SpeedRow& row : kSpeeds) {
    if (row.kind == kind) return row;
  }
  FailCheck("material kind has speeds", __FILE__, __LINE__, std::to_string(static_cast<int>(kind)));
}

// Chisel edge over the diameter (a web some 0.86 of it thick), and the factors A, B, J of the
// drilling formulas: read, as a handbook prints them after Shaw and Oxford (1957).
struct ChiselRow {
  double share;
  ChiselFactors factors;
};
constexpr auto kChisels = std::to_array<ChiselRow>({{0.03, {1, 1.1, 0.001}},
                                                    {0.05, {1.005, 1.14, 0.003}},
                                                    {0.08, {1.015, 1.2, 0.006}},
                                                    {0.1, {1.02, 1.235, 0.01}},
                                                    {0.13, {1.04, 1.27, 0.017}},
                                                    {0.15, {1.08, 1.31, 0.022}},
                                                    {0.18, {1.085, 1.355, 0.03}},
                                                    {0.2, {1.105, 1.38, 0.04}},
                                                    {0.25, {1.155, 1.445, 0.065}},
                                                    {0.3, {1.235, 1.5, 0.09}},
                                                    {0.35, {1.31, 1.575, 0.12}},
                                                    {0.4, {1.395, 1.62, 0.16}}});

// Feeds, mm (opinion): drills grow by 0.018 of the diameter a turn, mills by 0.005 of it a tooth.
double DrillFeed_mm(double diameter_mm) { return std::clamp(0.018 * diameter_mm, 0.01, 0.25); }
double ToothFeed_mm(double diameter_mm) { return std::clamp(0.005 * diameter_mm, 0.008, 0.08); }

CutData LatheData(const SpeedRow& row, CutKind kind, double carbide) {
  const double turn = row.turn * carbide;
  const double part = row.part * carbide;
  switch (kind) {
    case CutKind::kTurnFinish:
      return {turn, 0.06, FeedBasis::kPerRevolution, 0.15};
    case CutKind::kFaceInLathe:
      return {turn, 0.10 * row.tough, FeedBasis::kPerRevolution, 0.5};
    case CutKind::kBore:
      return {0.8 * turn, 0.08 * row.tough, FeedBasis::kPerRevolution, 0.5 * row.tough};
    case CutKind::kPartOff:
    case CutKind::kGroove:
      return {part, 0.04, FeedBasis::kPerRevolution, 0};
    default:
      return {turn, 0.14 * row.tough, FeedBasis::kPerRevolution, 1.0 * row.tough};
  }
}

CutData HoleData(const SpeedRow& row, CutKind kind, double carbide, double diameter_mm) {
  const double feed = DrillFeed_mm(diameter_mm) * row.tough;
  switch (kind) {
    case CutKind::kCentreDrill:
    case CutKind::kSpot:
      return {row.drill, std::min(0.5 * feed, 0.08), FeedBasis::kPerRevolution, 0};
    case CutKind::kReam:
      return {row.ream, std::min(1.6 * feed, 0.4), FeedBasis::kPerRevolution, 0};
    case CutKind::kTap:
      return {row.tap, 0, FeedBasis::kPitch, 0};
    case CutKind::kCounterbore:
    case CutKind::kChamfer:
      return {0.5 * row.drill, std::min(0.5 * feed, 0.1), FeedBasis::kPerRevolution, 0};
    default:
      return {row.drill * carbide, feed, FeedBasis::kPerRevolution, 0};
  }
}

CutData MillData(const SpeedRow& row, CutKind kind, double carbide, double diameter_mm) {
  const double mill = row.mill * carbide;
  const double feed = ToothFeed_mm(diameter_mm) * row.tough;
  switch (kind) {
    case CutKind::kMillSlot:
      return {mill, 0.7 * feed, FeedBasis::kPerTooth,
              std::min(0.25 * diameter_mm, 2.0) * row.tough};
    case CutKind::kMillFace:
      return {mill, std::min(feed, 0.06), FeedBasis::kPerTooth, 0.5 * row.tough};
    case CutKind::kBoreInMill:
      return {0.7 * row.turn * carbide, 0.05, FeedBasis::kPerRevolution, 0.3 * row.tough};
    default:
      return {mill, feed, FeedBasis::kPerTooth, std::min(0.5 * diameter_mm, 5.0) * row.tough};
  }
}

}  // namespace

CutData CutDataFor(const Material& material, CutKind kind, EdgeMaterial edge, double diameter_mm) {
  FW_CHECK(diameter_mm > 0, diameter_mm);
  const SpeedRow& row = RowOf(material.kind);
  const double carbide = edge == EdgeMaterial::kCarbide ? row.carbide : 1.0;
  switch (kind) {
    case CutKind::kTurn:
    case CutKind::kTurnFinish:
    case CutKind::kFaceInLathe:
    case CutKind::kBore:
    case CutKind::kPartOff:
    case CutKind::kGroove:
      return LatheData(row, kind, carbide);
    case CutKind::kMillSide:
    case CutKind::kMillSlot:
    case CutKind::kMillFace:
    case CutKind::kBoreInMill:
      return MillData(row, kind, carbide, diameter_mm);
    default:
      return HoleData(row, kind, carbide, diameter_mm);
  }
}

double SpeedFor_rpm(double speed_m_min, double diameter_mm) {
  FW_CHECK(speed_m_min > 0 && diameter_mm > 0, speed_m_min, diameter_mm);
  return 1000 * speed_m_min / (kPi * diameter_mm);
}

double CuttingSpeed_m_min(double rpm, double diameter_mm) { return kPi * diameter_mm * rpm / 1000; }

std::optional<double> StepAtOrBelow(std::span<const double> steps, double rpm) {
  std::optional<double> found;
  for (const double step : steps) {
    if (step <= rpm) found = step;
  }
  return found;
}

std::optional<double> MachineSpeed_rpm(std::span<const double> steps, double wanted_rpm,
                                       double rpm_max) {
  return StepAtOrBelow(steps, rpm_max > 0 ? std::min(wanted_rpm, rpm_max) : wanted_rpm);
}

double FeedRate_mm_min(const CutData& data, double rpm, int teeth, double pitch_mm) {
  switch (data.basis) {
    case FeedBasis::kPerTooth:
      return data.feed_mm * teeth * rpm;
    case FeedBasis::kPitch:
      return pitch_mm * rpm;
    case FeedBasis::kPerRevolution:
      break;
  }
  return data.feed_mm * rpm;
}

double CuttingForce_N(const Material& material, double depth_mm, double feed_mm,
                      double approach_rad) {
  FW_CHECK(depth_mm > 0 && feed_mm > 0 && approach_rad > 0, depth_mm, feed_mm, approach_rad);
  const double width_mm = depth_mm / std::sin(approach_rad);
  const double chip_mm = feed_mm * std::sin(approach_rad);
  return material.kc11_MPa * width_mm * std::pow(chip_mm, 1 - material.mc);
}

double CuttingPower_W(double force_N, double speed_m_min) { return force_N * speed_m_min / 60; }

ChiselFactors ChiselFactorsFor(double share) {
  constexpr double kSame = 1e-12;
  FW_CHECK(share >= kLeastChisel - kSame && share <= kMostChisel + kSame, share);
  std::size_t next = 0;
  while (next + 1 < kChisels.size() && kChisels[next].share < share - kSame) ++next;
  const ChiselRow& high = kChisels[next];
  if (next == 0 || high.share < share + kSame) return high.factors;
  const ChiselRow& low = kChisels[next - 1];
  const double part = (share - low.share) / (high.share - low.share);
  return {std::lerp(low.factors.torque, high.factors.torque, part),
          std::lerp(low.factors.thrust, high.factors.thrust, part),
          std::lerp(low.factors.edge, high.factors.edge, part)};
}

// T = 0.05 Kd f^0.8 D^0.8 B W + 0.007 Kd D^2 J W [N], M = Kd f^0.8 D^1.8 A W / 40000 [N m], after
// Shaw and Oxford (1957) as handbooks give it; W = 1.3 for a drill in ordinary use.
DrillLoad CalcDrillLoad(const Material& material, double diameter_mm, double feed_mm, double rpm,
                        double chisel_share) {
  FW_CHECK(diameter_mm > 0 && feed_mm > 0 && rpm >= 0, diameter_mm, feed_mm, rpm);
  const ChiselFactors chisel = ChiselFactorsFor(chisel_share);
  constexpr double kWear = 1.30;
  constexpr double kSizePower = 0.8;
  const double kd = material.drill_constant;
  const double feed_term = std::pow(feed_mm, kSizePower);
  DrillLoad load;
  load.thrust_N =
      0.05 * kd * feed_term * std::pow(diameter_mm, kSizePower) * chisel.thrust * kWear +
      0.007 * kd * diameter_mm * diameter_mm * chisel.edge * kWear;
  load.torque_Nm =
      kd * feed_term * std::pow(diameter_mm, 1 + kSizePower) * chisel.torque * kWear / 40000;
  load.power_W = load.torque_Nm * rpm * 2 * kPi / 60;
  return load;
}

double DrillPointLength_mm(double diameter_mm, double point_deg) {
  if (point_deg >= 180) return 0;
  return 0.5 * diameter_mm / std::tan(0.5 * point_deg * kPi / 180);
}

double BarDeflection_mm(double force_N, double length_mm, double diameter_mm, double modulus_MPa) {
  FW_CHECK(diameter_mm > 0 && modulus_MPa > 0, diameter_mm, modulus_MPa);
  const double inertia_mm4 = kPi * std::pow(diameter_mm, 4) / 64;
  return force_N * std::pow(length_mm, 3) / (3 * modulus_MPa * inertia_mm4);
}

// Opinion: enough for the reamer to cut rather than rub.
double ReamingAllowance_mm(double diameter_mm) {
  if (diameter_mm <= 3) return 0.1;
  if (diameter_mm <= 8) return 0.2;
  if (diameter_mm <= 16) return 0.25;
  return diameter_mm <= 25 ? 0.3 : 0.4;
}

// Opinion: on the surface (radius or face).
double FinishAllowance_mm(CutKind kind) {
  switch (kind) {
    case CutKind::kBore:
    case CutKind::kBoreInMill:
      return 0.15;
    case CutKind::kMillSide:
    case CutKind::kMillSlot:
      return 0.25;
    default:
      return 0.2;
  }
}

}  // namespace fitwright::trade
