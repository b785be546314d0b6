#include "fitwright/planner/setup_words.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright::planner {

std::string MountWords(HoldingKind holding) {
  switch (holding) {
    case HoldingKind::kViseBedFirst:
    case HoldingKind::kViseJawFirst:
      return "Sweep the bare table with the head. Put the vise on, its keys and the table clean; run the indicator along the fixed jaw in x and clamp "
             "the vise where the needle stands still, then up it in z to know what it leans: more than 0.02 mm in 30 mm wants a shim behind its foot. ";
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

std::string DeburrWords(const Setup& setup, bool drilled_through) {
  const bool tapped = std::any_of(setup.steps.begin(), setup.steps.end(),
                                  [](const Step& s) { return s.operation == Operation::kTap; });
  const bool bored = std::any_of(setup.steps.begin(), setup.steps.end(),
                                 [](const Step& s) { return s.operation == Operation::kBore; });
  std::string words = "Take the burrs off the edges that were cut";
  if (bored) words += ", a scraper round the bore's mouth and round every edge inside it";
  if (tapped) words += ", a light turn of a countersink by hand in each tapped hole";
  if (IsPartedOff(setup)) {
    words += ", the spindle stopped and turned by hand, while the piece still runs true: it is cut off next.";
  } else {
    words += "; brush the chips away, then take it out.";
    if (drilled_through) words += " Burrs off where each drill came out, too: a light turn of a countersink by hand, a fine file or a scraper inside a gap, then drill, reamer or pin through once more.";
  }
  std::string faces;
  for (const Step& step : setup.steps) {
    if (step.operation != Operation::kFace) continue;
    for (const FeatureRef& ref : step.features) faces += (faces.empty() ? "" : ", ") + ref.feature.text();
  }
  if (!faces.empty() && setup.parts.size() == 1) words += fmt::format(" Pen on the new face what it is: {}.", faces);
  return words;
}

std::string DialWords(const MachineTool& machine, const Setup& setup, bool first) {
  if (machine.readout) return "";
  if (machine.kind == MachineToolKind::kLathe) {
    const char* once = " Where the collar counts the radius, halve the steps in X; Z by the top slide's dial or an indicator on the bed; thousandths are aimed at "
                       "and measured, not read off.";
    return std::string(" Hand dials: come in to each figure from half a turn out, the screw's lash taken up.") + (first ? once : "");
  }
  if (setup.zero.x_from.part.empty()) return "";
  const char* once = " Know each screw's lash (turn back until the table moves under the indicator); between touches from two sides take it off before halving; "
                     "count whole turns.";
  return std::string(" Hand dials: come to every place from the side that the zero was taken from, past it and back where it lies the other way; lock x and y "
                     "before the tool goes in.") + (first ? once : "");
}

}  // namespace fitwright::planner
