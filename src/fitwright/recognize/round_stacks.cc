#include "fitwright/recognize/round_stacks.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "fitwright/recognize/stack_rings.h"

namespace fitwright::recognize {
namespace {

// Above this the default shop bores (opinion).
constexpr double kBoredAbove_mm = 13;

struct OneHole {
  int axis = 2;
  double sense = -1;  // of `into` along the axis
  Vec3 entry_P_mm = Vec3::Zero();
  double radius_mm = 0;
  double depth_mm = 0;
  bool through = false;
  RingEnd bottom = RingEnd::kFlat;
  bool narrower_below = false;
  std::vector<MouthBreak> start;
  std::vector<MouthBreak> end;
  std::vector<std::size_t> faces;
};

// Radius of the ring that touches this one at an end; 0 = none.
double Beside(const Stack& stack, const Ring& ring, bool high) {
  double radius = 0;
  for (const Ring& other : stack.rings) {
    if (&other == &ring) continue;
    const bool touches = high ? IsSame(other.span.from_mm, ring.span.to_mm)
                              : IsSame(other.span.to_mm, ring.span.from_mm);
    if (touches) radius = std::max(radius, other.radius_mm);
  }
  return radius;
}

// The side that the tool comes from; none for a chamber closed at both ends.
std::optional<double> WayInto(const Stack& stack, const Ring& ring) {
  const bool low = ring.low != RingEnd::kOpen;
  const bool high = ring.high != RingEnd::kOpen;
  if (low && high) return std::nullopt;
  if (high) return 1.0;
  if (low) return -1.0;
  const double below = Beside(stack, ring, false);
  const double above = Beside(stack, ring, true);
  const bool from_below = below > ring.radius_mm || (above > 0 && above < ring.radius_mm);
  return from_below ? 1.0 : -1.0;
}

std::optional<OneHole> MakeHole(const Stack& stack, const Ring& ring) {
  const std::optional<double> sense = WayInto(stack, ring);
  if (!sense || ring.span.length_mm() <= kSamePlace_mm) return std::nullopt;
  const bool up = *sense > 0;
  OneHole hole;
  hole.axis = stack.axis;
  hole.sense = *sense;
  hole.entry_P_mm = stack.point_P_mm;
  hole.entry_P_mm[stack.axis] = up ? ring.span.from_mm : ring.span.to_mm;
  hole.entry_P_mm = Tidy(hole.entry_P_mm);
  hole.radius_mm = ring.radius_mm;
  hole.depth_mm = ring.span.length_mm();
  hole.bottom = up ? ring.high : ring.low;
  hole.through = hole.bottom == RingEnd::kOpen;
  const double beyond = Beside(stack, ring, up);
  hole.narrower_below = beyond > 0 && beyond < ring.radius_mm;
  hole.start = up ? ring.low_break : ring.high_break;
  hole.end = up ? ring.high_break : ring.low_break;
  hole.faces = ring.faces;
  return hole;
}

bool AlikeBreaks(const std::vector<MouthBreak>& a, const std::vector<MouthBreak>& b) {
  if (a.empty() || b.empty()) return a.empty() == b.empty();
  return a[0].rounded == b[0].rounded && IsSame(a[0].axial_mm, b[0].axial_mm) &&
         IsSame(a[0].radial_mm, b[0].radial_mm);
}

bool Alike(const OneHole& a, const OneHole& b) {
  return a.axis == b.axis && a.sense == b.sense && IsSame(a.radius_mm, b.radius_mm) &&
         IsSame(a.depth_mm, b.depth_mm) && a.through == b.through && a.bottom == b.bottom &&
         IsSame(a.entry_P_mm[a.axis], b.entry_P_mm[a.axis]) &&
         a.narrower_below == b.narrower_below && AlikeBreaks(a.start, b.start) &&
         AlikeBreaks(a.end, b.end);
}

// An order that the file's has no part in.
auto OrderOf(const OneHole& hole) {
  const Vec3& p = hole.entry_P_mm;
  return std::tuple(hole.axis, hole.sense, -Tidy(hole.radius_mm), p.z(), p.x(), p.y(), Tidy(hole.depth_mm));
}

std::vector<std::vector<OneHole>> GroupAlike(std::vector<OneHole> holes) {
  std::stable_sort(holes.begin(), holes.end(),
                   [](const OneHole& a, const OneHole& b) { return OrderOf(a) < OrderOf(b); });
  std::vector<std::vector<OneHole>> groups;
  for (const OneHole& hole : holes) {
    auto group = std::find_if(groups.begin(), groups.end(),
                              [&](const auto& g) { return Alike(g.front(), hole); });
    if (group == groups.end()) {
      groups.push_back({hole});
    } else {
      group->push_back(hole);
    }
  }
  return groups;
}

// Three or more that stand evenly on one circle.
std::optional<CirclePattern> FindCircle(const std::vector<Vec3>& entries, const Vec3& out) {
  const std::size_t count = entries.size();
  if (count < 3) return std::nullopt;
  Vec3 centre = Vec3::Zero();
  for (const Vec3& p : entries) centre += p / static_cast<double>(count);
  const double radius = (entries[0] - centre).norm();
  CirclePattern circle;
  const int axis = *AlongAxis(out);
  circle.axis_P = {Tidy(centre), out};
  circle.zero_P = Vec3::Unit((axis + 1) % 3);
  const Vec3 towards = out.cross(circle.zero_P);
  std::vector<double> angles;
  for (const Vec3& p : entries) {
    const Vec3 off = p - centre;
    if (!IsSame(off.norm(), radius)) return std::nullopt;
    const double angle = std::atan2(towards.dot(off), circle.zero_P.dot(off)) / kRadPerDeg;
    angles.push_back(angle < -1e-6 ? angle + 360 : std::max(0.0, angle));
  }
  std::sort(angles.begin(), angles.end());
  const double step = 360.0 / static_cast<double>(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double off = angles[i] - angles[0] - static_cast<double>(i) * step;
    if (std::abs(off) * kRadPerDeg * radius > kSamePlace_mm) return std::nullopt;
  }
  circle.diameter_mm = Tidy(2 * radius);
  circle.first_deg = Tidy(angles[0]);
  circle.count = static_cast<int>(count);
  return circle;
}

void OnCircle(Hole& hole) {
  const CirclePattern& circle = *hole.circle;
  const Vec3 towards = circle.axis_P.direction.cross(circle.zero_P);
  for (int i = 0; i < circle.count; ++i) {
    const double angle = (circle.first_deg + 360.0 * i / circle.count) * kRadPerDeg;
    hole.entries_P_mm[static_cast<std::size_t>(i)] =
        circle.axis_P.point_mm + 0.5 * circle.diameter_mm * (std::cos(angle) * circle.zero_P + std::sin(angle) * towards);
  }
}

HoleBottom BottomOf(RingEnd end) {
  if (end == RingEnd::kPoint118) return HoleBottom::kPoint118;
  if (end == RingEnd::kPoint135) return HoleBottom::kPoint135;
  return HoleBottom::kFlat;
}

void AddBreak(Draft& draft, const FeatureId& on, const std::vector<OneHole>& group, bool at_start) {
  const auto of = [&](const OneHole& hole) -> const std::vector<MouthBreak>& { return at_start ? hole.start : hole.end; };
  if (of(group.front()).empty()) return;
  const MouthBreak& mouth = of(group.front()).front();
  RoundChamfer chamfer;
  chamfer.on = on;
  chamfer.at_start = at_start;
  chamfer.axial_mm = Tidy(mouth.axial_mm);
  chamfer.radial_mm = Tidy(mouth.radial_mm);
  chamfer.rounded = mouth.rounded;
  // Wide enough to seat a head (opinion).
  chamfer.countersink = !mouth.rounded && mouth.radial_mm > 0.4 * group.front().radius_mm;
  std::vector<std::size_t> faces;
  for (const OneHole& hole : group) faces.insert(faces.end(), of(hole).front().faces.begin(), of(hole).front().faces.end());
  draft.Add(mouth.rounded ? "mouth_round" : chamfer.countersink ? "countersink" : "mouth_chamfer", chamfer, faces);
}

void AddHoles(Draft& draft, const std::vector<OneHole>& group) {
  const OneHole& first = group.front();
  Hole hole;
  hole.into_P = first.sense * Vec3::Unit(first.axis);
  std::vector<std::size_t> faces;
  for (const OneHole& one : group) {
    hole.entries_P_mm.push_back(one.entry_P_mm);
    faces.insert(faces.end(), one.faces.begin(), one.faces.end());
  }
  hole.diameter = DrawnSize(2 * first.radius_mm);
  hole.depth_mm = Tidy(first.depth_mm);
  hole.through = first.through;
  hole.bottom = first.through ? HoleBottom::kPoint118 : BottomOf(first.bottom);
  hole.circle = FindCircle(hole.entries_P_mm, -hole.into_P);
  if (hole.circle) OnCircle(hole);
  const bool seat = first.narrower_below && !first.through && first.depth_mm < 3 * first.radius_mm;
  if (seat) {
    hole.use = HoleUse::kCounterbore;
  } else if (2 * first.radius_mm > kBoredAbove_mm || (!first.through && hole.bottom == HoleBottom::kFlat)) {
    hole.use = HoleUse::kBore;
  }
  if (hole.use != HoleUse::kHole && first.through) hole.bottom = HoleBottom::kFlat;
  const char* word = seat ? "counterbore" : hole.use == HoleUse::kBore ? "bore" : "hole";
  const FeatureId name = draft.Add(group.size() > 1 ? std::string(word) + "s" : word, hole, faces);
  AddBreak(draft, name, group, true);
  AddBreak(draft, name, group, false);
}

Axis3 AxisOf(const Stack& stack) { return {Tidy(stack.point_P_mm), Vec3::Unit(stack.axis)}; }

void AddTapers(Draft& draft, const Stack& stack) {
  for (const Cone& cone : stack.cones) {
    if (std::min(cone.low_radius_mm, cone.high_radius_mm) <= kSamePlace_mm) continue;
    Taper taper;
    taper.internal = true;
    taper.axis_P = AxisOf(stack);
    taper.from_mm = Tidy(cone.span.from_mm);
    taper.to_mm = Tidy(cone.span.to_mm);
    taper.start_diameter = DrawnSize(2 * cone.low_radius_mm);
    taper.end_diameter = DrawnSize(2 * cone.high_radius_mm);
    draft.Add("inner_taper", taper, cone.faces);
  }
}

void AddRecesses(Draft& draft, const Stack& stack) {
  for (const Recess& recess : stack.recesses) {
    Groove groove;
    groove.internal = true;
    groove.undercut = recess.undercut;
    groove.axis_P = AxisOf(stack);
    groove.from_mm = Tidy(recess.span.from_mm);
    groove.to_mm = Tidy(recess.span.to_mm);
    groove.diameter = DrawnSize(2 * recess.radius_mm);
    draft.Add(recess.undercut ? "inner_undercut" : "inner_groove", groove, recess.faces);
  }
}

}  // namespace

void ReadRoundStacks(Draft& draft, const IsAirBetween& is_air) {
  std::vector<Stack> stacks = FindStacks(draft, is_air);
  std::stable_sort(stacks.begin(), stacks.end(), [](const Stack& a, const Stack& b) {
    const Vec3 p = Tidy(a.point_P_mm);
    const Vec3 q = Tidy(b.point_P_mm);
    return std::tuple(a.axis, p.z(), p.x(), p.y()) < std::tuple(b.axis, q.z(), q.x(), q.y());
  });
  std::vector<OneHole> holes;
  for (const Stack& stack : stacks) {
    for (const Ring& ring : stack.rings) {
      if (auto hole = MakeHole(stack, ring)) holes.push_back(*std::move(hole));
    }
  }
  for (const auto& group : GroupAlike(std::move(holes))) AddHoles(draft, group);
  for (const Stack& stack : stacks) {
    AddTapers(draft, stack);
    AddRecesses(draft, stack);
  }
}

}  // namespace fitwright::recognize
