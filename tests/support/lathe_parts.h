// Turned parts of the compressor as data, and their whole plans: a route of the planner worked out and
// replayed on solids.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/planner/build_plan.h"
#include "fitwright/replay/replay.h"
#include "tests/support/process_bench.h"

namespace fitwright::lathe_parts {

using bench::Bored;
using bench::Face;
using bench::Fit;
using bench::HoleWish;
using bench::Make;
using bench::MakeTurned;
using bench::Outer;
using bench::Plain;

inline Feature AsSupplied(Feature feature) {
  feature.finish = Finish::kAsSupplied;
  return feature;
}

inline Feature Edge(const std::string& name, const std::string& on, bool at_start, double leg) {
  RoundChamfer chamfer;
  chamfer.on = FeatureId(on);
  chamfer.at_start = at_start;
  chamfer.axial_mm = chamfer.radial_mm = leg;
  return Make(name, chamfer);
}

inline Feature Ends(const std::string& name, double z, bool up) {
  return Face(name, up ? Vec3(Vec3::UnitZ()) : Vec3(-Vec3::UnitZ()), up ? z : -z);
}

// A hole down the axis from the +z side.
inline Feature OnAxis(const std::string& name, HoleUse use, double entry, double depth, const Size& d) {
  HoleWish wish;
  wish.use = use;
  wish.entries = {Vec3(0, 0, entry)};
  wish.depth = depth;
  wish.diameter = d;
  wish.through = true;
  return Bored(name, wish);
}

inline Machine MachineOf(const Part& part, int quantity = 1) {
  Machine machine;
  machine.name = "lathe work";
  machine.parts = {part};
  PartUse use;
  use.part = part.name;
  use.quantity = quantity;
  machine.uses = {use};
  return machine;
}

struct Made {
  Plan plan;
  ReplayReport report;
  bool ok = false;
  std::string text;  // the plan's words, what the replay says, why there is none
};

inline std::string TextOf(const Plan& plan) {
  std::string text;
  for (const Setup& setup : plan.setups) {
    text += fmt::format("{} {} {}: {}\n", setup.id.text(), setup.device.text(), setup.up, setup.hold_words);
    for (const Step& step : setup.steps) {
      text += fmt::format("  {} {} [{}] {}\n", step.id.text(), WordOf(step.operation), step.tool.text(), step.words);
    }
  }
  for (const std::string& warning : plan.warnings) text += "warning: " + warning + "\n";
  return text;
}

inline std::string TextOf(const ReplayReport& report) {
  std::string text;
  for (const ReplayPart& part : report.parts) {
    text += fmt::format("{}: difference {}\n", part.name.text(), part.difference_mm3);
    for (const ReplayViolation& v : part.violations) {
      text += fmt::format("  {} {}: {}\n", v.step.text(), v.rule, v.say);
    }
  }
  return text;
}

// The first route that works out into a plan, replayed.
inline Made MakeAndReplay(const Part& part, const Shop& shop, int quantity = 1) {
  Made made;
  const Machine machine = MachineOf(part, quantity);
  std::vector<std::string> why;
  const auto routes = planner::FindRoutes(part, shop, {}, &why);
  for (const std::string& reason : why) made.text += "no route: " + reason + "\n";
  for (const planner::Route& route : routes) {
    planner::Strategy strategy;
    strategy.routes[part.name] = route;
    const auto plan = planner::BuildPlan(machine, shop, planner::FindSubjects(machine), strategy, {});
    if (!plan) {
      made.text += "no plan: " + plan.error().message + "\n";
      continue;
    }
    made.plan = *plan;
    made.text += TextOf(*plan);
    const auto report = replay::Replay(machine, shop, *plan);
    if (!report) {
      made.text += Format(report.error());
      return made;
    }
    made.report = *report;
    made.text += TextOf(*report);
    made.ok = report->ok;
    return made;
  }
  return made;
}

inline const Step* FindStep(const Plan& plan, Operation operation) {
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.operation == operation) return &step;
    }
  }
  return nullptr;
}

// ---- the parts; z = 0 at one end, lengths along +z

inline Part GudgeonPin() {
  Part part = MakeTurned("gudgeon_pin", 5, -40, 21);
  part.material = "silver steel";
  part.features = {AsSupplied(Outer("outside", 0, 20, Plain(5, 0.004))), Ends("near_end", 0, false), Ends("far_end", 20, true),
                   Edge("near_edge", "outside", true, 0.3), Edge("far_edge", "outside", false, 0.3)};
  return part;
}

inline Part Crankpin() {
  Part part = MakeTurned("crankpin", 6, -40, 17.3);
  part.material = "silver steel";
  HoleWish wish;
  wish.entries = {Vec3(0, 0, 16.3)};
  wish.depth = 9;
  wish.diameter = Plain(2.05, 0.05);
  part.features = {AsSupplied(Outer("outside", 0, 16.3, Plain(6, 0.004))), Ends("disc_end", 0, false), Ends("screw_end", 16.3, true),
                   Edge("lead", "outside", true, 0.3),
                   bench::Threaded("screw_hole", "M2.5", 2.5, 0.45, 6, wish)};
  return part;
}

inline Part Ring() {
  Part part = MakeTurned("ring", 26, -40, 2.2);
  part.material = "cast iron";
  part.features = {Outer("outside", 0, 1.2, Plain(24, 0.01)), Ends("lower", 0, false), Ends("upper", 1.2, true),
                   OnAxis("bore", HoleUse::kBore, 1.2, 1.2, Plain(21.8, 0.05))};
  return part;
}

inline Part DrivenPulley() {
  Part part = MakeTurned("driven_pulley", 50, -25, 18);
  Groove groove;
  groove.from_mm = 2;
  groove.to_mm = 7;
  groove.diameter = Plain(40, 0.05);
  groove.profile = GrooveProfile::kRound;
  part.features = {Outer("rim", 0, 9, Plain(48)), Outer("boss", 9, 17, Plain(14)), Ends("rim_face", 0, false),
                   Ends("boss_face", 17, true), OnAxis("bore", HoleUse::kBore, 17, 17, Fit(10, "H7", 0, 0.015)),
                   Make("belt_groove", groove)};
  return part;
}

}  // namespace fitwright::lathe_parts
