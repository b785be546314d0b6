// Work on the bench that cuts nothing: bonding and letting it cure, trial assemblies that are measured,
// the machine tried together at the end (whole_trial.h). Each is a setup of its own without contacts.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// The parts that a trial must hold so that the requirement's stack can be measured without `left_out`:
// all that stand on a shortest way of joints between any two of those it names (made and bought, in the
// machine's order). Slides and belts are no way.
std::vector<PartId> TrialParts(const Machine& machine, const Requirement& requirement, const PartId& left_out);

// Parts that bonded joints hold together, each group to be bonded at once; joints in the file's order.
struct BondGroup {
  std::vector<PartId> parts;
  std::vector<JointId> joints;
};
std::vector<BondGroup> FindBondGroups(const Machine& machine);

// "liner, body and valve plate".
std::string NamesOf(const std::vector<PartId>& parts);
Step WashStep(const std::vector<PartId>& parts, const std::string& words);
// The finest instrument of these kinds that covers the size; null where the shop has none.
const Instrument* FindInstrument(const Shop& shop, const std::vector<InstrumentKind>& kinds, double size_mm);

// Minutes that a bonded joint is left alone: its own, else kCureDefault_min.
inline constexpr double kCureDefault_min = 24 * 60;  // opinion: a day is enough for the usual kinds; the maker's sheet governs
double CureMinutes(const Joint& joint);

// From the face to the furthest one of its part that looks the other way.
double PieceLength_mm(const Machine& machine, const FeatureRef& face);

// What is said where the part is parted off, when a trial wants a shorter one in its place; empty when none does.
std::string ShortOneWords(const Machine& machine, const Subjects& subjects, const PartId& part);

// Steps of the bench setup that the sketch stands for.
std::vector<Step> BenchSteps(const Machine& machine, const Shop& shop, const Subjects& subjects, const SetupSketch& sketch);

// How the last face of a length that closes a stack is brought to what the trial showed: measure and words.
void SayClosing(const Machine& machine, const Shop& shop, const SuitPair& pair, Step& step);
// The trial again, now with the piece in: nothing where the requirement is not found.
std::vector<Step> ProveClosing(const Machine& machine, const Shop& shop, const SuitPair& pair);

}  // namespace fitwright::planner
