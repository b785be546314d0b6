#include "fitwright/planner/tool_choice.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/trade/drills.h"
#include "fitwright/trade/fits.h"

namespace fitwright::planner {
namespace {

constexpr double kSameDiameter_mm = 1e-6;
constexpr double kReach_mm = 1e-6;   // rounding noise of depths
constexpr double kPowerShare = 0.6;  // of the motor's power, the rest is lost in belts and gears
constexpr double kFeedPower = 0.8;   // exponent of the feed in a drill's power (trade/cutting.h)
constexpr double kLeastFeedShare = 0.35;  // feeding less than this share rubs
constexpr double kFastest = 1.6;          // share of the wished speed that still cuts, if briefly
constexpr double kSingleDrill_mm = 10;  // drilled at one go after spotting (opinion; 13 where easy)
constexpr double kSingleDrillEasy_mm = 13;

bool IsEasy(const trade::Material& material) {
  using K = trade::MaterialKind;
  return material.kind == K::kAluminium || material.kind == K::kBrass ||
         material.kind == K::kCastIron;
}

bool IsMillKind(ToolKind kind) {
  return kind == ToolKind::kEndMill || kind == ToolKind::kSlotDrill;
}

const Tool* BestOf(const Shop& shop, const MachineTool& machine,
                   const std::function<bool(const Tool&)>& fits,
                   const std::function<double(const Tool&)>& rank) {
  const Tool* best = nullptr;
  double best_rank = 0;
  for (const Tool& tool : shop.tools) {
    if (!GoesOn(tool, machine) || !fits(tool)) continue;
    const double r = rank(tool);
    if (best != nullptr && r >= best_rank) continue;
    best = &tool;
    best_rank = r;
  }
  return best;
}

bool IsMilling(trade::CutKind kind) {
  using K = trade::CutKind;
  return kind == K::kMillSide || kind == K::kMillSlot || kind == K::kMillFace;
}

bool IsTurning(trade::CutKind kind) {
  using K = trade::CutKind;
  return kind == K::kTurn || kind == K::kTurnFinish || kind == K::kFaceInLathe || kind == K::kBore;
}

// W at the cutter.
double PowerOf(const trade::Material& material, const trade::CutData& data, const CutWish& wish,
               const CutSettings& s, double depth_mm) {
  if (IsMilling(wish.kind)) {
    const double width = wish.width_mm > 0 ? wish.width_mm : wish.diameter_mm;
    const double chip = std::max(0.01, data.feed_mm);
    const double specific_MPa = material.kc11_MPa * std::pow(chip, -material.mc);
    return specific_MPa * depth_mm * width * s.feed_mm_min / 60e3;
  }
  if (IsTurning(wish.kind)) {
    const double force = trade::CuttingForce_N(material, depth_mm, data.feed_mm, kPi / 2);
    return trade::CuttingPower_W(force, trade::CuttingSpeed_m_min(s.rpm, wish.diameter_mm));
  }
  if (wish.kind == trade::CutKind::kDrill) {
    return trade::CalcDrillLoad(material, wish.diameter_mm, data.feed_mm, s.rpm).power_W;
  }
  return 0;
}

}  // namespace

bool GoesOn(const Tool& tool, const MachineTool& machine) {
  if (tool.on == "hand") return machine.kind == MachineToolKind::kBench;
  if (machine.kind == MachineToolKind::kBench) return tool.kind == ToolKind::kHone;
  if (tool.on == "any") return true;
  if (machine.kind == MachineToolKind::kLathe) return tool.on == "lathe";
  return machine.kind == MachineToolKind::kMill && tool.on == "mill";
}

bool LongEnough(const Tool& tool, const Reach& reach) {
  return tool.flute_mm + kReach_mm >= reach.cut_mm && tool.stick_out_mm + kReach_mm >= reach.out_mm;
}

const Tool* FindTool(const Shop& shop, const MachineTool& machine, ToolKind kind,
                     const std::function<bool(const Tool&)>& fits,
                     const std::function<double(const Tool&)>& rank) {
  return BestOf(
      shop, machine, [&](const Tool& t) { return t.kind == kind && fits(t); }, rank);
}

const Tool* FindDrillWithin(const Shop& shop, const MachineTool& machine, double wanted_mm,
                            double lower_mm, double upper_mm, double point_deg,
                            const Reach& reach) {
  return FindTool(
      shop, machine, ToolKind::kDrill,
      [&](const Tool& t) {
        return t.diameter_mm >= lower_mm - kSameDiameter_mm &&
               t.diameter_mm <= upper_mm + kSameDiameter_mm &&
               (point_deg == 0 || std::abs(t.point_deg - point_deg) < 0.01) && LongEnough(t, reach);
      },
      [&](const Tool& t) { return std::abs(t.diameter_mm - wanted_mm); });
}

const Tool* FindDrill(const Shop& shop, const MachineTool& machine, double diameter_mm,
                      double point_deg, const Reach& reach) {
  return FindDrillWithin(shop, machine, diameter_mm, diameter_mm, diameter_mm, point_deg, reach);
}

const Tool* FindLargestDrill(const Shop& shop, const MachineTool& machine, double most_mm,
                             const Reach& reach) {
  return FindTool(
      shop, machine, ToolKind::kDrill,
      [&](const Tool& t) {
        return t.diameter_mm <= most_mm + kSameDiameter_mm && LongEnough(t, reach);
      },
      [](const Tool& t) { return -t.diameter_mm; });
}

const Tool* FindPlungeMill(const Shop& shop, const MachineTool& machine, double diameter_mm,
                           const Reach& reach) {
  return FindMill(shop, machine, diameter_mm, diameter_mm, true, reach);
}

const Tool* FindMill(const Shop& shop, const MachineTool& machine, double least_mm, double most_mm,
                     bool centre_cutting, const Reach& reach) {
  return BestOf(
      shop, machine,
      [&](const Tool& t) {
        return IsMillKind(t.kind) && t.diameter_mm >= least_mm - kSameDiameter_mm &&
               t.diameter_mm <= most_mm + kSameDiameter_mm &&
               (!centre_cutting || t.centre_cutting) && LongEnough(t, reach);
      },
      // Largest; of one size the shortest, which is the stiffest.
      [](const Tool& t) { return -1000 * t.diameter_mm + t.flute_mm; });
}

const Tool* FindReamer(const Shop& shop, const MachineTool& machine, double nominal_mm,
                       const std::string& fit, double lower_mm, double upper_mm) {
  return FindTool(
      shop, machine, ToolKind::kReamer,
      [&](const Tool& t) {
        if (!fit.empty() && t.fit == fit)
          return std::abs(t.diameter_mm - nominal_mm) < kSameDiameter_mm;
        const auto limits = trade::FindFit(t.diameter_mm, t.fit);
        return limits && t.diameter_mm + limits->lower_mm >= lower_mm - kSameDiameter_mm &&
               t.diameter_mm + limits->upper_mm <= upper_mm + kSameDiameter_mm;
      },
      [&](const Tool& t) { return std::abs(t.diameter_mm - nominal_mm); });
}

std::vector<const Tool*> StepDrills(const Shop& shop, const MachineTool& machine,
                                    const trade::Material& material, double last_mm,
                                    const Reach& reach) {
  const double single_mm = IsEasy(material) ? kSingleDrillEasy_mm : kSingleDrill_mm;
  std::vector<const Tool*> drills;
  double next_mm = last_mm;
  while (next_mm > single_mm) {
    const Tool* drill = FindLargestDrill(shop, machine, 0.55 * next_mm, reach);
    if (drill == nullptr || drill->diameter_mm < 0.2 * next_mm) break;
    drills.insert(drills.begin(), drill);
    next_mm = drill->diameter_mm;
  }
  return drills;
}

std::optional<CutSettings> ChooseSettings(const MachineTool& machine,
                                          const trade::Material& material, const Tool& tool,
                                          const CutWish& wish) {
  FW_CHECK(wish.diameter_mm > 0, tool.name.text(), wish.diameter_mm);
  const auto edge = tool.carbide ? trade::EdgeMaterial::kCarbide : trade::EdgeMaterial::kHss;
  trade::CutData data = trade::CutDataFor(material, wish.kind, edge, wish.diameter_mm);
  const double wanted_rpm = trade::SpeedFor_rpm(data.speed_m_min, wish.diameter_mm);
  double most_rpm = tool.rpm_max;
  if (wish.rpm_most > 0)
    most_rpm = most_rpm > 0 ? std::min(most_rpm, wish.rpm_most) : wish.rpm_most;
  CutSettings s;
  const auto step = trade::MachineSpeed_rpm(machine.speeds_rpm, wanted_rpm, most_rpm);
  if (step) {
    s.rpm = *step;
  } else {
    if (machine.speeds_rpm.empty()) return std::nullopt;
    s.rpm = machine.speeds_rpm.front();
    s.faster_than_wished = true;
    if (s.rpm > kFastest * wanted_rpm || (tool.rpm_max > 0 && s.rpm > tool.rpm_max))
      return std::nullopt;
  }
  const double budget_W = machine.power_W > 0 ? kPowerShare * machine.power_W : 1e9;
  s.depth_mm = data.depth_mm;
  s.feed_mm_min = trade::FeedRate_mm_min(data, s.rpm, std::max(1, tool.teeth), wish.pitch_mm);
  if (machine.feed_max_mm_min > 0 && s.feed_mm_min > machine.feed_max_mm_min) {
    data.feed_mm *= machine.feed_max_mm_min / s.feed_mm_min;
    s.feed_mm_min = machine.feed_max_mm_min;
  }
  if (s.depth_mm > 0) {
    const double watts = PowerOf(material, data, wish, s, s.depth_mm);
    if (watts > budget_W) s.depth_mm *= budget_W / watts;
    return s;
  }
  // A drill's power is lowered by feeding less (power grows with feed^0.8), then by the next slower
  // step.
  const double full_feed_mm = data.feed_mm;
  for (auto it = machine.speeds_rpm.rbegin(); it != machine.speeds_rpm.rend(); ++it) {
    if (*it > s.rpm) continue;
    s.rpm = *it;
    data.feed_mm = full_feed_mm;
    const double watts = PowerOf(material, data, wish, s, 0);
    const double share = watts > budget_W ? std::pow(budget_W / watts, 1 / kFeedPower) : 1;
    data.feed_mm = full_feed_mm * std::max(share, kLeastFeedShare);
    if (share >= kLeastFeedShare) break;
  }
  s.feed_mm_min = trade::FeedRate_mm_min(data, s.rpm, std::max(1, tool.teeth), wish.pitch_mm);
  return s;
}

std::vector<double> PassLevels(double total_mm, double pass_mm, double finish_mm) {
  std::vector<double> levels;
  if (total_mm <= 0) return {0};
  const double pass = pass_mm > 0 ? pass_mm : total_mm;
  const double finish = total_mm > finish_mm ? finish_mm : 0;
  const double rough = total_mm - finish;
  const int count = std::max(1, static_cast<int>(std::ceil(rough / pass - 1e-9)));
  for (int i = 1; i <= count; ++i) levels.push_back(rough * i / count);
  if (finish > 0) levels.push_back(total_mm);
  levels.back() = total_mm;
  return levels;
}

const Tool* FindCentreDrill(const Shop& shop, const MachineTool& machine, double outside_mm) {
  constexpr double kRimShare = 0.8;  // of the bar, for the mouth; opinion
  return FindTool(
      shop, machine, ToolKind::kCentreDrill,
      [&](const Tool& t) { return trade::kCentreDrillMouth * t.diameter_mm <= kRimShare * outside_mm; },
      [](const Tool& t) { return -t.diameter_mm; });
}

double CentreDepth_mm(const Tool& centre_drill) {
  constexpr double kShare = 0.9;
  return kShare * centre_drill.flute_mm;
}

}  // namespace fitwright::planner
