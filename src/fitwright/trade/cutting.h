// Cutting speeds, feeds, forces and minutes for a small manual shop. Speeds and feeds are starting
// values (opinion where no source is named in cutting.cc), kept on the gentle side.
#pragma once

#include <optional>
#include <span>

#include "fitwright/base/words.h"
#include "fitwright/trade/materials.h"

namespace fitwright::trade {

enum class CutKind {
  kTurn,
  kTurnFinish,
  kFaceInLathe,
  kBore,
  kPartOff,
  kGroove,
  kDrill,
  kCentreDrill,
  kSpot,
  kReam,
  kTap,
  kCounterbore,
  kMillSide,
  kMillSlot,
  kMillFace,
  kBoreInMill,
  kChamfer
};
enum class EdgeMaterial { kHss, kCarbide };
enum class FeedBasis { kPerRevolution, kPerTooth, kPitch };

struct CutData {
  double speed_m_min = 0;
  double feed_mm = 0;  // per revolution or per tooth, by basis; 0 for kPitch (the thread's own)
  FeedBasis basis = FeedBasis::kPerRevolution;
  double depth_mm = 0;  // usual depth of one pass (radius, or axial for milling); 0 where none
};

// Starting values. diameter_mm is the cutter's (drills, mills, reamers, taps) or the work's (lathe
// single points), > 0; feeds grow with it for drills and mills. Carbide is taken for HSS where such
// tools are not usual (reamers, taps, spot and centre drills, counterbores). Never fails.
CutData CutDataFor(const Material& material, CutKind kind, EdgeMaterial edge, double diameter_mm);

// n = 1000 v / (pi d). v in m/min, d in mm, both > 0.
double SpeedFor_rpm(double speed_m_min, double diameter_mm);
double CuttingSpeed_m_min(double rpm, double diameter_mm);
// Greatest machine step not above rpm; none when even the slowest is faster. steps ascending.
std::optional<double> StepAtOrBelow(std::span<const double> steps, double rpm);
// The same, held to rpm_max when > 0.
std::optional<double> MachineSpeed_rpm(std::span<const double> steps, double wanted_rpm,
                                       double rpm_max);

// Feed rate. teeth is used for kPerTooth only; pitch_mm for kPitch only.
double FeedRate_mm_min(const CutData& data, double rpm, int teeth, double pitch_mm = 0);

// Kienzle: Fc = kc11 * b * h^(1 - mc), b = depth / sin(kappa), h = feed * sin(kappa). N.
// Requires depth_mm, feed_mm > 0 and 0 < approach_rad <= pi / 2. Power in W: Fc * v.
double CuttingForce_N(const Material& material, double depth_mm, double feed_mm,
                      double approach_rad);
double CuttingPower_W(double force_N, double speed_m_min);

// How much the chisel edge of a twist drill adds: A to the torque, B to the thrust of the lips, J
// the thrust of the edge itself.
struct ChiselFactors {
  double torque = 0;  // A
  double thrust = 0;  // B
  double edge = 0;    // J
};
inline constexpr double kLeastChisel = 0.03;
inline constexpr double kMostChisel = 0.40;
inline constexpr double kUsualChisel = 0.18;  // of a drill as sold
// By the length of the chisel edge over the diameter, kLeastChisel to kMostChisel; between the rows
// of the table in a straight line.
ChiselFactors ChiselFactorsFor(double share);

// Twist drill worn as in ordinary use.
struct DrillLoad {
  double thrust_N = 0;
  double torque_Nm = 0;
  double power_W = 0;  // at the drill
};
DrillLoad CalcDrillLoad(const Material& material, double diameter_mm, double feed_mm, double rpm,
                        double chisel_share = kUsualChisel);

// Length of a drill's point: D/2 / tan(point/2). 118 deg: 0.3004 D.
double DrillPointLength_mm(double diameter_mm, double point_deg);
inline constexpr double kUsualDrillPoint_deg = 118;  // of a twist drill, common practice

// Deflection at the end of a round bar held at the other end: F L^3 / (3 E I). mm, N, MPa.
double BarDeflection_mm(double force_N, double length_mm, double diameter_mm, double modulus_MPa);

// Usual sizes of hole left for a reamer and of metal left for a last cut (opinion, in cutting.cc).
double ReamingAllowance_mm(double diameter_mm);  // on the diameter
double FinishAllowance_mm(CutKind kind);         // on the surface: radius or face

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::CutKind> {
  using K = trade::CutKind;
  static constexpr auto kAll = std::to_array<Word<K>>({{K::kTurn, "turn"},
                                                       {K::kTurnFinish, "turn_finish"},
                                                       {K::kFaceInLathe, "face_in_lathe"},
                                                       {K::kBore, "bore"},
                                                       {K::kPartOff, "part_off"},
                                                       {K::kGroove, "groove"},
                                                       {K::kDrill, "drill"},
                                                       {K::kCentreDrill, "centre_drill"},
                                                       {K::kSpot, "spot"},
                                                       {K::kReam, "ream"},
                                                       {K::kTap, "tap"},
                                                       {K::kCounterbore, "counterbore"},
                                                       {K::kMillSide, "mill_side"},
                                                       {K::kMillSlot, "mill_slot"},
                                                       {K::kMillFace, "mill_face"},
                                                       {K::kBoreInMill, "bore_in_mill"},
                                                       {K::kChamfer, "chamfer"}});
};
}  // namespace fitwright
