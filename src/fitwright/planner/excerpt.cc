#include "fitwright/planner/excerpt.h"

#include <algorithm>
#include <iterator>

#include "fitwright/planner/build_plan.h"

namespace fitwright::planner {
namespace {

// Its look turns a piece, whatever else is asked of that.
bool MaySettle(const Requirement& r) { return r.kind == RequirementKind::kSquare || r.kind == RequirementKind::kParallel; }

}  // namespace

Excerpt ExcerptOf(const Machine& machine, const std::set<PartId>& parts, const std::set<std::size_t>& requirements) {
  Excerpt excerpt;
  excerpt.parts = parts;
  Machine& cut = excerpt.machine;
  cut.name = machine.name;
  cut.display_unit = machine.display_unit;
  cut.bought = machine.bought;
  cut.bought_uses = machine.bought_uses;
  const auto stays = [&](const PartId& id) {
    const PartId sheet = SheetIdOf(id);
    return parts.contains(sheet) || machine.FindBought(sheet) != nullptr;
  };
  std::copy_if(machine.parts.begin(), machine.parts.end(), std::back_inserter(cut.parts), [&](const Part& p) { return stays(p.name); });
  std::copy_if(machine.uses.begin(), machine.uses.end(), std::back_inserter(cut.uses), [&](const PartUse& u) { return stays(u.part); });
  std::copy_if(machine.joints.begin(), machine.joints.end(), std::back_inserter(cut.joints),
               [&](const Joint& j) { return stays(j.fixed.part) && stays(j.moving.part); });
  for (std::size_t i = 0; i < machine.requirements.size(); ++i) {
    const Requirement& r = machine.requirements[i];
    if (requirements.contains(i) || (MaySettle(r) && stays(r.a.part) && stays(r.b.part))) cut.requirements.push_back(r);
  }
  excerpt.subjects = FindDecisions(cut);
  return excerpt;
}

Strategy StrategyIn(const Excerpt& excerpt, const Strategy& strategy) {
  Strategy in;
  const Subjects& subjects = excerpt.subjects;
  for (const PatternJoint& p : subjects.patterns) in.patterns[p.joint] = strategy.patterns.at(p.joint);
  for (const FlushPair& p : subjects.flush) in.flush[p.requirement] = strategy.flush.at(p.requirement);
  for (const SharedHoles& p : subjects.shared) in.shared[p.subject] = strategy.shared.at(p.subject);
  for (const SuitPair& p : subjects.suits) {
    in.suits[p.requirement] = strategy.suits.at(p.requirement);
    const auto share = strategy.aim_share.find(p.requirement);
    if (share != strategy.aim_share.end()) in.aim_share.insert(*share);
  }
  for (const PartUse& use : excerpt.machine.uses) in.routes[use.part] = strategy.routes.at(use.part);
  in.own_aims = strategy.own_aims;
  return in;
}

std::optional<Judged> JudgeExcerpt(const Excerpt& excerpt, const Shop& shop, const Strategy& in, const PlannerOptions& options) {
  const Result<PlanToJudge> plan = BuildPlanToJudge(excerpt.machine, shop, excerpt.subjects, in, {}, options.cuts, *options.setups);
  if (!plan) return std::nullopt;
  const Result<Judged> judged = Judge(excerpt.machine, shop, *plan, options);
  return judged ? std::optional<Judged>(*judged) : std::nullopt;
}

}  // namespace fitwright::planner
