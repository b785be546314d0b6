#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/reckon/bench_sums.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/trade/cutting.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

using trade::CutKind;

constexpr double kMostDiameter_mm = 1000;
constexpr double kMost_rpm = 60000;

bool IsMilling(CutKind kind) {
  return kind == CutKind::kMillSide || kind == CutKind::kMillSlot || kind == CutKind::kMillFace;
}
bool IsTurning(CutKind kind) {
  return kind == CutKind::kTurn || kind == CutKind::kTurnFinish || kind == CutKind::kFaceInLathe ||
         kind == CutKind::kBore;
}

// The machine's own speed: of its steps, or any up to its greatest.
Result<double> SpindleSpeed_rpm(const Given& given, double wanted_rpm) {
  const double held = std::min(wanted_rpm, given.NumberIfAny("rpm-max").value_or(kMost_rpm));
  if (!given.Has("steps")) return held;
  std::vector<double> steps = given.List("steps");
  std::sort(steps.begin(), steps.end());
  if (const auto step = trade::StepAtOrBelow(steps, held)) return *step;
  return Unexpected(Refused(ErrorCode::kOutOfRange, "steps", fmt::format("{:.0f} rpm", held),
                            "even the slowest step is faster than this cut bears",
                            "use a smaller cutter, carbide, or a machine with a back gear"));
}

// Mean thickness of a mill's chip over its arc of cut, fz (1 - cos arc) / arc, and the force law on
// it: P = kc Q.
double MillingPower_W(const trade::Material& material, double depth_mm, double width_mm,
                      double diameter_mm, double tooth_feed_mm, double feed_mm_min) {
  const double arc = std::acos(1 - 2 * std::min(width_mm, diameter_mm) / diameter_mm);
  const double chip_mm = tooth_feed_mm * (1 - std::cos(arc)) / arc;
  const double kc_MPa = material.kc11_MPa * std::pow(chip_mm, -material.mc);
  return kc_MPa * depth_mm * width_mm * feed_mm_min / 60000;
}

struct CutAt {
  CutKind kind = CutKind::kTurn;
  trade::CutData data;
  double rpm = 0;
  double diameter_mm = 0;
  int teeth = 0;
};

// W at the cutter; 0 where no law is at hand for the cut.
double PowerOf_W(const Given& given, const trade::Material& material, const CutAt& cut,
                 double depth_mm) {
  if (cut.kind == CutKind::kDrill) {
    return trade::CalcDrillLoad(material, cut.diameter_mm, cut.data.feed_mm, cut.rpm).power_W;
  }
  if (IsTurning(cut.kind)) {
    const double force =
        trade::CuttingForce_N(material, depth_mm, cut.data.feed_mm, given.Number("approach"));
    return trade::CuttingPower_W(force, trade::CuttingSpeed_m_min(cut.rpm, cut.diameter_mm));
  }
  if (IsMilling(cut.kind)) {
    const double width = cut.kind == CutKind::kMillSlot
                             ? cut.diameter_mm
                             : given.NumberIfAny("width").value_or(0.5 * cut.diameter_mm);
    return MillingPower_W(material, depth_mm, width, cut.diameter_mm, cut.data.feed_mm,
                          trade::FeedRate_mm_min(cut.data, cut.rpm, cut.teeth));
  }
  return 0;
}

void AddPower(Reckoned& r, const Given& given, double power_W, double depth_mm) {
  if (power_W <= 0) return;
  r.Add("power at the cutter", Kind::kPower, power_W);
  const double motor = power_W / (0.01 * given.Number("efficiency"));
  r.Add("power of the motor for it", Kind::kPower, motor);
  if (const auto power = given.NumberIfAny("power"); power && motor > *power) {
    r.cautions.push_back("More than the machine has.");
    if (depth_mm > 0) r.Add("depth that its power bears", Kind::kLength, depth_mm * *power / motor);
  }
}

Result<Reckoned> Speed(const Given& given) {
  const auto material = MaterialIn(given, "material");
  if (!material) return Unexpected(material.error());
  const auto edge =
      given.Word("edge") == "carbide" ? trade::EdgeMaterial::kCarbide : trade::EdgeMaterial::kHss;
  CutAt cut;
  cut.kind = EnumOf<CutKind>(given.Word("cut")).value();
  cut.diameter_mm = given.Number("diameter");
  cut.teeth = given.Count("teeth");
  cut.data = trade::CutDataFor(**material, cut.kind, edge, cut.diameter_mm);
  if (const auto feed = given.NumberIfAny("feed")) cut.data.feed_mm = *feed;
  if (const auto speed = given.NumberIfAny("speed")) cut.data.speed_m_min = *speed;
  const double wanted = trade::SpeedFor_rpm(cut.data.speed_m_min, cut.diameter_mm);
  const auto rpm = SpindleSpeed_rpm(given, wanted);
  if (!rpm) return Unexpected(rpm.error());
  cut.rpm = *rpm;
  Reckoned r;
  r.Add("cutting speed to start from", Kind::kSurfaceSpeed, cut.data.speed_m_min);
  r.Add("spindle for that speed", Kind::kTurns, wanted);
  r.Add("set the spindle to", Kind::kTurns, cut.rpm);
  r.Add("cutting speed then", Kind::kSurfaceSpeed,
        trade::CuttingSpeed_m_min(cut.rpm, cut.diameter_mm));
  const bool tap = cut.data.basis == trade::FeedBasis::kPitch;
  if (!tap) {
    r.Add(cut.data.basis == trade::FeedBasis::kPerTooth ? "feed for each tooth"
                                                        : "feed for each turn",
          Kind::kFine, cut.data.feed_mm);
    r.Add("feed", Kind::kFeedRate, trade::FeedRate_mm_min(cut.data, cut.rpm, cut.teeth));
  }
  const double depth = given.NumberIfAny("depth").value_or(cut.data.depth_mm);
  if (depth > 0) r.Add("depth of the pass", Kind::kLength, depth);
  AddPower(r, given, PowerOf_W(given, **material, cut, depth), depth);
  r.notes.push_back(
      "Starting values on the gentle side for a light machine (handbooks' order of size, "
      "from memory); the sound and the chip decide.");
  r.source = "n = 1000 v / (pi d); force kc1.1 b h^(1 - mc) after Kienzle; drills as drill-load";
  return r;
}

Result<Reckoned> DrillLoad(const Given& given) {
  const auto material = MaterialIn(given, "material");
  if (!material) return Unexpected(material.error());
  const double rpm = given.Number("rpm");
  const auto load = trade::CalcDrillLoad(**material, given.Number("diameter"), given.Number("feed"),
                                         rpm, given.Number("chisel"));
  Reckoned r;
  r.Add("thrust", Kind::kForce, load.thrust_N);
  r.Add("torque", Kind::kTorque, load.torque_Nm);
  r.Add("power at the drill", Kind::kPower, load.power_W);
  r.Add("power of the motor for it", Kind::kPower,
        load.power_W / (0.01 * given.Number("efficiency")));
  r.cautions.push_back(
      "The torque turns the work as well as the drill: clamp it, and most of all as the "
      "point breaks through.");
  r.source =
      "T = 0.05 Kd f^0.8 D^0.8 B W + 0.007 Kd D^2 J W, M = Kd f^0.8 D^1.8 A W / 40000, after "
      "Shaw and Oxford (1957) as handbooks give it: A, B, J by the chisel edge, ordinary wear "
      "W = 1.3; Kd from memory";
  return r;
}

Result<Reckoned> DrillPoint(const Given& given) {
  const double diameter = given.Number("diameter");
  const double point = ConeDepth_mm(diameter, 0, given.Number("point"));
  Reckoned r;
  r.Add("length of the point", Kind::kLength, point);
  if (const auto depth = given.NumberIfAny("depth")) {
    r.Add("tip down for that full diameter", Kind::kLength, *depth + point);
  }
  if (const auto through = given.NumberIfAny("through")) {
    r.Add("tip down to be clean through", Kind::kLength, *through + point);
  }
  r.source = "geometry: D / 2 / tan(point / 2)";
  return r;
}

Result<Reckoned> Countersink(const Given& given) {
  const double large = given.Number("diameter");
  const double hole = given.Number("hole");
  if (hole >= large) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "hole",
                              ShowWithUnit(Kind::kLength, hole, given.unit()),
                              "the hole is as wide as its countersink", "give a smaller hole"));
  }
  Reckoned r;
  r.Add("down from touching the hole's edge", Kind::kLength,
        ConeDepth_mm(large, hole, given.Number("angle")));
  r.Add("down from a sharp point at the face", Kind::kLength,
        ConeDepth_mm(large, 0, given.Number("angle")));
  r.source = "geometry: (D - d) / 2 / tan(angle / 2)";
  return r;
}

Input Angle(std::string_view name, std::string_view fallback, std::string_view about) {
  return Usual(name, Kind::kAngle, fallback, about, 10 * kRadPerDeg, 179 * kRadPerDeg);
}
Input Efficiency() {
  return Usual("efficiency", Kind::kPercent, "80", "of drive and spindle (common practice)", 10,
               100);
}

std::vector<Input> SpeedInputs() {
  return {
      Material("material", "material of the work"),
      Choice("cut", "turn", "the cut",
             "turn turn_finish face_in_lathe bore part_off drill centre_drill ream tap counterbore "
             "mill_side mill_slot mill_face bore_in_mill"),
      Needs("diameter", Kind::kLength, "diameter of the work in the lathe, else of the cutter", 0.1,
            kMostDiameter_mm),
      Choice("edge", "hss", "the cutting edge", "hss carbide"),
      Takes("steps", Kind::kNumbers, "the machine's spindle speeds, rpm", 1, kMost_rpm),
      Takes("rpm-max", Kind::kTurns, "or its greatest, when it has no steps", 1, kMost_rpm),
      Takes("power", Kind::kPower, "power of its motor", 1, 1e6),
      Efficiency(),
      Usual("teeth", Kind::kCount, "4", "teeth of a mill", 1, 100),
      Takes("speed", Kind::kSurfaceSpeed, "cutting speed, when you have your own", 1, 2000),
      Takes("feed", Kind::kLength, "feed for each turn or tooth, when you have your own", 0.001,
            10),
      Takes("depth", Kind::kLength, "depth of the pass, when you have your own", 0.01, 100),
      Takes("width", Kind::kLength, "width of a mill's cut", 0.01, kMostDiameter_mm),
      Angle("approach", "90", "angle of the lathe tool's edge to its feed")};
}

}  // namespace

std::vector<Reckoning> CuttingEntries() {
  return {
      {"speed", "Spindle speed and feed on the machine's own steps, and the power they take.",
       "material=steel cut=turn diameter=25 steps=60,110,180,300,500,800,1200 power=370W depth=1",
       SpeedInputs(), Speed},
      {"drill-load",
       "Thrust, torque and power of a twist drill.",
       "material=steel diameter=8 feed=0.12 rpm=800",
       {Material("material", "material of the work"),
        Needs("diameter", Kind::kLength, "diameter of the drill", 0.5, 100),
        Needs("feed", Kind::kLength, "feed for each turn", 0.005, 2),
        Needs("rpm", Kind::kTurns, "spindle speed", 0, kMost_rpm),
        Usual("chisel", Kind::kNumber, "0.18",
              "chisel edge over the diameter: less with a thinned point", trade::kLeastChisel,
              trade::kMostChisel),
        Efficiency()},
       DrillLoad},
      {"drill-point",
       "How far a drill's point reaches below its full diameter.",
       "diameter=8 depth=20",
       {Needs("diameter", Kind::kLength, "diameter of the drill"),
        Angle("point", "118", "point angle"),
        Takes("depth", Kind::kLength, "depth wanted at full diameter", 0, kMostLength_mm),
        Takes("through", Kind::kLength, "thickness to go through", 0, kMostLength_mm)},
       DrillPoint},
      {"countersink",
       "How deep a countersink goes for its diameter.",
       "diameter=6.7 hole=3.4 angle=90",
       {Needs("diameter", Kind::kLength, "diameter wanted at the face"),
        Needs("hole", Kind::kLength, "diameter of the hole", 0, kMostLength_mm),
        Angle("angle", "90", "angle of the countersink")},
       Countersink},
  };
}

}  // namespace fitwright::reckon
