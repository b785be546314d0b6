// Which of the shop's tools fits a cut, and the speed, feed and depth of pass that the machine's
// steps and power allow. mm, rpm, mm/min.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/shop.h"
#include "fitwright/trade/cutting.h"
#include "fitwright/trade/materials.h"

namespace fitwright::planner {

// What a cut asks of a spindle tool.
struct Reach {
  double cut_mm = 0;  // cutting length: the tip stands this deep in material
  double out_mm = 0;  // tip to holder: the tip stands this deep below the highest thing beside it
};

bool GoesOn(const Tool& tool, const MachineTool& machine);
bool LongEnough(const Tool& tool, const Reach& reach);

// The tool of `kind` that goes on the machine, passes `fits` and has the least `rank`; ties go to
// the earlier in the shop's list. Null when there is none.
const Tool* FindTool(const Shop& shop, const MachineTool& machine, ToolKind kind,
                     const std::function<bool(const Tool&)>& fits,
                     const std::function<double(const Tool&)>& rank);

// Drill of just this diameter and point (0 = any point).
const Tool* FindDrill(const Shop& shop, const MachineTool& machine, double diameter_mm,
                      double point_deg, const Reach& reach);
// Drill nearest to wanted_mm within lower..upper.
const Tool* FindDrillWithin(const Shop& shop, const MachineTool& machine, double wanted_mm,
                            double lower_mm, double upper_mm, double point_deg, const Reach& reach);
const Tool* FindLargestDrill(const Shop& shop, const MachineTool& machine, double most_mm,
                             const Reach& reach);
// Flat, centre-cutting cutter of just this diameter (end mill or slot drill), the stiffest first.
const Tool* FindPlungeMill(const Shop& shop, const MachineTool& machine, double diameter_mm,
                           const Reach& reach);
// Largest flat cutter with least_mm <= diameter <= most_mm, centre cutting when asked for.
const Tool* FindMill(const Shop& shop, const MachineTool& machine, double least_mm, double most_mm,
                     bool centre_cutting, const Reach& reach);
// Reamer whose own tolerance lies inside the limits; nominal_mm is the reamer's mark.
const Tool* FindReamer(const Shop& shop, const MachineTool& machine, double nominal_mm,
                       const std::string& fit, double lower_mm, double upper_mm);
// Largest centre drill whose mouth leaves a rim on a bar of this diameter. Null when there is
// none.
const Tool* FindCentreDrill(const Shop& shop, const MachineTool& machine, double outside_mm);
inline constexpr double kLargestDrill_mm = 25;  // wider holes are bored out after it

// How deep it goes for a centre to turn on: through the pilot and into the cone, most of the cutting length.
double CentreDepth_mm(const Tool& centre_drill);
// Drills before the last one, so that no drill takes more than its chisel edge and the spindle can
// bear.
std::vector<const Tool*> StepDrills(const Shop& shop, const MachineTool& machine,
                                    const trade::Material& material, double last_mm,
                                    const Reach& reach);

struct CutSettings {
  double rpm = 0;
  double feed_mm_min = 0;
  double depth_mm = 0;              // of one pass; 0 where the kind has none
  bool faster_than_wished = false;  // the slowest step of the machine is above the wished speed
};

struct CutWish {
  trade::CutKind kind = trade::CutKind::kDrill;
  double diameter_mm = 1;  // of the cutter, or of the work on the lathe
  double width_mm = 0;     // milling: engaged width; 0 = the cutter's diameter
  double pitch_mm = 0;     // taps
  double rpm_most = 0;     // 0 = no limit beside tool and machine
};

// Largest step at or below the wished speed, feed on it, depth of pass held to 60 % of the
// machine's power. None when even the slowest step runs the tool at more than 1.6 times the wished
// speed.
std::optional<CutSettings> ChooseSettings(const MachineTool& machine,
                                          const trade::Material& material, const Tool& tool,
                                          const CutWish& wish);

// Depths of the passes from 0 to total (last = total), roughing at most pass_mm each, the last of
// finish_mm when there is more than one.
std::vector<double> PassLevels(double total_mm, double pass_mm, double finish_mm);

}  // namespace fitwright::planner
