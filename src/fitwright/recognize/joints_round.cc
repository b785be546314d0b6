// Outer diameters in holes: what fits in what, and what kind of joint that is.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "fitwright/recognize/joint_proposals.h"

namespace fitwright::recognize {
namespace {

// Of the middles of their limits, bore less shaft: tighter is no fit that is pressed by hand or
// heated in a small shop, wider is no fit (opinion).
constexpr double kTightest_mm = -0.1;
constexpr double kWidest_mm = 0.15;
// Up to here a fit places what it holds; beyond it only keeps it roughly on the line (opinion).
constexpr double kClose_mm = 0.05;
constexpr double kLeastOverlap_mm = 0.3;

struct Interval {
  double from_mm = 0;
  double to_mm = 0;
};

// The bore's reach along the shaft's axis.
Interval ReachOf(const Bore& bore, const Axis3& axis) {
  const double one = (bore.axis_W.point_mm - axis.point_mm).dot(axis.direction);
  const double other = one + bore.depth_mm * bore.axis_W.direction.dot(axis.direction);
  return {std::min(one, other), std::max(one, other)};
}

bool IsCloser(const RoundPair& a, const RoundPair& b) {
  constexpr double kAlike_mm = 1e-6;
  if (std::abs(std::abs(a.gap_mm) - std::abs(b.gap_mm)) > kAlike_mm)
    return std::abs(a.gap_mm) < std::abs(b.gap_mm);
  return a.overlap_mm > b.overlap_mm + kAlike_mm;
}

bool HasKeyway(const Body& body, const Bore& bore) {
  return std::any_of(body.part->features.begin(), body.part->features.end(), [&](const Feature& f) {
    const auto* keyway = std::get_if<Keyway>(&f.shape);
    if (keyway == nullptr || !keyway->internal) return false;
    const Axis3 axis{body.X_WP * keyway->axis_P.point_mm,
                     body.X_WP.linear() * keyway->axis_P.direction};
    return OnOneLine(axis, bore.axis_W);
  });
}

// A hole across the bore that runs out in it, tapped or at a tap drill's size: for a grub screw.
const Bore* GrubHole(const Findings& found, const Bore& bore) {
  const Standing& standing = found.standing;
  const LengthUnit unit = standing.bodies[bore.body].part->sheet_unit;
  const auto there =
      std::find_if(standing.bores.begin(), standing.bores.end(), [&](const Bore& other) {
        if (other.body != bore.body || found.screwed.contains(other.ref)) return false;
        if (!other.hole->thread && !ThreadByDrill(*other.hole, unit)) return false;
        const Vec3 end = other.axis_W.point_mm + other.depth_mm * other.axis_W.direction;
        const double along_mm = (end - bore.axis_W.point_mm).dot(bore.axis_W.direction);
        const bool across = std::abs(other.axis_W.direction.dot(bore.axis_W.direction)) < kSameWay;
        return across && along_mm > 0 && along_mm < bore.depth_mm &&
               DistanceFrom(bore.axis_W, end) < 0.5 * bore.diameter.middle_mm() + kClose_mm;
      });
  return there == standing.bores.end() ? nullptr : &*there;
}

// A face across the axis at which the two bodies meet.
bool MeetAcross(const Findings& found, const RoundPair& pair) {
  return std::any_of(found.contacts.begin(), found.contacts.end(), [&](const Contact& contact) {
    return PairOf(contact.a->body, contact.b->body) == PairOf(pair.shaft->body, pair.bore->body) &&
           AreParallel(contact.a->normal_W, pair.shaft->axis_W.direction);
  });
}

// Both ends of the shaft's body stand against something along the axis.
bool IsSandwiched(const Findings& found, const RoundPair& pair) {
  bool ends[2] = {false, false};
  for (const Contact& contact : found.contacts) {
    for (const Face* face : {contact.a, contact.b}) {
      if (face->body != pair.shaft->body) continue;
      const double along = face->normal_W.dot(pair.shaft->axis_W.direction);
      if (std::abs(along) > 1 - kSameWay) ends[along > 0 ? 1 : 0] = true;
    }
  }
  return ends[0] && ends[1];
}

// How many other bodies the shaft's line passes in close bores.
std::size_t BodiesOnLine(const Findings& found, const RoundPair& pair) {
  std::set<std::size_t> bodies;
  for (const RoundPair& other : found.rounds) {
    if (other.shaft->body == pair.shaft->body &&
        OnOneLine(other.shaft->axis_W, pair.shaft->axis_W)) {
      bodies.insert(other.bore->body);
    }
  }
  return bodies.size();
}

// Nothing of the shaft's body on this line is wider than the bore, and it stands inside it all
// along.
bool CanSlide(const Standing& standing, const RoundPair& pair) {
  const Axis3& axis = pair.shaft->axis_W;
  const Interval bore = ReachOf(*pair.bore, axis);
  return std::all_of(standing.shafts.begin(), standing.shafts.end(), [&](const Shaft& shaft) {
    if (shaft.body != pair.shaft->body || !OnOneLine(shaft.axis_W, axis)) return true;
    const double sense = shaft.axis_W.direction.dot(axis.direction);
    const double base_mm = (shaft.axis_W.point_mm - axis.point_mm).dot(axis.direction);
    const double one_mm = base_mm + sense * shaft.from_mm;
    const double other_mm = base_mm + sense * shaft.to_mm;
    return shaft.diameter.middle_mm() < pair.bore->diameter.middle_mm() + kClose_mm &&
           std::min(one_mm, other_mm) > bore.from_mm - kMeant_mm &&
           std::max(one_mm, other_mm) < bore.to_mm + kMeant_mm;
  });
}

bool LimitsStated(const Size& size) { return size.origin != LimitsOrigin::kGeneralTolerance; }

struct Kind {
  JointKind kind;
  std::string why;
};

Kind KindOf(const Findings& found, const RoundPair& pair) {
  const Standing& standing = found.standing;
  const Shaft& shaft = *pair.shaft;
  const Bore& bore = *pair.bore;
  const auto bearing = [&](std::size_t body) {
    const BoughtPart* bought = standing.bodies[body].bought;
    return bought != nullptr && bought->kind == BoughtKind::kBearing;
  };
  const BodyPair bodies = PairOf(shaft.body, bore.body);
  if (bearing(shaft.body)) return {JointKind::kBearingSeat, "a bearing's outside in it"};
  if (bearing(bore.body)) return {JointKind::kBearingOnShaft, "a bearing's bore on it"};
  if (LimitsStated(shaft.diameter) && LimitsStated(bore.diameter) &&
      bore.diameter.upper_mm <= shaft.diameter.lower_mm) {
    return {JointKind::kPressFit, "tight by its limits"};
  }
  if (pair.gap_mm < -kClose_mm / 5)
    return {JointKind::kPressFit, "the shaft is drawn larger than the hole"};
  if (found.pinned.contains(bodies))
    return {JointKind::kHubOnShaft, "a pin through both keeps it from turning"};
  if (HasKeyway(standing.bodies[bore.body], bore) || GrubHole(found, bore) != nullptr)
    return {JointKind::kHubOnShaft, "a keyway or the hole of a grub screw in its bore holds it"};
  if (found.screwed_together.contains(bodies))
    return {JointKind::kSpigotInBore, "screws hold the two together"};
  if (MeetAcross(found, pair))
    return {JointKind::kSpigotInBore, "a face across it meets the other part"};
  if (BodiesOnLine(found, pair) > 1) {
    return {JointKind::kRunningFit, pair.gap_mm > kClose_mm
                                        ? "loose on a shaft that carries others"
                                        : "one of several on this shaft, held by nothing"};
  }
  if (IsSandwiched(found, pair)) return {JointKind::kSpigotInBore, "held between two faces"};
  if (CanSlide(standing, pair))
    return {JointKind::kSliderInBore, "it stands inside the bore and could pass through it"};
  if (pair.gap_mm > kClose_mm) return {JointKind::kRunningFit, "loose, and held by nothing"};
  return {JointKind::kBonded, "nothing else holds the two together"};
}

std::string GapWords(const RoundPair& pair) {
  const double shaft_mm = pair.shaft->diameter.middle_mm();
  return fmt::format("{} of {} in {} of {} about one line", MmWords(shaft_mm),
                     pair.shaft->ref.text(), MmWords(pair.bore->diameter.middle_mm()),
                     pair.bore->ref.text());
}

}  // namespace

void FindRounds(Findings& found) {
  std::map<BodyPair, std::vector<RoundPair>> by_bodies;
  for (const Shaft& shaft : found.standing.shafts) {
    for (const Bore& bore : found.standing.bores) {
      if (bore.body == shaft.body || bore.hole->thread || bore.places != 1) continue;
      if (!OnOneLine(shaft.axis_W, bore.axis_W)) continue;
      const Interval reach = ReachOf(bore, shaft.axis_W);
      RoundPair pair{&shaft, &bore, bore.diameter.middle_mm() - shaft.diameter.middle_mm(),
                     std::min(reach.to_mm, shaft.to_mm) - std::max(reach.from_mm, shaft.from_mm)};
      if (pair.gap_mm < kTightest_mm || pair.gap_mm > kWidest_mm ||
          pair.overlap_mm < kLeastOverlap_mm)
        continue;
      auto& pairs = by_bodies[PairOf(shaft.body, bore.body)];
      const auto same = std::find_if(pairs.begin(), pairs.end(), [&](const RoundPair& other) {
        return OnOneLine(other.shaft->axis_W, shaft.axis_W);
      });
      if (same == pairs.end()) {
        pairs.push_back(pair);
      } else if (IsCloser(pair, *same)) {
        *same = pair;
      }
    }
  }
  for (const auto& [bodies, pairs] : by_bodies)
    found.rounds.insert(found.rounds.end(), pairs.begin(), pairs.end());
}

void ProposeRounds(Findings& found) {
  for (const RoundPair& pair : found.rounds) {
    if (found.in_grooves.contains(pair.shaft->body)) continue;  // its groove says where it is
    const Kind kind = KindOf(found, pair);
    const Bore* grub = kind.kind == JointKind::kHubOnShaft ? GrubHole(found, *pair.bore) : nullptr;
    if (grub != nullptr && !grub->hole->thread) {
      const LengthUnit unit = found.standing.bodies[grub->body].part->sheet_unit;
      found.threads.push_back({grub->ref, *ThreadByDrill(*grub->hole, unit),
                               "a tap drill's size, and it runs out in the bore of a hub"});
    }
    Proposal proposal;
    proposal.fixed = pair.bore->body;
    proposal.moving = pair.shaft->body;
    proposal.joint.kind = kind.kind;
    proposal.joint.fixed = pair.bore->ref;
    proposal.joint.moving = pair.shaft->ref;
    proposal.why = fmt::format("{}: {}", GapWords(pair), kind.why);
    if (kind.kind == JointKind::kBonded) {
      proposal.joint.compound = "retaining compound";
      proposal.joint.cure_min = 60;
      proposal.joint.comes_apart = false;
      proposal.why += "; the minutes are common for such compounds, the maker's sheet decides";
    }
    found.proposals.push_back(std::move(proposal));
  }
}

}  // namespace fitwright::recognize
