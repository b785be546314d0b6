// Order of work across the parts: what waits for what, and which setup comes next.
#include <algorithm>
#include <set>

#include "fitwright/base/check.h"
#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/build_plan.h"
#include "fitwright/planner/device_order.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/setup_pins.h"

namespace fitwright::planner {
namespace {

struct Node {
  SetupSketch sketch;
  std::set<std::size_t> waits;
  std::size_t part_rank = 0;
  MachineToolId mount_on = {};
  HoldingDeviceId mount = {};  // what stands on the machine for it
};

class Graph {
 public:
  Graph(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy)
      : machine_(machine), subjects_(subjects), strategy_(strategy) {
    for (const MachineTool& tool : shop.machines) {
      if (tool.kind == MachineToolKind::kBench) bench_ = tool.name;
    }
  }

  std::vector<Node> Make(const Choices& choices) {
    AddRoutes();
    AddSpotting();
    AddShared(Together::kDowels);
    AddShared(Together::kBores);
    AddTogether();
    AddBonds();
    AddShared(Together::kForGood);
    AddSuits();
    AddTried();
    AddPins(choices);
    return std::move(nodes_);
  }

 private:
  std::size_t Rank(const PartId& part) const {
    for (std::size_t i = 0; i < machine_.uses.size(); ++i) {
      if (machine_.uses[i].part == part) return i;
    }
    return machine_.uses.size();
  }

  std::size_t Append(const SetupSketch& sketch) {
    Node node{sketch, {}, Rank(sketch.part)};
    const auto last = last_of_.find(sketch.part);
    if (last != last_of_.end()) node.waits.insert(last->second);
    nodes_.push_back(std::move(node));
    last_of_[sketch.part] = nodes_.size() - 1;
    return nodes_.size() - 1;
  }

  void AddRoutes() {
    for (const PartUse& use : machine_.uses) {
      const auto route = strategy_.routes.find(use.part);
      if (route == strategy_.routes.end()) continue;
      for (const SetupSketch& sketch : route->second.setups) Append(sketch);
    }
  }

  std::vector<JointId> JointsBetween(const PartId& a, const PartId& b) const {
    std::vector<JointId> joints;
    for (const Joint& j : machine_.joints) {
      if ((j.fixed.part == a && j.moving.part == b) || (j.fixed.part == b && j.moving.part == a)) joints.push_back(j.name);
    }
    return joints;
  }

  // Points in the threads mark the mate on the bench; it is drilled from the side that they marked.
  void AddTransferScrews(const PatternJoint& pattern) {
    const auto& threads = std::get<Hole>(machine_.Find(pattern.tapped)->shape);
    const auto turn = [&](const PartId& part) -> Eigen::Matrix3d { return machine_.FindPlace(part).value_or(Pose::Identity()).linear(); };
    SetupSketch mark;
    mark.part = pattern.tapped.part;
    mark.up_P = -threads.into_P;
    mark.machine = bench_;
    mark.holding = HoldingKind::kBench;
    mark.mates = {pattern.clearance.part};
    mark.joints = JointsBetween(pattern.tapped.part, pattern.clearance.part);
    mark.through = pattern.tapped;
    mark.marks = pattern.clearance;
    mark.way = Technique::kTransferScrews;
    const std::size_t marked = Append(mark);
    if (last_of_.count(pattern.clearance.part)) nodes_[marked].waits.insert(last_of_.at(pattern.clearance.part));
    SetupSketch drill;
    drill.part = pattern.clearance.part;
    drill.up_P = turn(drill.part).transpose() * (turn(mark.part) * threads.into_P);
    drill.cuts = {pattern.clearance.feature};
    drill.way = Technique::kTransferScrews;
    drill.on_marks = true;
    const std::size_t node = Append(drill);
    nodes_[node].waits.insert(marked);
  }

  void AddSpotting() {
    for (const PatternJoint& pattern : subjects_.patterns) {
      const auto choice = strategy_.patterns.find(pattern.joint);
      if (choice == strategy_.patterns.end() || choice->second.technique == Technique::kByCoordinates) continue;
      if (choice->second.technique == Technique::kTransferScrews) {
        AddTransferScrews(pattern);
        continue;
      }
      SetupSketch sketch;
      sketch.way = choice->second.technique;
      sketch.part = pattern.tapped.part;
      const Feature& holes = *machine_.Find(pattern.tapped);
      sketch.up_P = -std::get<Hole>(holes.shape).into_P;
      sketch.cuts = {pattern.tapped.feature};
      sketch.mates = {pattern.clearance.part};
      sketch.joints = JointsBetween(pattern.tapped.part, pattern.clearance.part);
      sketch.through = pattern.clearance;
      sketch.first = choice->second.first;
      const std::size_t node = Append(sketch);
      if (last_of_.count(pattern.clearance.part)) nodes_[node].waits.insert(last_of_.at(pattern.clearance.part));
    }
  }

  // Whether the mate's hole is the one that the tool comes to first, seen along `into_W`.
  bool MateAbove(const FeatureRef& own, const FeatureRef& mate, const Vec3& into_W) const {
    const auto top = [&](const FeatureRef& ref) {
      const auto& hole = std::get<Hole>(machine_.Find(ref)->shape);
      const Pose X_WP = machine_.FindPlace(ref.part).value_or(Pose::Identity());
      const double entry = into_W.dot(X_WP * hole.entries_P_mm.front());
      return std::min(entry, entry + hole.depth_mm * into_W.dot(X_WP.linear() * hole.into_P));
    };
    return top(mate) < top(own);
  }

  // The way the pins go in: as drawn of the blind hole, where one is blind.
  Vec3 IntoOf(const SharedHoles& pair) const {
    const auto& fixed = std::get<Hole>(machine_.Find(pair.fixed)->shape);
    const auto& moving = std::get<Hole>(machine_.Find(pair.moving)->shape);
    const bool by_fixed = !fixed.through && moving.through;
    const PartId& part = by_fixed ? pair.fixed.part : pair.moving.part;
    const Pose X_WP = machine_.FindPlace(part).value_or(Pose::Identity());
    return X_WP.linear() * (by_fixed ? fixed : moving).into_P;
  }

  enum class Together { kDowels, kBores, kForGood };
  static Together Turn(const SharedHoles& pair) {
    return pair.stays ? Together::kForGood : pair.together == Technique::kBoreInLine ? Together::kBores : Together::kDowels;
  }

  // Two dowels or more bring the parts back to where they were bored.
  bool Dowelled(const SharedHoles& pair) const {
    return std::any_of(machine_.joints.begin(), machine_.joints.end(), [&](const Joint& j) {
      const bool same = (j.fixed.part == pair.fixed.part && j.moving.part == pair.moving.part) ||
                        (j.fixed.part == pair.moving.part && j.moving.part == pair.fixed.part);
      const auto* holes = j.kind == JointKind::kPinned && same ? std::get_if<Hole>(&machine_.Find(j.fixed)->shape) : nullptr;
      return holes != nullptr && holes->entries_P_mm.size() >= 2;
    });
  }

  // Screws first, then dowels, then common bores; what is bonded is drilled last, for it does not come
  // apart again.
  void AddShared(Together turn) {
    for (const SharedHoles& pair : subjects_.shared) {
      const auto choice = strategy_.shared.find(pair.subject);
      if (Turn(pair) != turn || choice == strategy_.shared.end() || choice->second == Technique::kByCoordinates) continue;
      const Vec3 into_W = IntoOf(pair);
      SetupSketch sketch;
      sketch.part = pair.fixed.part;
      sketch.up_P = -(machine_.FindPlace(sketch.part).value_or(Pose::Identity()).linear().transpose() * into_W);
      sketch.cuts = {pair.fixed.feature};
      sketch.mates = {pair.moving.part};
      for (const JointId& joint : JointsBetween(pair.fixed.part, pair.moving.part)) {
        if (joint.text() != pair.subject) sketch.joints.push_back(joint);
      }
      sketch.drilled = {pair.fixed, pair.moving};
      if (MateAbove(pair.fixed, pair.moving, into_W)) std::swap(sketch.drilled[0], sketch.drilled[1]);
      sketch.way = choice->second;
      if (pair.stays) BringBonded(sketch);
      sketch.take_apart = !pair.stays && (turn != Together::kBores || Dowelled(pair));
      AddStuck(sketch);
      const std::size_t node = Append(sketch);
      for (const PartId& mate : sketch.mates) {
        if (last_of_.count(mate)) nodes_[node].waits.insert(last_of_.at(mate));
        last_of_[mate] = node;
      }
      if (sketch.take_apart) continue;
      std::set<PartId> group(sketch.mates.begin(), sketch.mates.end());
      group.insert(sketch.part);
      for (const PartId& part : group) stuck_[part] = group;
    }
  }

  // The parts come as they were bonded on the bench: with all that is bonded to them.
  void BringBonded(SetupSketch& sketch) const {
    if (bench_.empty()) return;
    const auto has = [](const std::vector<PartId>& parts, const PartId& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); };
    for (const BondGroup& group : FindBondGroups(machine_)) {
      if (!has(group.parts, sketch.part) || !has(group.parts, sketch.mates.front())) continue;
      sketch.comes_bonded = true;
      sketch.joints = group.joints;
      for (const PartId& part : group.parts) {
        const bool made = machine_.FindBought(part) == nullptr;
        if (made && part != sketch.part && !has(sketch.mates, part)) sketch.mates.push_back(part);
      }
    }
  }

  // What is on any of the parts for good comes along.
  void AddStuck(SetupSketch& sketch) const {
    std::vector<PartId> named = sketch.mates;
    named.insert(named.begin(), sketch.part);
    for (const PartId& part : named) {
      const auto group = stuck_.find(part);
      if (group == stuck_.end()) continue;
      for (const PartId& other : group->second) {
        if (other == sketch.part) continue;
        if (std::find(sketch.mates.begin(), sketch.mates.end(), other) == sketch.mates.end()) sketch.mates.push_back(other);
        const bool listed = std::find(sketch.on_already.begin(), sketch.on_already.end(), other) != sketch.on_already.end();
        if (group->second.contains(sketch.part) && !listed) sketch.on_already.push_back(other);
      }
    }
  }

  void AddTogether() {
    std::map<FeatureRef, std::vector<const FlushPair*>> by_main;
    for (const FlushPair& pair : subjects_.flush) {
      const auto choice = strategy_.flush.find(pair.requirement);
      if (choice != strategy_.flush.end() && choice->second == Technique::kMachineTogether) {
        by_main[pair.main_face].push_back(&pair);
      }
    }
    for (const auto& [main, pairs] : by_main) {
      SetupSketch sketch;
      sketch.part = main.part;
      sketch.up_P = std::get<PlanarFace>(machine_.Find(main)->shape).normal_P;
      sketch.cuts = {main.feature};
      sketch.together = {main};
      for (const FlushPair* pair : pairs) {
        sketch.mates.push_back(pair->face.part);
        sketch.together.push_back(pair->face);
        sketch.joints.insert(sketch.joints.end(), pair->joints.begin(), pair->joints.end());
      }
      AddStuck(sketch);
      const std::size_t node = Append(sketch);
      for (const PartId& mate : sketch.mates) {
        if (last_of_.count(mate)) nodes_[node].waits.insert(last_of_.at(mate));
      }
    }
  }

  // Cutting `id` of the same part makes ref, itself or as a face that comes with it.
  bool Makes(const FeatureRef& ref, const FeatureId& id) const {
    if (id == ref.feature) return true;
    const Part& part = *machine_.FindPart(ref.part);
    if (!IsCarried(part, *part.Find(ref.feature))) return false;
    const auto carried = CarriedFaces(part, *part.Find(id));
    return std::find(carried.begin(), carried.end(), ref.feature) != carried.end();
  }

  // The first setup that cuts a feature to its final size.
  std::optional<std::size_t> Finishing(const FeatureRef& ref) const {
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const SetupSketch& s = nodes_[i].sketch;
      if (std::find(s.drilled.begin(), s.drilled.end(), ref) != s.drilled.end()) return i;
      if (s.part != ref.part || s.leave_mm.count(ref.feature)) continue;
      if (std::any_of(s.cuts.begin(), s.cuts.end(), [&](const FeatureId& id) { return Makes(ref, id); })) return i;
    }
    return std::nullopt;
  }

  SetupSketch OnBench(SetupSketch::Bench work, const PartId& part) const {
    SetupSketch sketch;
    sketch.part = part;
    sketch.machine = bench_;
    sketch.holding = HoldingKind::kBench;
    sketch.bench = work;
    return sketch;
  }

  // All setups so far that hold one of the parts come before the node.
  void WaitForAll(std::size_t node, const std::vector<PartId>& parts) {
    const auto has = [&](const PartId& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); };
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const SetupSketch& sketch = nodes_[i].sketch;
      const auto last = last_of_.find(sketch.part);  // which waits for the part's others
      const bool own = last != last_of_.end() && last->second == i && has(sketch.part);
      if (i != node && (own || std::any_of(sketch.mates.begin(), sketch.mates.end(), has))) nodes_[node].waits.insert(i);
    }
  }

  // What is bonded is bonded when its parts are finished, and is one piece from then on.
  void AddBonds() {
    if (bench_.empty()) return;
    for (const BondGroup& group : FindBondGroups(machine_)) {
      std::vector<PartId> made;
      for (const PartId& part : group.parts) {
        if (machine_.FindBought(part) == nullptr) made.push_back(part);
      }
      if (made.empty()) continue;
      SetupSketch sketch = OnBench(SetupSketch::Bench::kBond, made.front());
      sketch.joints = group.joints;
      for (const PartId& part : group.parts) {
        if (part != made.front()) sketch.mates.push_back(part);
      }
      const std::size_t node = Append(sketch);
      WaitForAll(node, made);
      for (const PartId& part : made) last_of_[part] = node;
    }
  }

  // The rest of the stack is finished and measured before the piece that closes it is rubbed down to its length.
  void AddTrial(const SuitPair& pair) {
    SetupSketch sketch = OnBench(SetupSketch::Bench::kTrial, pair.shaft.part);
    sketch.measures = pair.requirement;
    nodes_.push_back({sketch, {}, Rank(sketch.part)});
    const std::size_t trial = nodes_.size() - 1;
    WaitForAll(trial, pair.trial);
    SetupSketch rub = OnBench(SetupSketch::Bench::kNone, pair.shaft.part);
    rub.up_P = std::get<PlanarFace>(machine_.Find(pair.shaft)->shape).normal_P;
    rub.cuts = {pair.shaft.feature};
    nodes_[Append(rub)].waits.insert(trial);
  }

  void AddSuits() {
    for (const SuitPair& pair : subjects_.suits) {
      const auto choice = strategy_.suits.find(pair.requirement);
      if (choice == strategy_.suits.end() || choice->second != Technique::kFitToMeasured) continue;
      if (pair.closes) {
        AddTrial(pair);
        continue;
      }
      const auto shaft = Finishing(pair.shaft);
      std::vector<FeatureRef> measured = pair.seats;
      measured.push_back(pair.bore);
      for (const FeatureRef& ref : measured) {
        const auto made = Finishing(ref);
        if (shaft && made && *shaft != *made) nodes_[*shaft].waits.insert(*made);
      }
    }
  }

  bool ComesAfter(std::size_t node, std::size_t other) const {
    std::set<std::size_t> before = {node};
    for (std::vector<std::size_t> open = {node}; !open.empty();) {
      const std::size_t next = open.back();
      open.pop_back();
      for (const std::size_t w : nodes_[next].waits) {
        if (before.insert(w).second) open.push_back(w);
      }
    }
    return before.contains(other);
  }

  // A made ring is there when the groove that it goes into is cut, to be tried in it.
  void AddTried() {
    for (const Joint& joint : machine_.joints) {
      if (joint.kind != JointKind::kRingInGroove) continue;
      for (const auto& [groove, ring] : {std::pair(joint.fixed, joint.moving), std::pair(joint.moving, joint.fixed)}) {
        const auto cut = Finishing(groove);
        const auto made = last_of_.find(SheetIdOf(ring.part));
        if (cut && IsGroove(groove) && made != last_of_.end() && !ComesAfter(made->second, *cut)) nodes_[*cut].waits.insert(made->second);
      }
    }
  }
  bool IsGroove(const FeatureRef& ref) const {
    const Feature* feature = machine_.Find(ref);
    return feature != nullptr && std::holds_alternative<Groove>(feature->shape);
  }

  void AddPins(const Choices& choices) {
    for (const Pin& pin : choices.pins) {
      if (pin.kind != PinKind::kOrder) continue;
      std::optional<std::size_t> first;
      for (std::size_t i = 0; i < nodes_.size() && !first; ++i) {
        if (nodes_[i].sketch.part == PartId(pin.subject)) first = i;
      }
      const auto last = strategy_.routes.find(PartId(pin.value));
      if (!first || last == strategy_.routes.end()) continue;
      for (std::size_t i = 0; i < nodes_.size(); ++i) {
        if (nodes_[i].sketch.part == PartId(pin.value) && nodes_[i].sketch.mates.empty()) nodes_[*first].waits.insert(i);
      }
    }
  }

  const Machine& machine_;
  const Subjects& subjects_;
  const Strategy& strategy_;
  MachineToolId bench_;
  std::vector<Node> nodes_;
  std::map<PartId, std::size_t> last_of_;
  std::map<PartId, std::set<PartId>> stuck_;  // parts held together for good, each by its whole group
};

bool Overlap(const Box3& a, const Box3& b) {
  constexpr double kTouch_mm = 0.01;
  return ((a.max_mm - b.min_mm).array() > kTouch_mm).all() && ((b.max_mm - a.min_mm).array() > kTouch_mm).all();
}

// A mate stands where a jaw, a parallel or the table would be.
bool MatesInTheWay(const Setup& setup, const PieceStates& pieces) {
  for (const PartPose& pose : setup.parts) {
    if (&pose == &setup.parts.front()) continue;
    const Box3 mate = BoxInSetup(pieces.at(pose.part), pose.X_PS);
    for (const FixtureSolid& solid : setup.fixtures) {
      const auto* box = std::get_if<FixtureBox>(&solid.shape);
      if (box != nullptr && box->X_SF.isApprox(Pose::Identity()) && Overlap(box->box_F, mate)) return true;
    }
  }
  return false;
}

// How far below the top the lowest of the mates hangs: jaws must stay under that.
double LowestMate_mm(const Setup& setup, const PieceStates& pieces) {
  double low = 0;
  for (const PartPose& pose : setup.parts) {
    if (&pose != &setup.parts.front()) low = std::min(low, BoxInSetup(pieces.at(pose.part), pose.X_PS).min_mm.z());
  }
  return -low;
}

// Chooses the holding of a setup that a joint asked for, once the pieces' states are known.
Holdings FindMatedHolding(const SetupSketch& sketch, const PieceStates& pieces, const Machine& machine, const Shop& shop, const std::vector<Pin>& pins) {
  constexpr double kClear_mm = 1;
  Holdings found;
  SetupSketch first = sketch;
  if (!ChooseHolding(first, pieces.at(sketch.part), shop, &found.why)) return found;
  for (SetupSketch variant : Variants(sketch, pieces.at(sketch.part), shop)) {
    if (!KeepsSetupPins(pins, variant)) continue;
    Result<HeldPiece> held = MakeHolding(variant, pieces, machine, shop);
    if (held && MatesInTheWay(held->setup, pieces) && !sketch.drilled.empty()) {
      variant.bare_mm = LowestMate_mm(held->setup, pieces) + kClear_mm;
      held = MakeHolding(variant, pieces, machine, shop);
    }
    if (!held || MatesInTheWay(held->setup, pieces)) continue;
    found.sketches = {variant};
    return found;
  }
  found.why = fmt::format("{} cannot be held with its mates on it: they stand where the jaws go", sketch.part.text());
  if (const std::string pinned = PinsAbout(pins, sketch); !pinned.empty()) {
    found.why = fmt::format("nothing that holds {} with its mates on it keeps the pin: {}", sketch.part.text(), pinned);
  }
  return found;
}

// What the joints' setups are held in.
class MatedHolder {
 public:
  MatedHolder(const Machine& machine, const Shop& shop, const Choices& choices, HoldingMemo* memo)
      : machine_(machine), shop_(shop), choices_(choices), memo_(memo) {}
  bool HoldJointSetup(SetupSketch& sketch, const PieceStates& pieces, std::string* why) const;

 private:
  bool HoldMated(SetupSketch& sketch, const PieceStates& pieces, std::string* why) const;

  const Machine& machine_;
  const Shop& shop_;
  const Choices& choices_;
  HoldingMemo* memo_;
};

bool MatedHolder::HoldMated(SetupSketch& sketch, const PieceStates& pieces, std::string* why) const {
  std::vector<const PieceState*> concerned = {&pieces.at(sketch.part)};
  for (const PartId& mate : sketch.mates) {
    if (const auto piece = pieces.find(mate); piece != pieces.end()) concerned.push_back(&piece->second);
  }
  // The memo serves searches with other pins too.
  const auto& pins = choices_.pins;
  HoldingMemo* memo = std::any_of(pins.begin(), pins.end(), [&](const Pin& pin) { return ConcernsSetup(pin, sketch); }) ? nullptr : memo_;
  std::shared_ptr<const Holdings> found = memo == nullptr ? nullptr : memo->Find(sketch, concerned);
  if (found == nullptr) {
    Holdings fresh = FindMatedHolding(sketch, pieces, machine_, shop_, pins);
    found = memo == nullptr ? std::make_shared<const Holdings>(std::move(fresh)) : memo->Keep(sketch, concerned, std::move(fresh));
  }
  if (found->sketches.empty()) {
    *why = found->why;
    return false;
  }
  sketch = found->sketches.front();
  return true;
}

// The same holes with the other part in the vise.
SetupSketch HeldByMate(const SetupSketch& sketch, const Machine& machine) {
  SetupSketch other = sketch;
  other.part = sketch.drilled[0].part == sketch.part ? sketch.drilled[1].part : sketch.drilled[0].part;
  std::replace(other.mates.begin(), other.mates.end(), other.part, sketch.part);
  std::replace(other.on_already.begin(), other.on_already.end(), other.part, sketch.part);
  const auto turn = [&](const PartId& part) -> Eigen::Matrix3d { return machine.FindPlace(part).value_or(Pose::Identity()).linear(); };
  other.up_P = turn(other.part).transpose() * (turn(sketch.part) * sketch.up_P);
  other.cuts = {sketch.drilled[0].part == other.part ? sketch.drilled[0].feature : sketch.drilled[1].feature};
  return other;
}

bool MatedHolder::HoldJointSetup(SetupSketch& sketch, const PieceStates& pieces, std::string* why) const {
  if (HoldMated(sketch, pieces, why)) return true;
  if (sketch.drilled.empty()) return false;
  SetupSketch other = HeldByMate(sketch, machine_);
  std::string why_other;
  if (!HoldMated(other, pieces, &why_other)) return false;
  sketch = other;
  return true;
}

// Of the pieces that are there.
void Advance(PieceStates& pieces, const SetupSketch& sketch) {
  const auto cut = [&](const PartId& part, const FeatureId& id, const Vec3& up_P) {
    const auto there = pieces.find(part);
    if (there == pieces.end()) return;
    PieceState& piece = there->second;
    const auto leave = sketch.leave_mm.find(id);
    ApplyCut(piece, *piece.part->Find(id), up_P, leave == sketch.leave_mm.end() ? 0 : leave->second);
  };
  for (const FeatureId& id : sketch.cuts) cut(sketch.part, id, sketch.up_P);
  for (const FeatureRef& ref : sketch.together) {
    if (ref.part == sketch.part) continue;
    const auto there = pieces.find(ref.part);
    if (there == pieces.end()) continue;
    const Feature& face = *there->second.part->Find(ref.feature);
    cut(ref.part, ref.feature, std::get<PlanarFace>(face.shape).normal_P);
  }
  for (const FeatureRef& ref : sketch.drilled) {
    if (ref.part == sketch.part) continue;
    const auto there = pieces.find(ref.part);
    if (there == pieces.end()) continue;
    const Feature& feature = *there->second.part->Find(ref.feature);
    cut(ref.part, ref.feature, -std::get<Hole>(feature.shape).into_P);
  }
  if (sketch.part_off && pieces.contains(sketch.part)) {
    PieceState& piece = pieces.at(sketch.part);
    ApplyPartOff(piece, *piece.part->Find(*sketch.part_off), sketch.part_off_leave_mm);
  }
}

using Places = std::vector<std::optional<std::size_t>>;

bool IsReady(const Node& node, const Places& place) {
  return std::all_of(node.waits.begin(), node.waits.end(), [&](std::size_t w) { return place[w].has_value(); });
}

// The setups in their turns on the machines: of those whose turn it is one that changes no device, then the part at
// hand, then the order of the list.
class Turns {
 public:
  Turns(const std::vector<Node>& nodes, const DeviceOrder& order) : nodes_(nodes), order_(order) {
    for (std::size_t i = 0; i < nodes.size(); ++i) ++left_[nodes[i].mount_on][order.turn[i]];
  }

  std::size_t Next(const Places& place) const {
    std::optional<std::size_t> best;
    std::tuple<bool, bool, std::size_t, std::size_t> best_key;
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const Node& node = nodes_[i];
      if (place[i] || order_.turn[i] != left_.at(node.mount_on).begin()->first || !IsReady(node, place)) continue;
      const auto now = now_.find(node.mount_on);
      const bool changes = now != now_.end() && now->second != order_.turn[i];
      const std::tuple key{changes, node.sketch.part != last_part_, node.part_rank, i};
      if (best && key >= best_key) continue;
      best = i;
      best_key = key;
    }
    FW_CHECK(best.has_value(), nodes_.size());
    return *best;
  }

  void Done(std::size_t i, const PartId& part) {
    auto& left = left_.at(nodes_[i].mount_on);
    now_[nodes_[i].mount_on] = order_.turn[i];
    if (--left.at(order_.turn[i]) == 0) left.erase(order_.turn[i]);
    last_part_ = part;
  }

 private:
  const std::vector<Node>& nodes_;
  const DeviceOrder& order_;
  std::map<MachineToolId, std::map<std::size_t, std::size_t>> left_;  // setups of each turn not done yet
  std::map<MachineToolId, std::size_t> now_;
  PartId last_part_;
};

PieceStates RawPieces(const Machine& machine) {
  PieceStates pieces;
  for (const Part& part : machine.parts) pieces[part.name] = RawPiece(part);
  return pieces;
}

// Those that some joint's setup will be held by.
PieceStates PiecesAsked(const Machine& machine, const std::vector<Node>& nodes) {
  std::set<PartId> asked;
  for (const Node& node : nodes) {
    if (!node.sketch.machine.empty()) continue;
    asked.insert(node.sketch.part);
    asked.insert(node.sketch.mates.begin(), node.sketch.mates.end());
    for (const FeatureRef& ref : node.sketch.drilled) asked.insert(ref.part);
  }
  PieceStates pieces;
  for (const Part& part : machine.parts) {
    if (asked.contains(part.name)) pieces[part.name] = RawPiece(part);
  }
  return pieces;
}

// What stands on the machine for each setup. A joint's setup is held as its pieces then allow: seen beforehand, once
// all that it waits for is done, in the order of the list. False when they wait for each other in a circle.
bool FindMounts(std::vector<Node>& nodes, const MatedHolder& holder, PieceStates pieces, const Shop& shop) {
  Places place(nodes.size());
  for (std::size_t count = 0; count < nodes.size(); ++count) {
    std::size_t i = 0;
    while (i < nodes.size() && (place[i] || !IsReady(nodes[i], place))) ++i;
    if (i == nodes.size()) return false;
    const SetupSketch* sketch = &nodes[i].sketch;
    SetupSketch held;
    if (sketch->machine.empty()) {
      held = *sketch;
      std::string why;
      holder.HoldJointSetup(held, pieces, &why);
      sketch = &held;
    }
    Advance(pieces, *sketch);
    nodes[i].mount = MountedDevice(sketch->device, shop);
    nodes[i].mount_on = sketch->machine;
    place[i] = count;
  }
  return true;
}

std::shared_ptr<const DeviceOrder> FindTurns(const std::vector<Node>& nodes, DeviceOrderMemo* memo) {
  std::vector<Standing> standing;
  for (const Node& node : nodes) standing.push_back({node.mount_on, node.mount, {node.waits.begin(), node.waits.end()}});
  return memo != nullptr ? memo->Find(standing) : std::make_shared<const DeviceOrder>(FindDeviceOrder(standing));
}

}  // namespace

Result<std::vector<OrderedSketch>> OrderSetups(const Machine& machine, const Shop& shop, const Subjects& subjects,
                                               const Strategy& strategy, const Choices& choices, SetupMemo* memo) {
  const MatedHolder holder(machine, shop, choices, memo != nullptr ? &memo->holdings() : nullptr);
  std::vector<Node> nodes = Graph(machine, shop, subjects, strategy).Make(choices);
  PieceStates pieces = PiecesAsked(machine, nodes);
  if (!FindMounts(nodes, holder, pieces, shop)) {
    return Unexpected(Error{ErrorCode::kNoPlan, "the parts wait for each other in a circle", {},
                            "take back a pin, or let one of the sizes be made to its limits", {}});
  }
  const std::shared_ptr<const DeviceOrder> order = FindTurns(nodes, memo != nullptr ? &memo->device_orders() : nullptr);
  Turns turns(nodes, *order);
  std::vector<OrderedSketch> ordered;
  ordered.reserve(nodes.size());
  Places place(nodes.size());
  while (ordered.size() < nodes.size()) {
    const std::size_t i = turns.Next(place);
    OrderedSketch next{std::move(nodes[i].sketch), {}};  // nothing asks for what has been placed
    if (next.sketch.machine.empty()) {
      std::string why;
      if (!holder.HoldJointSetup(next.sketch, pieces, &why)) {
        return Unexpected(Error{ErrorCode::kNoPlan, why, {}, "another technique for this joint", {}});
      }
    }
    for (const std::size_t w : nodes[i].waits) next.waits_for.push_back(*place[w]);
    std::sort(next.waits_for.begin(), next.waits_for.end());
    Advance(pieces, next.sketch);
    turns.Done(i, next.sketch.part);
    place[i] = ordered.size();
    ordered.push_back(std::move(next));
  }
  return ordered;
}

Result<std::vector<PieceStates>> PiecesBefore(const Machine& machine, const std::vector<OrderedSketch>& ordered) {
  std::vector<PieceStates> before;
  PieceStates pieces = RawPieces(machine);
  for (const OrderedSketch& item : ordered) {
    before.push_back(pieces);
    Advance(pieces, item.sketch);
  }
  before.push_back(pieces);
  return before;
}

}  // namespace fitwright::planner
