#include "fitwright/recognize/joint_reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>

#include "fitwright/recognize/joint_proposals.h"

namespace fitwright::recognize {
namespace {

// How many other bodies each one meets.
std::map<std::size_t, std::set<std::size_t>> Neighbours(const Findings& found) {
  std::map<std::size_t, std::set<std::size_t>> meets;
  for (const Proposal& p : found.proposals) {
    meets[p.fixed].insert(p.moving);
    meets[p.moving].insert(p.fixed);
  }
  return meets;
}

double VolumeOf(const Body& body) { return body.box_P.size_mm().prod(); }

// Steps from the body that most others meet; the larger of equals, then the first.
std::vector<int> StepsFromBase(const Findings& found) {
  const auto& bodies = found.standing.bodies;
  const auto meets = Neighbours(found);
  std::vector<int> steps(bodies.size(), -1);
  while (true) {
    std::optional<std::size_t> base;
    const auto count = [&](std::size_t i) { return meets.contains(i) ? meets.at(i).size() : 0; };
    for (std::size_t i = 0; i < bodies.size(); ++i) {
      if (steps[i] >= 0) continue;
      const bool more =
          !base || count(i) > count(*base) ||
          (count(i) == count(*base) && VolumeOf(bodies[i]) > VolumeOf(bodies[*base]) * (1 + 1e-9));
      if (more) base = i;
    }
    if (!base) return steps;
    steps[*base] = 0;
    for (std::deque<std::size_t> open{*base}; !open.empty(); open.pop_front()) {
      if (!meets.contains(open.front())) continue;
      for (const std::size_t next : meets.at(open.front())) {
        if (steps[next] >= 0) continue;
        steps[next] = steps[open.front()] + 1;
        open.push_back(next);
      }
    }
  }
}

// fixed nearer to the base, else the larger.
void Orient(const Standing& standing, const std::vector<int>& steps, Proposal& p) {
  const bool turned =
      steps[p.moving] < steps[p.fixed] ||
      (steps[p.moving] == steps[p.fixed] &&
       VolumeOf(standing.bodies[p.moving]) > VolumeOf(standing.bodies[p.fixed]) * (1 + 1e-9));
  if (!turned) return;
  std::swap(p.fixed, p.moving);
  std::swap(p.joint.fixed, p.joint.moving);
  // `between` stays from the head down: it is the same holes whichever part is called fixed.
}

// What a joint of the kind is called behind its part's name.
std::string_view EndingOf(JointKind kind) {
  switch (kind) {
    case JointKind::kScrewedPattern:
      return "screws";
    case JointKind::kPinned:
      return "pin";
    case JointKind::kFaceContact:
      return "face";
    case JointKind::kGasketedFace:
      return "seal";
    case JointKind::kBearingSeat:
    case JointKind::kBearingOnShaft:
      return "seat";
    case JointKind::kRingInGroove:
      return "groove";
    case JointKind::kBelt:
      return "belt";
    case JointKind::kSpigotInBore:
    case JointKind::kPressFit:
    case JointKind::kRunningFit:
    case JointKind::kSliderInBore:
    case JointKind::kBonded:
    case JointKind::kHubOnShaft:
      return "fit";
  }
  return "joint";
}

// A name not given yet, at most 64 letters of which copies' marks are none.
std::string FreeName(std::string wanted, std::set<std::string>& taken) {
  std::replace(wanted.begin(), wanted.end(), '#', '_');
  constexpr std::size_t kLongest = 58;
  if (wanted.size() > kLongest) wanted.resize(kLongest);
  std::string name = wanted;
  for (int n = 2; !taken.insert(name).second; ++n) name = fmt::format("{}_{}", wanted, n);
  return name;
}

void TakeJoints(Findings& found, JointReading& reading) {
  const auto steps = StepsFromBase(found);
  std::set<std::string> taken;
  for (Proposal& p : found.proposals) {
    Orient(found.standing, steps, p);
    p.joint.name = JointId(
        FreeName(fmt::format("{}_{}", p.joint.moving.part.text(), EndingOf(p.joint.kind)), taken));
    reading.inferred.push_back({"joints." + p.joint.name.text(), p.why});
    reading.joints.push_back(p.joint);
  }
}

void TakeRequirements(const Findings& found, JointReading& reading) {
  std::set<std::string> taken;
  for (RequirementProposal& p : ProposeRequirements(found)) {
    const std::string stem = fmt::format("{}_{}", p.requirement.a.part.text(), p.stem);
    p.requirement.name = RequirementId(FreeName(stem, taken));
    if (p.requirement.kind == RequirementKind::kEndFloat)
      p.requirement.a = {};  // it was for the name
    reading.inferred.push_back({"requirements." + p.requirement.name.text(), p.why});
    reading.requirements.push_back(std::move(p.requirement));
  }
}

}  // namespace

JointReading ReadJoints(const Machine& machine, const std::vector<PlacedScrew>& screws) {
  const Standing standing = StandUp(machine);
  Findings found{standing, screws, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}};
  FindScrews(found);
  FindContacts(found);
  FindRounds(found);
  FindPins(found);
  FindRings(found);
  FindBelts(machine, found);
  ProposeRounds(found);
  ProposeFaces(found);
  JointReading reading;
  TakeJoints(found, reading);
  TakeRequirements(found, reading);
  for (const BoughtPart& belt : found.belts) {
    reading.inferred.push_back(
        {"bought." + belt.part.name.text(), "two round grooves about parallel axes call for it"});
  }
  reading.bought = std::move(found.belts);
  reading.threads = std::move(found.threads);
  return reading;
}

}  // namespace fitwright::recognize
