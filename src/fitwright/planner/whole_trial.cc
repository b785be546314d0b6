#include "fitwright/planner/whole_trial.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/assembly_looks.h"
#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/fitting_bought.h"
#include "fitwright/planner/putting_on.h"

namespace fitwright::planner {
namespace {

// It was bonded to all that it goes onto before.
bool IsBonded(const Machine& machine, const review::AssemblyStep& way) {
  const std::vector<BondGroup> groups = FindBondGroups(machine);
  return std::any_of(groups.begin(), groups.end(), [&](const BondGroup& group) {
    const auto in = [&](const PartId& part) { return std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end(); };
    return !way.onto.empty() && std::all_of(way.parts.begin(), way.parts.end(), in) && std::all_of(way.onto.begin(), way.onto.end(), in);
  });
}

Step TurnOverStep(const Shop& shop) {
  Step turn;
  turn.operation = Operation::kMeasure;
  turn.words = "Turn and slide by hand what is to turn and slide, through its whole way: nothing binds, nothing rubs.";
  turn.caution = "By hand only, no belt, no air: nothing is guarded yet.";
  turn.time_min = shop.times.measure;
  return turn;
}

// What is one piece now that the step is done; taken into `groups`, which hold each part once.
std::set<PartId> Join(std::vector<std::set<PartId>>& groups, const review::AssemblyStep& way) {
  std::set<PartId> joined(way.parts.begin(), way.parts.end());
  joined.insert(way.onto.begin(), way.onto.end());
  for (auto group = groups.begin(); group != groups.end();) {
    const bool meets = std::any_of(group->begin(), group->end(), [&](const PartId& part) { return joined.contains(part); });
    if (meets) joined.insert(group->begin(), group->end());
    group = meets ? groups.erase(group) : std::next(group);
  }
  groups.push_back(joined);
  return joined;
}

// Left on the part that it was cut with.
bool IsOn(const review::AssemblyStep& way, const std::set<PartId>& stays_on) {
  const auto on = [&](const PartId& part) { return stays_on.contains(part); };
  return !way.onto.empty() && std::all_of(way.parts.begin(), way.parts.end(), on) && std::any_of(way.onto.begin(), way.onto.end(), on);
}

// Puts the machine together step by step.
class Fitter {
 public:
  Fitter(const Machine& machine, const Shop& shop, const AssembledBefore& before, Setup& setup)
      : machine_(machine), shop_(shop), before_(before), setup_(setup), looks_(machine, shop), bought_(machine, shop, before.pinned) {}

  void Run(const review::AssemblyOrder& order) {
    groups_ = {{order.first.begin(), order.first.end()}};
    for (const review::AssemblyStep& way : order.steps) {
      if (IsOn(way, before_.stays_on)) Join(groups_, way);
    }
    const std::vector<std::set<PartId>> together = groups_;
    for (const std::set<PartId>& joined : together) Look(joined);
    for (const review::AssemblyStep& way : order.steps) {
      if (!IsOn(way, before_.stays_on) && !StandsAlone(order, way)) PutOn(way);
    }
    Add(bought_.Left());
    for (const review::AssemblyStep& way : order.steps) {
      if (StandsAlone(order, way)) PutOn(way);
    }
    std::set<PartId> there;
    for (const std::set<PartId>& joined : groups_) there.insert(joined.begin(), joined.end());
    Add({TurnOverStep(shop_)});
    Add(bought_.Belts(there));
    Add(bought_.Guards());
    Add(looks_.Left());
  }

 private:
  // What carries it has no shape here (a motor), and nothing else goes onto it.
  static bool StandsAlone(const review::AssemblyOrder& order, const review::AssemblyStep& way) {
    return way.onto.empty() && std::none_of(order.steps.begin(), order.steps.end(), [&](const review::AssemblyStep& other) {
      return std::any_of(way.parts.begin(), way.parts.end(), [&](const PartId& part) { return Has(other.onto, part); });
    });
  }

  void PutOn(const review::AssemblyStep& way) {
    const bool bonded = IsBonded(machine_, way);
    const std::set<PartId> joined = Join(groups_, way);
    if (!bonded) {
      Add(looks_.Before(way, joined));
      setup_.steps.push_back(PutOnStep(machine_, shop_, way));
    }
    Look(joined);
  }

  void Look(const std::set<PartId>& joined) {
    Add(bought_.Fit(joined));
    Add(looks_.After(joined));
  }

  void Add(std::vector<Step> steps) {
    for (Step& step : steps) setup_.steps.push_back(std::move(step));
  }

  const Machine& machine_;
  const Shop& shop_;
  const AssembledBefore& before_;
  Setup& setup_;
  AssemblyLooks looks_;
  FittingBought bought_;
  std::vector<std::set<PartId>> groups_;
};

}  // namespace

namespace {

// Something turns by power: a belt or a pressed-on hub is driven by what stands beside the machine.
bool Drives(const Machine& machine) {
  return std::any_of(machine.joints.begin(), machine.joints.end(), [](const Joint& j) { return j.kind == JointKind::kBelt; });
}

// Its minutes are not cutting and not counted.
Step BeforeItRuns() {
  Step step;
  step.operation = Operation::kWash;
  step.words = "Before it runs go through the cautions at the end of this book, each in its turn: guards, earth and fuse, where there is pressure the relief valve and the proof with water, then the "
               "first run, slow, behind a screen and not left alone. Until each is done it does not run.";
  step.caution = "Local codes and licensed practice govern.";
  return step;
}

}  // namespace

std::optional<Setup> WholeTrial(const Machine& machine, const Shop& shop, const Subjects& subjects, const AssembledBefore& before) {
  const auto bench = std::find_if(shop.machines.begin(), shop.machines.end(),
                                  [](const MachineTool& tool) { return tool.kind == MachineToolKind::kBench; });
  if (bench == shop.machines.end() || subjects.together.steps.empty()) return std::nullopt;
  Setup setup;
  setup.machine = bench->name;
  setup.holding = HoldingKind::kBench;
  setup.hold_words = "On the bench, on clean paper; the whole machine, as it will stand.";
  std::vector<PartId> made;
  for (const PartUse& use : machine.uses) {
    setup.parts.push_back({use.part, use.X_WP.inverse(), setup.parts.empty()});
    made.push_back(use.part);
  }
  setup.zero.point_P_mm = setup.parts.front().X_PS.translation();
  std::string wash = "Take the last burrs off every part, wash them all, a brush or a pipe cleaner through every hole and thread, and let "
                     "them drain and dry; what is bought stays in its paper until it goes in.";
  const bool bearings = std::any_of(machine.joints.begin(), machine.joints.end(), [](const Joint& j) { return j.kind == JointKind::kBearingOnShaft; });
  if (bearings) wash += " What has its bearings in it from a trial is wiped, not washed.";
  if (!before.stays_on.empty()) {
    wash += fmt::format(" {} were cut in one go and stay together: wash them as one, look that the screws are tight.",
                        NamesOf({before.stays_on.begin(), before.stays_on.end()}));
  }
  setup.steps.push_back(WashStep(made, wash));
  setup.steps.back().caution = "Eye protection; no compressed air: it drives chips into eyes and bearings.";
  Fitter(machine, shop, before, setup).Run(subjects.together);
  if (Drives(machine)) setup.steps.push_back(BeforeItRuns());
  setup.reasons.push_back("What does not go together now is found while it can still be mended on the machines as they stand.");
  return setup;
}

}  // namespace fitwright::planner
