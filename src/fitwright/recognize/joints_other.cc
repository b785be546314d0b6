// Faces that touch, pins, rings in grooves, belts.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/joint_proposals.h"

namespace fitwright::recognize {
namespace {

constexpr double kLeastContact_mm2 = 1;

bool RunOn(const Bore& a, const Bore& b) {
  const Vec3& way = a.axis_W.direction;
  const double entry_mm = (b.axis_W.point_mm - a.axis_W.point_mm).dot(way);
  const double end_mm = entry_mm + b.depth_mm * b.axis_W.direction.dot(way);
  const double from_mm = std::min(entry_mm, end_mm);
  const double to_mm = std::max(entry_mm, end_mm);
  constexpr double kApart_mm = 0.5;
  return from_mm < a.depth_mm + kApart_mm && to_mm > -kApart_mm;
}

// Some shaft stands in both on their line: it is what they are for.
bool HoldOneShaft(const Findings& found, const Bore& a, const Bore& b) {
  const auto on = [&](const Bore& bore, std::size_t body) {
    return std::any_of(found.rounds.begin(), found.rounds.end(), [&](const RoundPair& pair) {
      return pair.shaft->body == body && pair.bore->ref == bore.ref;
    });
  };
  return std::any_of(found.rounds.begin(), found.rounds.end(), [&](const RoundPair& pair) {
    return (pair.bore->ref == a.ref && on(b, pair.shaft->body));
  });
}

bool CouldBePinned(const Findings& found, const Bore& a, const Bore& b) {
  constexpr double kAlike_mm = 0.02;
  constexpr double kLargestPin_mm = 20;
  const double size_mm = a.diameter.middle_mm();
  return a.body != b.body && !a.hole->thread && !b.hole->thread && a.places == b.places &&
         size_mm <= kLargestPin_mm && std::abs(size_mm - b.diameter.middle_mm()) < kAlike_mm &&
         OnOneLine(a.axis_W, b.axis_W) && !found.screwed.contains(a.ref) &&
         !found.screwed.contains(b.ref) && RunOn(a, b) && !HoldOneShaft(found, a, b);
}

// Every place of a's feature has its partner in b's.
bool AllLinedUp(const Findings& found, const Bore& a, const Bore& b) {
  return std::all_of(
      found.standing.bores.begin(), found.standing.bores.end(), [&](const Bore& one) {
        if (one.ref != a.ref) return true;
        return std::any_of(
            found.standing.bores.begin(), found.standing.bores.end(),
            [&](const Bore& two) { return two.ref == b.ref && OnOneLine(one.axis_W, two.axis_W); });
      });
}

// A shaft that runs along the pin's line and fills both holes is a pin that the file has.
std::optional<Size> PinOf(const Standing& standing, const Bore& a) {
  for (const Body& body : standing.bodies) {
    if (body.bought == nullptr || body.bought->kind != BoughtKind::kPin) continue;
    const Feature* outside = body.part->Find(FeatureId("outside"));
    const auto* outer = outside == nullptr ? nullptr : std::get_if<OuterDiameter>(&outside->shape);
    if (outer == nullptr) continue;
    const Axis3 axis{body.X_WP * outer->axis_P.point_mm,
                     body.X_WP.linear() * outer->axis_P.direction};
    if (OnOneLine(axis, a.axis_W)) return outer->diameter;
  }
  return std::nullopt;
}

struct GrooveFit {
  const Shaft* shaft = nullptr;
  const StandingGroove* groove = nullptr;
};

// The shaft's body is a ring inside the groove's width that reaches into the groove.
bool SitsIn(const Standing& standing, const Shaft& shaft, const StandingGroove& groove) {
  if (shaft.body == groove.body || !OnOneLine(shaft.axis_W, groove.axis_W)) return false;
  const double sense = shaft.axis_W.direction.dot(groove.axis_W.direction);
  const double base_mm =
      (shaft.axis_W.point_mm - groove.axis_W.point_mm).dot(groove.axis_W.direction);
  const double from_mm = base_mm + std::min(sense * shaft.from_mm, sense * shaft.to_mm);
  const double to_mm = base_mm + std::max(sense * shaft.from_mm, sense * shaft.to_mm);
  if (from_mm < groove.from_mm - kMeant_mm || to_mm > groove.to_mm + kMeant_mm)
    return false;
  const double floor_mm = groove.groove->diameter.middle_mm();
  if (groove.groove->internal) {
    return shaft.diameter.middle_mm() > groove.surface_mm &&
           shaft.diameter.middle_mm() < floor_mm + 0.5;
  }
  return std::any_of(standing.bores.begin(), standing.bores.end(), [&](const Bore& bore) {
    return bore.body == shaft.body && OnOneLine(bore.axis_W, groove.axis_W) &&
           bore.diameter.middle_mm() < groove.surface_mm &&
           bore.diameter.middle_mm() > floor_mm - 0.5;
  });
}

std::string BeltName(const Machine& machine, const Findings& found) {
  std::string name = "belt";
  const auto taken = [&] {
    return machine.FindPart(PartId(name)) != nullptr ||
           machine.FindBought(PartId(name)) != nullptr ||
           std::any_of(found.belts.begin(), found.belts.end(),
                       [&](const BoughtPart& b) { return b.part.name.text() == name; });
  };
  for (int n = 2; taken(); ++n) name = fmt::format("belt_{}", n);
  return name;
}

// The machine's own belt where it has exactly one, else a new one as wide as the grooves.
PartId BeltFor(const Machine& machine, const StandingGroove& a, const StandingGroove& b, double apart_mm,
               Findings& found) {
  const auto is_belt = [](const BoughtPart& part) { return part.kind == BoughtKind::kBelt; };
  if (std::count_if(machine.bought.begin(), machine.bought.end(), is_belt) == 1) {
    return std::find_if(machine.bought.begin(), machine.bought.end(), is_belt)->part.name;
  }
  BoughtPart belt;
  belt.part.name = PartId(BeltName(machine, found));
  belt.kind = BoughtKind::kBelt;
  belt.section_mm = a.to_mm - a.from_mm;
  // Along the middle of a round section; the usual sum for an open belt.
  const double one_mm = a.groove->diameter.middle_mm() + belt.section_mm;
  const double two_mm = b.groove->diameter.middle_mm() + belt.section_mm;
  const double diff_mm = one_mm - two_mm;
  belt.pitch_length_mm =
      2 * apart_mm + 0.5 * kPi * (one_mm + two_mm) + diff_mm * diff_mm / (4 * apart_mm);
  belt.what = fmt::format("round belt {}", MmWords(belt.section_mm));
  belt.why = "runs in the two grooves";
  found.belts.push_back(belt);
  return belt.part.name;
}

}  // namespace

void FindContacts(Findings& found) {
  const auto& faces = found.standing.faces;
  for (std::size_t i = 0; i < faces.size(); ++i) {
    for (std::size_t k = i + 1; k < faces.size(); ++k) {
      const Face& a = faces[i];
      const Face& b = faces[k];
      if (a.body == b.body || a.normal_W.dot(b.normal_W) > -1 + kSameWay) continue;
      if (std::abs(GapBetween_mm(a, b)) > kMeant_mm) continue;
      const double area_mm2 = FacingArea_mm2(found.standing, a, b);
      if (area_mm2 >= kLeastContact_mm2) found.contacts.push_back({&a, &b, area_mm2});
    }
  }
}

void ProposeFaces(Findings& found) {
  for (const Contact& contact : found.contacts) {
    Proposal proposal;
    proposal.fixed = contact.a->body;
    proposal.moving = contact.b->body;
    const bool sealed =
        found.gaskets.contains(contact.a->body) || found.gaskets.contains(contact.b->body);
    proposal.joint.kind = sealed ? JointKind::kGasketedFace : JointKind::kFaceContact;
    proposal.joint.fixed = contact.a->ref;
    proposal.joint.moving = contact.b->ref;
    proposal.why = fmt::format("the two faces touch over about {:.0f} mm2{}", contact.area_mm2,
                               sealed ? ", and one of them is a sheet between screwed parts" : "");
    found.proposals.push_back(std::move(proposal));
  }
}

void FindPins(Findings& found) {
  const auto& bores = found.standing.bores;
  std::set<FeatureRef> taken;
  for (std::size_t i = 0; i < bores.size(); ++i) {
    for (std::size_t k = i + 1; k < bores.size(); ++k) {
      const Bore& a = bores[i];
      const Bore& b = bores[k];
      if (a.place != 0 || !CouldBePinned(found, a, b) || !AllLinedUp(found, a, b)) continue;
      Proposal proposal;
      proposal.fixed = a.body;
      proposal.moving = b.body;
      proposal.joint.kind = JointKind::kPinned;
      proposal.joint.fixed = a.ref;
      proposal.joint.moving = b.ref;
      proposal.joint.pin = PinOf(found.standing, a);
      proposal.why = fmt::format(
          "plain holes of {} of both parts on the same lines, and no shaft through them",
          MmWords(a.diameter.middle_mm()));
      found.pinned.insert(PairOf(a.body, b.body));
      taken.insert({a.ref, b.ref});
      found.proposals.push_back(std::move(proposal));
    }
  }
  found.screwed.insert(taken.begin(), taken.end());
}

void FindRings(Findings& found) {
  for (const Shaft& shaft : found.standing.shafts) {
    for (const StandingGroove& groove : found.standing.grooves) {
      if (groove.groove->undercut || !SitsIn(found.standing, shaft, groove)) continue;
      Proposal proposal;
      proposal.fixed = groove.body;
      proposal.moving = shaft.body;
      proposal.joint.kind = JointKind::kRingInGroove;
      proposal.joint.fixed = groove.ref;
      proposal.joint.moving = shaft.ref;
      proposal.why =
          fmt::format("a ring {} wide that stands in a groove {} wide",
                      MmWords(shaft.to_mm - shaft.from_mm), MmWords(groove.to_mm - groove.from_mm));
      found.in_grooves.insert(shaft.body);
      found.proposals.push_back(std::move(proposal));
    }
  }
}

void FindBelts(const Machine& machine, Findings& found) {
  const auto& grooves = found.standing.grooves;
  for (std::size_t i = 0; i < grooves.size(); ++i) {
    for (std::size_t k = i + 1; k < grooves.size(); ++k) {
      const StandingGroove& a = grooves[i];
      const StandingGroove& b = grooves[k];
      const bool round =
          a.groove->profile == GrooveProfile::kRound && b.groove->profile == GrooveProfile::kRound;
      if (a.body == b.body || !round || a.groove->internal || b.groove->internal) continue;
      if (!AreParallel(a.axis_W.direction, b.axis_W.direction)) continue;
      const Vec3 apart = b.axis_W.point_mm + 0.5 * (b.from_mm + b.to_mm) * b.axis_W.direction -
                         a.axis_W.point_mm - 0.5 * (a.from_mm + a.to_mm) * a.axis_W.direction;
      constexpr double kOnePlane_mm = 0.5;
      const double apart_mm = DistanceFrom(a.axis_W, b.axis_W.point_mm);
      const double width_mm = a.to_mm - a.from_mm;
      if (std::abs(apart.dot(a.axis_W.direction)) > kOnePlane_mm ||
          apart_mm < 0.5 * (a.surface_mm + b.surface_mm))
        continue;
      if (std::abs(width_mm - (b.to_mm - b.from_mm)) > kOnePlane_mm) continue;
      Proposal proposal;
      proposal.fixed = a.body;
      proposal.moving = b.body;
      proposal.joint.kind = JointKind::kBelt;
      proposal.joint.fixed = a.ref;
      proposal.joint.moving = b.ref;
      proposal.joint.belt = BeltFor(machine, a, b, apart_mm, found);
      proposal.why = fmt::format("two round grooves {} wide about parallel axes in one plane",
                                 MmWords(width_mm));
      found.proposals.push_back(std::move(proposal));
    }
  }
}

}  // namespace fitwright::recognize
