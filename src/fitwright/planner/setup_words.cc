#include "fitwright/planner/setup_words.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright::planner {

std::string MountWords(HoldingKind holding) {
  switch (holding) {
    case HoldingKind::kViseBedFirst:
    case HoldingKind::kViseJawFirst:
      return "Put the vise on the table, its keys and the table clean; run the indicator along the fixed jaw in x and clamp "
             "the vise where the needle stands still, then up it in z to know what it leans; sweep the table with the head. ";
    case HoldingKind::kThreeJaw:
    case HoldingKind::kThreeJawShort:
    case HoldingKind::kFourJaw:
      return "Put the chuck on, what it sits on wiped clean. ";
    case HoldingKind::kCollet:
      return "Put the collet holder on, taper and collet wiped clean; the collet's size is the work's. ";
    default:
      return "";
  }
}

bool IsPartedOff(const Setup& setup) {
  return !setup.steps.empty() && setup.steps.back().operation == Operation::kPartOff;
}

std::string DeburrWords(const Setup& setup) {
  const bool tapped = std::any_of(setup.steps.begin(), setup.steps.end(),
                                  [](const Step& s) { return s.operation == Operation::kTap; });
  const bool bored = std::any_of(setup.steps.begin(), setup.steps.end(),
                                 [](const Step& s) { return s.operation == Operation::kBore; });
  std::string words = "Take the burrs off the edges that were cut";
  if (bored) words += ", a scraper round the bore's mouth and round every edge inside it";
  if (tapped) words += ", a light turn of a countersink by hand in each tapped hole";
  words += IsPartedOff(setup) ? ", while it still turns true: it is cut off next." : "; brush the chips away, then take it out.";
  std::string faces;
  for (const Step& step : setup.steps) {
    if (step.operation != Operation::kFace) continue;
    for (const FeatureRef& ref : step.features) faces += (faces.empty() ? "" : ", ") + ref.feature.text();
  }
  if (!faces.empty() && setup.parts.size() == 1) words += fmt::format(" Pen on the new face what it is: {}.", faces);
  return words;
}

}  // namespace fitwright::planner
