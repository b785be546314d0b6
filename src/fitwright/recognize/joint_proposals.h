// Steps of the reading of joints. Internal to recognize/.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/recognize/joint_reading.h"
#include "fitwright/recognize/standing.h"

namespace fitwright::recognize {

using BodyPair = std::pair<std::size_t, std::size_t>;  // the lesser first
inline BodyPair PairOf(std::size_t a, std::size_t b) {
  return a < b ? BodyPair{a, b} : BodyPair{b, a};
}

struct Proposal {
  Joint joint;  // without a name; fixed and moving either way round
  std::size_t fixed = 0;
  std::size_t moving = 0;
  std::string why;
};

struct Contact {
  const Face* a = nullptr;
  const Face* b = nullptr;
  double area_mm2 = 0;
};

struct RoundPair {
  const Shaft* shaft = nullptr;
  const Bore* bore = nullptr;
  double gap_mm = 0;      // bore less shaft, at the middles of their limits
  double overlap_mm = 0;  // along the axis
};

// What the steps find, in their order.
struct Findings {
  const Standing& standing;
  const std::vector<PlacedScrew>& screws;
  std::vector<Proposal> proposals;
  std::set<FeatureRef> screwed;  // hole features that screws or pins take
  std::set<BodyPair> screwed_together;
  std::set<BodyPair> pinned;
  std::set<std::size_t> in_grooves;  // rings
  std::set<std::size_t> gaskets;
  std::vector<Contact> contacts;
  std::vector<RoundPair> rounds;  // the closest fit of two bodies about one line
  std::vector<BoughtPart> belts;
  std::vector<ProposedThread> threads;
};

std::string MmWords(double mm);
// A thread for a plain hole at its tap drill's size, of the coarse series in the unit of the sheet; with full
// thread as deep as a plug tap leaves it. Nothing where no tap drill is that large.
std::optional<InternalThread> ThreadByDrill(const Hole& hole, LengthUnit unit);

void FindScrews(Findings& found);
void FindContacts(Findings& found);
void FindRounds(Findings& found);
void FindPins(Findings& found);
void FindRings(Findings& found);
void FindBelts(const Machine& machine, Findings& found);
void ProposeRounds(Findings& found);
void ProposeFaces(Findings& found);

struct RequirementProposal {
  Requirement requirement;  // without a name
  std::string stem;         // of its name
  std::string why;
};
void ProposeEndFloat(const Findings& found, std::vector<RequirementProposal>& proposals);
std::vector<RequirementProposal> ProposeRequirements(const Findings& found);

}  // namespace fitwright::recognize
