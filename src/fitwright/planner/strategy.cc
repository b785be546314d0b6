#include "fitwright/planner/strategy.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/bench_work.h"

namespace fitwright::planner {
namespace {

constexpr double kLeaveToRub_mm = 0.1;  // common practice: a tenth is left to be rubbed down to length
constexpr double kLeaveForTogether_mm = 0.3;  // common practice: 0.2-0.5 left until the faces are cut as one

bool Joins(const Joint& joint, const PartId& a, const PartId& b) {
  return (joint.fixed.part == a && joint.moving.part == b) || (joint.fixed.part == b && joint.moving.part == a);
}

// Bought, or made before the plan begins: nothing of it is left to decide.
bool IsReady(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  return machine.FindBought(SheetIdOf(ref.part)) != nullptr || (feature != nullptr && IsAsSupplied(*feature));
}

void AddPattern(const Machine& machine, const Joint& joint, std::vector<PatternJoint>& patterns) {
  if (IsReady(machine, joint.fixed) || IsReady(machine, joint.moving)) return;
  PatternJoint pattern;
  pattern.joint = joint.name;
  for (const FeatureRef& ref : {joint.fixed, joint.moving}) {
    const Feature* feature = machine.Find(ref);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (hole == nullptr) return;
    (hole->thread ? pattern.tapped : pattern.clearance) = ref;
    pattern.count = static_cast<int>(hole->entries_P_mm.size());
  }
  if (pattern.tapped.part.empty() || pattern.clearance.part.empty()) return;
  for (const Joint& other : machine.joints) {
    if (other.kind == JointKind::kSpigotInBore && Joins(other, joint.fixed.part, joint.moving.part)) {
      pattern.located = true;
    }
  }
  patterns.push_back(pattern);
}

void AddPinned(const Machine& machine, const Joint& joint, std::vector<SharedHoles>& pairs) {
  const Feature* fixed = machine.Find(joint.fixed);
  const Feature* moving = machine.Find(joint.moving);
  const auto* a = fixed == nullptr ? nullptr : std::get_if<Hole>(&fixed->shape);
  const auto* b = moving == nullptr ? nullptr : std::get_if<Hole>(&moving->shape);
  const bool bought = IsReady(machine, joint.fixed) || IsReady(machine, joint.moving);
  if (a == nullptr || b == nullptr || bought || a->thread || b->thread) return;
  SharedHoles pair{joint.name.text(), joint.fixed, joint.moving, static_cast<int>(a->entries_P_mm.size()), Technique::kDrillTogether, false};
  for (const Joint& other : machine.joints) {
    if (!Joins(other, joint.fixed.part, joint.moving.part)) continue;
    if (other.kind == JointKind::kScrewedPattern) pair.together = Technique::kReamDowels;
    pair.stays |= other.kind == JointKind::kBonded || other.kind == JointKind::kPressFit;
  }
  pairs.push_back(pair);
}

// Nothing else of the part is cut from the bore, so that it can wait for the other part.
bool CanWait(const Part& part, const Feature& bore) {
  return std::none_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* chamfer = std::get_if<RoundChamfer>(&f.shape);
    const auto* groove = std::get_if<Groove>(&f.shape);
    const auto* other = std::get_if<Hole>(&f.shape);
    const auto& own = std::get<Hole>(bore.shape);
    const bool stepped = other != nullptr && f.name != bore.name && other->entries_P_mm.size() == 1 && own.entries_P_mm.size() == 1 &&
                         own.into_P.cross(other->entries_P_mm.front() - own.entries_P_mm.front()).norm() < kDrawnAlike_mm;
    return (chamfer != nullptr && chamfer->on == bore.name) || (groove != nullptr && groove->internal) || stepped;
  });
}

// Bores of two screwed parts on one line, open to each other.
void AddInLine(const Machine& machine, const Requirement& requirement, std::vector<SharedHoles>& pairs) {
  const Feature* fixed = machine.Find(requirement.b);
  const Feature* moving = machine.Find(requirement.a);
  if (fixed == nullptr || moving == nullptr || requirement.a.part == requirement.b.part) return;
  const Part* parts[] = {machine.FindPart(requirement.b.part), machine.FindPart(requirement.a.part)};
  const Feature* bores[] = {fixed, moving};
  for (int i = 0; i < 2; ++i) {
    const auto* bore = std::get_if<Hole>(&bores[i]->shape);
    const bool right = bore != nullptr && bore->use == HoleUse::kBore && bore->entries_P_mm.size() == 1 && !bore->thread;
    if (!right || IsReady(machine, {parts[i]->name, bores[i]->name}) || !CanWait(*parts[i], *bores[i])) return;
  }
  const bool screwed = std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kScrewedPattern && Joins(j, requirement.a.part, requirement.b.part);
  });
  const Pose X_A = machine.FindPlace(requirement.b.part).value_or(Pose::Identity());
  const Pose X_B = machine.FindPlace(requirement.a.part).value_or(Pose::Identity());
  const auto& a = std::get<Hole>(fixed->shape);
  const auto& b = std::get<Hole>(moving->shape);
  const Vec3 line = X_A.linear() * a.into_P;
  const bool parallel = std::abs(line.dot(X_B.linear() * b.into_P)) > 1 - 1e-9;
  const double aside = line.cross(X_B * b.entries_P_mm.front() - X_A * a.entries_P_mm.front()).norm();
  // One boring head at one setting goes through both.
  const bool alike = std::abs(a.diameter.lower_mm - b.diameter.lower_mm) + std::abs(a.diameter.upper_mm - b.diameter.upper_mm) < kDrawnAlike_mm;
  if (!screwed || !parallel || !alike || aside > kDrawnAlike_mm) return;
  pairs.push_back({requirement.name.text(), requirement.b, requirement.a, 1, Technique::kBoreInLine, false});
}

void AddFlush(const Machine& machine, const Requirement& requirement, std::vector<FlushPair>& pairs) {
  FlushPair pair{requirement.name, requirement.a, requirement.b, {}};
  bool screwed = false;
  for (const Joint& joint : machine.joints) {
    if (!Joins(joint, requirement.a.part, requirement.b.part)) continue;
    pair.joints.push_back(joint.name);
    screwed |= joint.kind == JointKind::kScrewedPattern;
  }
  const Feature* a = machine.Find(requirement.a);
  const Feature* b = machine.Find(requirement.b);
  const bool faces = a != nullptr && b != nullptr && std::holds_alternative<PlanarFace>(a->shape) &&
                     std::holds_alternative<PlanarFace>(b->shape);
  const bool open = !IsReady(machine, requirement.a) && !IsReady(machine, requirement.b);
  if (screwed && faces && open) pairs.push_back(pair);
}

void AddSuit(const Machine& machine, const Requirement& requirement, std::vector<SuitPair>& pairs) {
  const Feature* a = machine.Find(requirement.a);
  const Feature* b = machine.Find(requirement.b);
  if (a == nullptr || b == nullptr || requirement.a.part == requirement.b.part) return;
  const bool round = std::holds_alternative<OuterDiameter>(a->shape) && std::holds_alternative<Hole>(b->shape);
  const bool faces = std::holds_alternative<PlanarFace>(a->shape) && std::holds_alternative<PlanarFace>(b->shape);
  if ((!round && !faces) || !requirement.lower || !requirement.upper || IsReady(machine, requirement.a)) return;
  SuitPair pair{requirement.name, requirement.a, requirement.b, *requirement.lower, *requirement.upper, faces, {}};
  for (const Joint& joint : machine.joints) {
    if (!faces || !Joins(joint, requirement.a.part, requirement.b.part)) continue;
    pair.seats.push_back(joint.fixed.part == requirement.b.part ? joint.fixed : joint.moving);
  }
  if (faces && pair.seats.empty()) return;
  if (requirement.kind == RequirementKind::kInterference) {
    pair.lower_mm = -*requirement.upper;
    pair.upper_mm = -*requirement.lower;
  }
  pairs.push_back(pair);
}

// A made piece that stands between two of the gaps: its length, ended by the face with the closer limits, may
// be made to what the rest leaves.
void AddClosing(const Machine& machine, const Requirement& requirement, std::vector<SuitPair>& pairs) {
  if (!requirement.lower || !requirement.upper) return;
  std::vector<FeatureRef> ends;
  for (const auto& [a, b] : requirement.gaps) ends.insert(ends.end(), {a, b});
  for (std::size_t i = 0; i < ends.size(); ++i) {
    for (std::size_t k = i + 1; k < ends.size(); ++k) {
      const PartId& part = ends[i].part;
      const PartUse* use = machine.FindUse(part);
      if (ends[k].part != part || machine.FindBought(part) != nullptr || use == nullptr || use->quantity > 1) continue;
      const auto& a = std::get<PlanarFace>(machine.Find(ends[i])->shape);
      const auto& b = std::get<PlanarFace>(machine.Find(ends[k])->shape);
      if (a.normal_P.dot(b.normal_P) > -0.999) continue;
      SuitPair pair{requirement.name, a.at.width_mm() < b.at.width_mm() ? ends[i] : ends[k], {}, *requirement.lower, *requirement.upper, true, {}};
      pair.closes = true;
      pair.trial = TrialParts(machine, requirement, part);
      pairs.push_back(pair);
      return;
    }
  }
}

}  // namespace

Subjects FindSubjects(const Machine& machine) {
  Subjects subjects = FindDecisions(machine);
  if (!machine.joints.empty()) subjects.together = review::FindAssemblyOrder(machine);
  return subjects;
}

Subjects FindDecisions(const Machine& machine) {
  Subjects subjects;
  for (const Joint& joint : machine.joints) {
    if (joint.kind == JointKind::kScrewedPattern) AddPattern(machine, joint, subjects.patterns);
    if (joint.kind == JointKind::kPinned) AddPinned(machine, joint, subjects.shared);
  }
  for (const Requirement& requirement : machine.requirements) {
    if (requirement.kind == RequirementKind::kInLine) AddInLine(machine, requirement, subjects.shared);
    if (requirement.kind == RequirementKind::kFlush) AddFlush(machine, requirement, subjects.flush);
    if (requirement.kind == RequirementKind::kClearance || requirement.kind == RequirementKind::kInterference ||
        requirement.kind == RequirementKind::kDistance) {
      AddSuit(machine, requirement, subjects.suits);
    }
    if (requirement.kind == RequirementKind::kEndFloat) AddClosing(machine, requirement, subjects.suits);
  }
  return subjects;
}

Deferred DeferredOf(const Machine&, const Subjects& subjects, const Strategy& strategy, const PartId& part) {
  Deferred deferred;
  for (const PatternJoint& pattern : subjects.patterns) {
    const auto choice = strategy.patterns.find(pattern.joint);
    if (choice == strategy.patterns.end() || choice->second.technique == Technique::kByCoordinates) continue;
    // Transfer screws want the threads first, everything else the clearance holes.
    const FeatureRef& later = choice->second.technique == Technique::kTransferScrews ? pattern.clearance : pattern.tapped;
    if (later.part == part) deferred.not_cut.push_back(later.feature);
  }
  for (const SharedHoles& pair : subjects.shared) {
    const auto choice = strategy.shared.find(pair.subject);
    if (choice == strategy.shared.end() || choice->second == Technique::kByCoordinates) continue;
    for (const FeatureRef& hole : {pair.fixed, pair.moving}) {
      if (hole.part == part) deferred.not_cut.push_back(hole.feature);
    }
  }
  for (const FlushPair& pair : subjects.flush) {
    const auto choice = strategy.flush.find(pair.requirement);
    if (choice == strategy.flush.end() || choice->second != Technique::kMachineTogether) continue;
    for (const FeatureRef& face : {pair.face, pair.main_face}) {
      if (face.part == part) deferred.leave_mm[face.feature] = kLeaveForTogether_mm;
    }
  }
  for (const SuitPair& pair : subjects.suits) {
    const auto choice = strategy.suits.find(pair.requirement);
    const bool suited = choice != strategy.suits.end() && choice->second == Technique::kFitToMeasured;
    if (pair.closes && suited && pair.shaft.part == part) deferred.leave_mm[pair.shaft.feature] = kLeaveToRub_mm;
  }
  return deferred;
}

std::string KeyOf(const FeatureRef& feature, const OwnAim& aim) {
  const std::string kind = aim.kind ? std::string(WordOf(*aim.kind)) : "";
  const std::string size = aim.size_mm ? fmt::format("{:.6f}", *aim.size_mm) : "";
  const std::string window = aim.window ? fmt::format(" {:.6f}..{:.6f}", aim.window->lower_mm, aim.window->upper_mm) : "";
  return fmt::format("{}:{}@{}{};", feature.text(), kind, size, window);
}

}  // namespace fitwright::planner
