// The members of the plan's structs and their keys in JSON, said once for writing and for reading.
// Internal to files/.
//
// An Io has: kReads; Key(key, member) for a member that is always written; Extra(key, member) for
// one that is left out while it is empty, 0 or false; Share(key, member) for a Key within 0..1;
// Word(key, member, words) for text that is one of a closed list; Derived(key, value) for what
// follows from other members: written for the reader of the file, and when read back it must agree.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/model/plan_origin.h"

namespace fitwright::files {

template <typename Io, typename T>
using Of = std::conditional_t<Io::kReads, T&, const T&>;

template <typename Io>
void Fields(Io& io, Of<Io, Contact> c) {
  io.Key("kind", c.kind);
  io.Key("surface", c.surface);
  io.Key("point_P_mm", c.point_P_mm);
  io.Key("normal_P", c.normal_P);
  io.Extra("lifts", c.lifts);
}

template <typename Io>
void Fields(Io& io, Of<Io, Box3> b) {
  io.Key("min_mm", b.min_mm);
  io.Key("max_mm", b.max_mm);
}

template <typename Io>
void Fields(Io& io, Of<Io, Axis3> a) {
  io.Key("point_mm", a.point_mm);
  io.Key("direction", a.direction);
}

template <typename Io>
void Fields(Io& io, Of<Io, FixtureBox> b) {
  io.Key("box_F", b.box_F);
  io.Key("X_SF", b.X_SF);
}

template <typename Io>
void Fields(Io& io, Of<Io, FixtureCylinder> c) {
  io.Key("axis_S", c.axis_S);
  io.Key("from_mm", c.from_mm);
  io.Key("to_mm", c.to_mm);
  io.Key("outer_mm", c.outer_mm);
  io.Key("inner_mm", c.inner_mm);
}

template <typename Io>
void Fields(Io& io, Of<Io, FixtureSolid> f) {
  io.Key("role", f.role);
  io.Key("shape", f.shape);
  io.Extra("grips", f.grips);
  io.Extra("supports", f.supports);
  io.Extra("grip_normal_S", f.grip_normal_S);
}

template <typename Io>
void Fields(Io& io, Of<Io, PathPiece> p) {
  io.Key("kind", p.kind);
  io.Key("points_S_mm", p.points_S_mm);
  io.Extra("from_z_mm", p.from_z_mm);
  io.Extra("set_diameter_mm", p.set_diameter_mm);
  io.Extra("turns_rad", p.turns_rad);
  io.Extra("table_deg", p.table_deg);
}

template <typename Io>
void Fields(Io& io, Of<Io, Coordinate> c) {
  io.Key("hole", c.hole);
  io.Key("x_mm", c.x_mm);
  io.Key("y_mm", c.y_mm);
  io.Key("z_mm", c.z_mm);
  io.Extra("table_deg", c.table_deg);
}

template <typename Io>
void Fields(Io& io, Of<Io, Aim> a) {
  io.Key("kind", a.kind);
  io.Key("target_mm", a.target_mm);
  io.Key("lower_mm", a.lower_mm);
  io.Key("upper_mm", a.upper_mm);
  io.Extra("mate", a.mate);
  io.Extra("clearance_mm", a.clearance_mm);
  io.Extra("clearance_lower_mm", a.clearance_lower_mm);
  io.Extra("clearance_upper_mm", a.clearance_upper_mm);
  io.Extra("closes", a.closes);
}

template <typename Io>
void Fields(Io& io, Of<Io, MeasureLine> m) {
  io.Key("feature", m.feature);
  io.Key("instrument", m.instrument);
  io.Key("words", m.words);
  io.Key("lower_mm", m.lower_mm);
  io.Key("upper_mm", m.upper_mm);
  io.Extra("between", m.between);
}

template <typename Io>
void Fields(Io& io, Of<Io, Settling> s) {
  io.Key("requirement", s.requirement);
  io.Key("within_rad", s.within_rad);
  io.Key("span_mm", s.span_mm);
}

template <typename Io>
void Fields(Io& io, Of<Io, Step> s) {
  io.Key("id", s.id);
  io.Key("features", s.features);
  io.Extra("holes", s.holes);
  io.Key("operation", s.operation);
  io.Extra("words", s.words);
  io.Extra("finishes", s.finishes);
  io.Key("tool", s.tool);
  io.Key("rpm", s.rpm);
  io.Key("feed_mm_min", s.feed_mm_min);
  io.Key("coordinates", s.coordinates);
  io.Key("depth_mm", s.depth_mm);
  io.Extra("levels_mm", s.levels_mm);
  io.Key("time_min", s.time_min);
  io.Key("aim", s.aim);
  io.Key("measure", s.measure);
  io.Key("caution", s.caution);
  io.Extra("through", s.through);
  io.Extra("joints", s.joints);
  io.Extra("parts", s.parts);
  io.Extra("path", s.path);
  io.Extra("wait_min", s.wait_min);
  io.Extra("settles", s.settles);
}

template <typename Io>
void Fields(Io& io, Of<Io, Zero> z) {
  io.Key("point_P_mm", z.point_P_mm);
  io.Key("routine", z.routine);
  io.Extra("witness", z.witness);
  io.Extra("x_from", z.x_from);
  io.Extra("y_from", z.y_from);
  io.Extra("z_from", z.z_from);
}

template <typename Io>
void Fields(Io& io, Of<Io, AngleSetting> a) {
  io.Key("by", a.by);
  io.Key("angle_deg", a.angle_deg);
  io.Extra("stack_mm", a.stack_mm);
  io.Extra("blocks_mm", a.blocks_mm);
  io.Extra("line_mm", a.line_mm);
}

template <typename Io>
void Fields(Io& io, Of<Io, PartPose> p) {
  io.Key("part", p.part);
  io.Key("X_PS", p.X_PS);
  io.Key("held", p.held);
}

inline std::vector<PartId> PartsOf(const Setup& setup) {
  std::vector<PartId> names;
  for (const PartPose& pose : setup.parts) names.push_back(pose.part);
  return names;
}

inline std::optional<Pose> FirstPoseOf(const Setup& setup) {
  if (setup.parts.empty()) return std::nullopt;
  return setup.parts.front().X_PS;
}

// The surfaces that the setup locates on, each once, in the order of the hands.
inline std::vector<FeatureRef> DatumsOf(const Setup& setup) {
  std::vector<FeatureRef> datums;
  for (const Contact& contact : setup.contacts) {
    if (contact.surface.feature.empty()) continue;
    if (std::find(datums.begin(), datums.end(), contact.surface) != datums.end()) continue;
    datums.push_back(contact.surface);
  }
  return datums;
}

template <typename Io>
void Fields(Io& io, Of<Io, Setup> s) {
  io.Key("id", s.id);
  io.Key("number", s.number);
  io.Key("machine", s.machine);
  io.Key("holding", s.holding);
  io.Key("device", s.device);
  io.Extra("hold_words", s.hold_words);
  io.Key("up", s.up);
  io.Key("poses", s.parts);
  io.Derived("parts", PartsOf(s));
  io.Derived("X_PS", FirstPoseOf(s));
  io.Extra("contacts", s.contacts);
  io.Derived("datums", DatumsOf(s));
  io.Extra("keeps_chucking", s.keeps_chucking);
  io.Key("zero", s.zero);
  io.Extra("fixtures", s.fixtures);
  io.Extra("opening_mm", s.opening_mm);
  io.Extra("grip_depth_mm", s.grip_depth_mm);
  io.Extra("parallels_mm", s.parallels_mm);
  io.Key("time_min", s.time_min);
  io.Key("waits_for", s.waits_for);
  io.Extra("leave_it_in", s.leave_it_in);
  io.Extra("cautions", s.cautions);
  io.Extra("reasons", s.reasons);
  io.Extra("angle", s.angle);
  io.Extra("tailstock_over_mm", s.tailstock_over_mm);
  io.Key("steps", s.steps);
}

template <typename Io>
void Fields(Io& io, Of<Io, TechniqueOption> t) {
  io.Key("technique", t.technique);
  io.Extra("first", t.first);
  io.Share("odds", t.odds);
  io.Key("time_min", t.time_min);
}

// A technique is chosen for a joint, or for a requirement that it serves.
inline std::vector<std::string_view> JointPlanKinds() {
  std::vector<std::string_view> words;
  for (const auto& entry : WordsOf<JointKind>::kAll) words.push_back(entry.word);
  for (const auto& entry : WordsOf<RequirementKind>::kAll) words.push_back(entry.word);
  return words;
}

template <typename Io>
void Fields(Io& io, Of<Io, JointPlan> j) {
  io.Key("name", j.name);
  io.Word("kind", j.kind, JointPlanKinds());
  io.Key("parts", j.parts);
  io.Key("technique", j.technique);
  io.Extra("first", j.first);
  io.Key("alternatives", j.alternatives);
  io.Extra("reason", j.reason);
}

template <typename Io>
void Fields(Io& io, Of<Io, PlannedPart> p) {
  io.Key("name", p.name);
  io.Key("quantity", p.quantity);
  io.Key("material", p.material);
  io.Key("stock", p.stock);
  io.Key("mass_g", p.mass_g);
}

template <typename Io>
void Fields(Io& io, Of<Io, CauseShare> c) {
  io.Key("source", c.source);
  io.Key("share", c.share);
  io.Extra("group", c.group);
}

template <typename Io>
void BandFields(Io& io, Of<Io, Chance> c) {
  io.Share("low", c.low);
  io.Share("high", c.high);
  io.Share("shop_low", c.shop_low);
  io.Share("shop_high", c.shop_high);
}

template <typename Io>
void Fields(Io& io, Of<Io, RequirementOdds> r) {
  io.Key("name", r.name);
  io.Key("kind", r.kind);
  io.Key("limits", r.limits);
  io.Share("odds", r.chance.odds);
  BandFields<Io>(io, r.chance);
  const bool angle = r.kind == RequirementKind::kSquare;
  io.Key(angle ? "mean_rad" : "mean_mm", r.mean);
  io.Key(angle ? "sigma_rad" : "sigma_mm", r.sigma);
  io.Key("causes", r.causes);
}

// The requirements stand beside, as a member of the plan.
template <typename Io>
void Fields(Io& io, Of<Io, Odds> o) {
  io.Share("all", o.all.odds);
  BandFields<Io>(io, o.all);
  io.Key("builds", o.builds);
  io.Extra("seed", o.seed);
  io.Extra("blunders_expected", o.blunders_expected);
  io.Extra("assumed", o.assumed);
}

template <typename Io>
void Fields(Io& io, Of<Io, Pin> p) {
  io.Key("kind", p.kind);
  io.Key("subject", p.subject);
  io.Key("value", p.value);
  io.Extra("first", p.first);
}

template <typename Io>
void Fields(Io& io, Of<Io, Advice> a) {
  io.Key("say", a.say);
  io.Key("pins", a.pins);
  io.Share("odds_before", a.odds_before);
  io.Share("odds_after", a.odds_after);
  io.Key("minutes_delta", a.minutes_delta);
  io.Extra("other", a.other);
  io.Extra("gain_low", a.gain_low);
  io.Extra("gain_high", a.gain_high);
}

template <typename Io>
void Fields(Io& io, Of<Io, BuyLine> b) {
  io.Key("what", b.what);
  io.Key("quantity", b.quantity);
  io.Key("why", b.why);
}

template <typename Io>
void Fields(Io& io, Of<Io, PlanChoice> c) {
  io.Key("name", c.name);
  io.Share("odds", c.odds);
  io.Key("hours_expected", c.hours_expected);
  io.Key("pins", c.pins);
}

template <typename Io>
void Fields(Io& io, Of<Io, MovedAim> a) {
  io.Key("feature", a.feature);
  io.Key("aim_before_mm", a.aim_before_mm);
  io.Key("lower_before_mm", a.lower_before_mm);
  io.Key("upper_before_mm", a.upper_before_mm);
  io.Key("aim_mm", a.aim_mm);
  io.Key("lower_mm", a.lower_mm);
  io.Key("upper_mm", a.upper_mm);
}

template <typename Io>
void Fields(Io& io, Of<Io, OddsMoved> o) {
  io.Key("name", o.name);
  io.Share("odds_before", o.before);
  io.Share("odds_after", o.after);
}

template <typename Io>
void Fields(Io& io, Of<Io, PlannedAnew> a) {
  io.Key("build", a.build);
  io.Key("setups_done", a.setups_done);
  io.Key("readings", a.readings);
  io.Share("odds_before", a.odds_before);
  io.Share("odds_after", a.odds_after);
  io.Key("hours_before", a.hours_before);
  io.Key("hours_after", a.hours_after);
  io.Key("setups_changed", a.setups_changed);
  io.Key("changes", a.changes);
  io.Key("aims", a.aims);
  io.Key("why", a.why);
}

template <typename Io>
void Fields(Io& io, Of<Io, Plan> p) {
  io.Key("project", p.project);
  io.Key("version", p.version);
  io.Key("inputs_hash", p.inputs_hash);
  io.Key("seed", p.seed);
  io.Key("hours_cutting", p.hours_cutting);
  io.Key("hours_expected", p.hours_expected);
  io.Key("odds", p.odds);
  io.Key("parts", p.parts);
  io.Key("setups", p.setups);
  io.Key("joints", p.joints);
  io.Key("requirements", p.odds.requirements);
  io.Key("advice", p.advice);
  io.Key("choices", p.choices);
  io.Key("buy", p.buy);
  io.Key("assumed", p.assumed);
  io.Key("warnings", p.warnings);
}

// Members of the plan's object.
template <typename Io>
void Fields(Io& io, Of<Io, PlanOrigin> o) {
  io.Extra("decided", o.decided);
  io.Extra("anew", o.anew);
}

template <typename Io>
void Fields(Io& io, Of<Io, ReplayViolation> v) {
  io.Key("step", v.step);
  io.Key("rule", v.rule);
  io.Key("say", v.say);
}

template <typename Io>
void Fields(Io& io, Of<Io, ReplayPart> p) {
  io.Key("name", p.name);
  io.Key("steps", p.steps);
  io.Key("violations", p.violations);
  io.Key("design_volume_mm3", p.design_volume_mm3);
  io.Key("made_volume_mm3", p.made_volume_mm3);
  io.Key("difference_mm3", p.difference_mm3);
}

template <typename Io>
void Fields(Io& io, Of<Io, ReplayReport> r) {
  io.Key("ok", r.ok);
  io.Key("parts", r.parts);
}

}  // namespace fitwright::files
