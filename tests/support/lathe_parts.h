// Turned parts of the compressor as data, and their whole plans: a route of the planner worked out
// and replayed on solids.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fitwright/files/project.h"
#include "fitwright/planner/build_plan.h"
#include "fitwright/replay/replay.h"
#include "tests/support/process_bench.h"

namespace fitwright::lathe_parts {

inline Shop WithoutBoringHead() {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.tools, [](const Tool& t) { return t.kind == ToolKind::kBoringHead; });
  return shop;
}

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
inline Feature OnAxis(const std::string& name, HoleUse use, double entry, double depth,
                      const Size& d) {
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
    text += fmt::format("{} {} {}: {}\n", setup.id.text(), setup.device.text(), setup.up,
                        setup.hold_words);
    for (const Step& step : setup.steps) {
      text += fmt::format("  {} {} [{}] {}\n", step.id.text(), WordOf(step.operation),
                          step.tool.text(), step.words);
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

inline bool Holds(const planner::Route& route, HoldingKind kind) {
  return std::any_of(route.setups.begin(), route.setups.end(),
                     [&](const planner::SetupSketch& s) { return s.holding == kind; });
}

// The first route (that holds the piece so, when a way is named) that works out into a plan,
// replayed.
inline Made MakeAndReplay(const Part& part, const Shop& shop, int quantity = 1,
                          std::optional<HoldingKind> held = std::nullopt) {
  Made made;
  const Machine machine = MachineOf(part, quantity);
  std::vector<std::string> why;
  const auto routes = planner::FindRoutes(part, shop, {}, &why);
  for (const std::string& reason : why) made.text += "no route: " + reason + "\n";
  for (const planner::Route& route : routes) {
    if (held && !Holds(route, *held)) continue;
    planner::Strategy strategy;
    strategy.routes[part.name] = route;
    const auto plan =
        planner::BuildPlan(machine, shop, planner::FindSubjects(machine), strategy, {});
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
  part.features = {AsSupplied(Outer("outside", 0, 20, Plain(5, 0.004))), Ends("near_end", 0, false),
                   Ends("far_end", 20, true), Edge("near_edge", "outside", true, 0.3),
                   Edge("far_edge", "outside", false, 0.3)};
  return part;
}

inline Part Crankpin() {
  Part part = MakeTurned("crankpin", 6, -40, 17.3);
  part.material = "silver steel";
  HoleWish wish;
  wish.entries = {Vec3(0, 0, 16.3)};
  wish.depth = 9;
  wish.diameter = Plain(2.05, 0.05);
  part.features = {AsSupplied(Outer("outside", 0, 16.3, Plain(6, 0.004))),
                   Ends("disc_end", 0, false), Ends("screw_end", 16.3, true),
                   Edge("lead", "outside", true, 0.3),
                   bench::Threaded("screw_hole", "M2.5", 2.5, 0.45, 6, wish)};
  return part;
}

inline Part Ring() {
  Part part = MakeTurned("ring", 26, -40, 2.2);
  part.material = "cast iron";
  part.features = {Outer("outside", 0, 1.2, Plain(24, 0.01)), Ends("lower", 0, false),
                   Ends("upper", 1.2, true),
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
  part.features = {Outer("rim", 0, 9, Plain(48)),
                   Outer("boss", 9, 17, Plain(14)),
                   Ends("rim_face", 0, false),
                   Ends("boss_face", 17, true),
                   OnAxis("bore", HoleUse::kBore, 17, 17, Fit(10, "H7", 0, 0.015)),
                   Make("belt_groove", groove)};
  return part;
}

inline Part Crankshaft() {
  Part part = MakeTurned("crankshaft", 10, -35, 73);
  part.material = "steel";
  ExternalThread thread;
  thread.on = FeatureId("nut_end");
  thread.at_start = false;
  thread.length_mm = 12;
  thread.designation = "M8";
  thread.major_mm = 8;
  thread.pitch_mm = 1.25;
  part.features = {AsSupplied(Outer("journal", 0, 57, Plain(10, 0.005))),
                   Outer("nut_end", 57, 72, Plain(8)),
                   Ends("disc_end", 0, false),
                   Ends("thread_end", 72, true),
                   Edge("lead", "nut_end", false, 1),
                   Edge("disc_edge", "journal", true, 0.5),
                   Make("nut_thread", thread)};
  return part;
}

inline Part CrankDisc() {
  Part part = MakeTurned("crank_disc", 36, -30, 9);
  part.material = "steel";
  part.features = {Outer("rim", 0, 8, Plain(34)), Ends("inner", 0, false), Ends("outer", 8, true),
                   Edge("rim_edge", "rim", false, 0.5)};
  return part;
}

// Its outside is the tube's own.
inline Part SpacerTube() {
  Part part = MakeTurned("spacer_tube", 25.5, -35, 14.75);
  part.material = "steel";
  part.stock.form = StockForm::kTube;
  part.stock.inner_diameter_mm = 21.5;
  part.features = {AsSupplied(Outer("outside", 0, 13.75, Plain(25.5))), Ends("near_end", 0, false),
                   Ends("far_end", 13.75, true),
                   AsSupplied(OnAxis("inside", HoleUse::kHole, 13.75, 13.75, Plain(21.5)))};
  return part;
}

inline Part Spacer() {
  Part part = MakeTurned("spacer", 18, -35, 6.05);
  part.material = "steel";
  part.features = {Outer("outside", 0, 5.05, Plain(16)), Ends("near_end", 0, false),
                   Ends("far_end", 5.05, true),
                   OnAxis("bore", HoleUse::kBore, 5.05, 5.05, Fit(10, "H7", 0, 0.015))};
  return part;
}

inline Part Washer() {
  Part part = MakeTurned("washer", 10, -35, 2);
  part.material = "steel";
  part.features = {AsSupplied(Outer("outside", 0, 1, Plain(10))), Ends("near_end", 0, false),
                   Ends("far_end", 1, true), OnAxis("hole", HoleUse::kHole, 1, 1, Plain(2.6))};
  return part;
}

inline Part RearCover() {
  Part part = MakeTurned("rear_cover", 55, -22, 10);
  part.features = {Outer("flange", 0, 6, Plain(54)), Outer("spigot", 6, 9, Plain(39.95, 0.05)),
                   Ends("outer", 0, false), Ends("spigot_face", 9, true),
                   Edge("spigot_lead", "spigot", false, 0.5)};
  return part;
}

inline Feature Cone(const std::string& name, bool internal, double from, double to, double at_from,
                    double at_to) {
  Taper taper;
  taper.internal = internal;
  taper.from_mm = from;
  taper.to_mm = to;
  taper.start_diameter = Plain(at_from, 0.02);
  taper.end_diameter = Plain(at_to, 0.02);
  return Make(name, taper);
}

// A taper outside, one inside the bore's mouth.
inline Part TaperPlug() {
  Part part = MakeTurned("taper_plug", 30, -30, 31);
  part.features = {Outer("head", 0, 10, Plain(28)),
                   Outer("nose", 10, 30, Plain(20)),
                   Ends("back", 0, false),
                   Ends("front", 30, true),
                   Cone("cone", false, 20, 30, 20, 17.5),
                   OnAxis("bore", HoleUse::kBore, 30, 30, Fit(8, "H7", 0, 0.015)),
                   Cone("mouth", true, 24, 30, 8, 11)};
  return part;
}

inline Feature KnurlOn(const std::string& name, const std::string& on, double from, double to,
                       double pitch) {
  Knurl knurl;
  knurl.on = FeatureId(on);
  knurl.from_mm = from;
  knurl.to_mm = to;
  knurl.pitch_mm = pitch;
  return Make(name, knurl);
}

inline Feature RoundEdge(const std::string& name, const std::string& on, bool at_start,
                         double radius) {
  Feature f = Edge(name, on, at_start, radius);
  std::get<RoundChamfer>(f.shape).rounded = true;
  return f;
}

// A knurled knob with a round edge (its other one filed), a vee groove, and a screw cut in the
// lathe.
inline Part Knob() {
  Part part = MakeTurned("knob", 32, -30, 41);
  part.material = "brass";
  Groove vee;
  vee.from_mm = 15;
  vee.to_mm = 19;
  vee.diameter = Plain(26, 0.05);
  vee.profile = GrooveProfile::kVee;
  vee.vee_deg = 90;
  ExternalThread thread;
  thread.on = FeatureId("stem");
  thread.at_start = false;
  thread.length_mm = 10;
  thread.designation = "M14x1.5";
  thread.major_mm = 14;
  thread.pitch_mm = 1.5;
  part.features = {Outer("rim", 0, 22, Plain(30)),
                   Outer("stem", 22, 40, Plain(14, 0.05)),
                   Ends("back", 0, false),
                   Ends("front", 40, true),
                   KnurlOn("grip", "rim", 4, 12, 1),
                   Make("vee", vee),
                   RoundEdge("rim_round", "rim", false, 1),
                   RoundEdge("back_round", "rim", true, 1.3),
                   Edge("stem_lead", "stem", false, 1.5),
                   Make("screw", thread)};
  return part;
}

// M16 right through, for which the shop below may have no tap.
inline Part RingNut() {
  Part part = MakeTurned("ring_nut", 30, -30, 11);
  part.material = "brass";
  HoleWish wish;
  wish.entries = {Vec3(0, 0, 10)};
  wish.depth = 10;
  wish.through = true;
  wish.diameter = Plain(14);
  part.features = {Outer("outside", 0, 10, Plain(28)), Ends("near_end", 0, false),
                   Ends("far_end", 10, true), bench::Threaded("thread", "M16", 16, 2, 10, wish)};
  return part;
}

// Eight diameters of it: too long to hang out of a chuck.
inline Part Spindle() {
  Part part = MakeTurned("spindle", 8, -40, 68);
  part.material = "steel";
  part.features = {Outer("outside", 0, 56, Plain(7, 0.02)), Ends("near_end", 0, false),
                   Ends("far_end", 56, true), Edge("far_edge", "outside", false, 0.5),
                   Edge("near_edge", "outside", true, 0.5)};
  return part;
}

// Two journals either side of a collar, cut to length with room for a centre in each end.
inline Part StepShaft() {
  Part part = MakeTurned("step_shaft", 26, -10, 90);
  part.material = "steel";
  part.features = {Outer("left_journal", 0, 30, Plain(14, 0.02)),
                   Outer("collar", 30, 45, Plain(24)),
                   Outer("right_journal", 45, 80, Plain(16, 0.02)),
                   Ends("left_end", 0, false),
                   Ends("right_end", 80, true),
                   Edge("left_edge", "left_journal", true, 0.5),
                   Edge("right_edge", "right_journal", false, 0.5)};
  return part;
}

// Bright bar too thick for the chuck's bore and too long to hang out of it; a bearing's seat in one
// end.
inline Part Roller() {
  Part part = MakeTurned("roller", 40, -1.5, 251.5);
  part.material = "steel";
  HoleWish wish;
  wish.use = HoleUse::kBore;
  wish.entries = {Vec3(0, 0, 250)};
  wish.depth = 22;
  wish.bottom = HoleBottom::kFlat;
  wish.diameter = Fit(16, "H7", 0, 0.018);
  part.features = {AsSupplied(Outer("outside", 0, 250, Plain(40, 0.02))),
                   Ends("plain_end", 0, false),
                   Ends("bored_end", 250, true),
                   Bored("seat", wish),
                   Edge("plain_edge", "outside", true, 0.5),
                   Edge("bored_edge", "outside", false, 0.5)};
  return part;
}

// A slim shank on a head that goes into no chuck's bore, a hole in its end.
inline Part HeadedSpindle() {
  Part part = MakeTurned("headed_spindle", 50, -40, 132);
  part.material = "steel";
  HoleWish wish;
  wish.entries = {Vec3(0, 0, 125)};
  wish.depth = 20;
  wish.diameter = Plain(8.5, 0.1);
  part.features = {Outer("head", 0, 15, Plain(48)),
                   Outer("shank", 15, 125, Plain(22, 0.02)),
                   Ends("head_end", 0, false),
                   Ends("shank_end", 125, true),
                   Bored("hole", wish),
                   Edge("shank_edge", "shank", false, 0.5)};
  return part;
}

// A long slim cone between two journals.
inline Part ConeShaft() {
  Part part = MakeTurned("cone_shaft", 29, -10, 175);
  part.material = "steel";
  part.features = {Outer("left_journal", 0, 45, Plain(24, 0.02)),
                   Outer("cone_blank", 45, 120, Plain(28)),
                   Outer("right_journal", 120, 165, Plain(24, 0.02)),
                   Cone("cone", false, 50, 120, 28, 25),
                   Ends("left_end", 0, false),
                   Ends("right_end", 165, true)};
  return part;
}

// A thin wide plate with a bore larger than a boring head reaches.
inline Part MountPlate() {
  Part part = bench::MakeSawnBlock("mount_plate", Vec3(-50, -48, 0), Vec3(50, 48, 8), 1);
  HoleWish wish;
  wish.use = HoleUse::kBore;
  wish.entries = {Vec3(4, 0, 8)};
  wish.depth = 8;
  wish.through = true;
  wish.diameter = Fit(48, "H7", 0, 0.025);
  part.features.push_back(Bored("seat", wish));
  return part;
}

// A thread that ends hard by a shoulder.
inline Part ShoulderStud() {
  Part part = MakeTurned("shoulder_stud", 14, -35, 31);
  part.material = "steel";
  ExternalThread thread;
  thread.on = FeatureId("thread_end");
  thread.at_start = false;
  thread.length_mm = 13;
  thread.designation = "M6";
  thread.major_mm = 6;
  thread.pitch_mm = 1;
  part.features = {Outer("head", 0, 16, Plain(12)),
                   Outer("thread_end", 16, 30, Plain(6)),
                   Ends("back", 0, false),
                   Ends("front", 30, true),
                   Edge("lead", "thread_end", false, 1),
                   Make("thread", thread)};
  return part;
}

// A block whose bore stands beside its middle.
inline Part GuideBlock() {
  Part part = bench::MakeSawnBlock("guide_block", Vec3(-30, -25, 0), Vec3(30, 25, 40), 1);
  HoleWish wish;
  wish.use = HoleUse::kBore;
  wish.entries = {Vec3(8, 5, 40)};
  wish.depth = 40;
  wish.through = true;
  wish.diameter = Fit(25, "H7", 0, 0.021);
  part.features.push_back(Bored("bore", wish));
  return part;
}

}  // namespace fitwright::lathe_parts
