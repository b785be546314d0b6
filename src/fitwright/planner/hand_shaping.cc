#include "fitwright/planner/hand_shaping.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright::planner {
namespace {

// Minutes, opinions: filing by hand, whatever the metal.
constexpr double kMarkOutline_min = 15;
constexpr double kFile_min_per_cm3 = 10;
constexpr double kFinish_min_per_cm2 = 3;
constexpr double kLookOver_min = 5;

double Minutes(const UnreadRegion& region) {
  return kMarkOutline_min + kFile_min_per_cm3 * region.volume_mm3 / 1000 +
         kFinish_min_per_cm2 * region.area_mm2 / 100;
}

std::string FacesText(const UnreadRegion& region) {
  std::string text = region.faces.size() == 1 ? "face " : "faces ";
  constexpr std::size_t kMost = 6;
  for (std::size_t i = 0; i < std::min(region.faces.size(), kMost); ++i)
    text += fmt::format("{}{}", i > 0 ? ", " : "", region.faces[i] + 1);
  return text + (region.faces.size() > kMost ? " and more" : "");
}

Step ShapeStep(const Part& part, const UnreadRegion& region) {
  Step step;
  step.operation = Operation::kByHand;
  step.parts = {part.name};
  step.words = fmt::format(
      "Shape by hand what the sheet does not say: {} of the file's solid, {:.0f} mm2, {:.3g} mm3 ({}). Mark it out from "
      "parts/{}.step, saw and file to the lines; where that will not do, send the piece out with the file.",
      FacesText(region), region.area_mm2, region.volume_mm3, region.why, part.name.text());
  step.time_min = Minutes(region);
  return step;
}

Setup ShapeByHand(const Part& part, const MachineTool& bench) {
  Setup setup;
  setup.machine = bench.name;
  setup.holding = HoldingKind::kBench;
  setup.parts.push_back({part.name, Pose::Identity(), true});
  setup.hold_words = "On the bench, in soft jaws; nothing that is finished is gripped hard.";
  for (const UnreadRegion& region : part.unread) setup.steps.push_back(ShapeStep(part, region));
  Step look;
  look.operation = Operation::kDeburr;
  look.parts = {part.name};
  look.words = fmt::format("Look {} over against the file's solid: nothing proves these places, the odds do not hold them.", part.name.text());
  look.time_min = kLookOver_min;
  setup.steps.push_back(look);
  setup.cautions.push_back("These shapes are in no odds and in no proof: where one of them must fit something, say it in the sheet as a feature.");
  return setup;
}

}  // namespace

std::vector<Setup> HandShaping(const Machine& machine, const Shop& shop) {
  const auto bench = std::find_if(shop.machines.begin(), shop.machines.end(),
                                  [](const MachineTool& tool) { return tool.kind == MachineToolKind::kBench; });
  std::vector<Setup> setups;
  if (bench == shop.machines.end()) return setups;
  for (const Part& part : machine.parts) {
    if (!part.unread.empty() && machine.FindUse(part.name) != nullptr) setups.push_back(ShapeByHand(part, *bench));
  }
  return setups;
}

std::vector<std::string> HandShapingAssumed(const Machine& machine) {
  std::vector<std::string> assumed;
  for (const Part& part : machine.parts) {
    if (part.unread.empty()) continue;
    double minutes = 0;
    for (const UnreadRegion& region : part.unread) minutes += Minutes(region);
    assumed.push_back(fmt::format(
        "{}: {} not understood, shaped by hand in {:.0f} min: {:.0f} min to mark out, {:.0f} for each cm3 and {:.0f} for each cm2 (opinion).",
        part.name.text(), part.unread.size() == 1 ? "a region" : fmt::format("{} regions", part.unread.size()), minutes, kMarkOutline_min,
        kFile_min_per_cm3, kFinish_min_per_cm2));
  }
  return assumed;
}

}  // namespace fitwright::planner
