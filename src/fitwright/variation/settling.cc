#include "fitwright/variation/settling.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/joint_limits.h"

namespace fitwright::variation {
namespace {

SourceIndex AddDraw(SourceTable& sources, SpreadId spread, Law law, std::uint64_t key, double unit) {
  Source source;
  source.key = MixKeys(key, StableHash(IdOf(spread)));
  source.size_key = source.key;
  source.law = law;
  source.spread = spread;
  source.unit = unit;
  return sources.Add(source);
}

double SigmaOf(const SourceTable& sources, const Figures& figures, const Form& form) {
  double variance = 0;
  for (const Term& t : form.terms) variance += t.factor * t.factor * MomentsOf(sources, t.source, figures).variance;
  return std::sqrt(variance);
}

// rad.
void AddLeft(FormSum& sum, SourceTable& sources, const Settling& how, std::uint64_t key) {
  sum.Add(AddDraw(sources, SpreadId::kLeftBySetting, Law::kUniform, key, how.within_rad), 1);
  sum.Add(AddDraw(sources, SpreadId::kIndicatorReading, Law::kNormal, key, std::sqrt(2.0) / how.span_mm), 1);
}

}  // namespace

std::vector<SettledLean> SettledWhileWet(const Machine& machine, const Plan& plan, const KnownSetups* known) {
  std::vector<SettledLean> all;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    for (const Step& step : WholeSetup(plan, known, i).steps) {
      if (!step.settles || step.operation != Operation::kMeasure) continue;
      const auto r = std::find_if(machine.requirements.begin(), machine.requirements.end(),
                                  [&](const Requirement& q) { return q.name == step.settles->requirement; });
      if (r != machine.requirements.end()) all.push_back({&*r, *step.settles});
    }
  }
  return all;
}

double SetBore(SourceTable& sources, const Figures& figures, const FeatureMap& features, const SettledLean& settled, const Feature& own,
               const FeatureRef& other, const Feature& other_feature, std::uint64_t key, Form6& t_P) {
  const auto there = features.find(other);
  const Datum a = DatumOf(own);
  const Vec3 across = a.direction_P.cross(DatumOf(other_feature).direction_P);
  if (there == features.end() || across.norm() < 0.5) return 0;
  const Vec3 n = across.normalized();
  // What is cut leans by -t: -(t + turn) - other = left.
  FormSum as_held;
  as_held.Add(TurnAbout(t_P, n), -1);
  AddTurnAbout(as_held, there->second.pose, n, -1);
  const Form lean = as_held.Take();
  const double sigma = SigmaOf(sources, figures, lean);
  const double chance = sigma > 0 ? std::erfc(settled.how.within_rad / (sigma * std::sqrt(2.0))) : 0;
  if (sigma < settled.how.within_rad / std::sqrt(3.0)) return chance;
  FormSum turn;
  turn.Add(lean);
  AddLeft(turn, sources, settled.how, MixKeys(key, StableHash(settled.requirement->name.text())));
  AddTurn(t_P, a.point_P_mm, n, turn.Take());
  return chance;
}

void SetJoined(const AssemblyInput& input, const Figures& figures, const PlacedMap& placed, const SettledLean& settled, const PartId& part,
               const WetJoint& joint, std::uint64_t key, Form6& t_W) {
  const Requirement& r = *settled.requirement;
  const bool is_a = r.a.part == part;
  const FeatureRef& own = is_a ? r.a : r.b;
  const FeatureRef& other = is_a ? r.b : r.a;
  const auto stands = placed.find(other.part);
  if (own.part != part || stands == placed.end()) return;
  const auto add = [&](FormSum& sum, const Form6& place, const FeatureRef& ref, const Vec3& n, double factor) {
    sum.Add(TurnAbout(place, n), factor);
    const auto made = input.features->find(ref);
    if (made != input.features->end())
      AddTurnAbout(sum, made->second.pose, PlaceOf(*input.machine, ref.part).linear().transpose() * n, factor);
  };
  const Form6 before = t_W;
  std::uint64_t axis = 0;
  for (const Vec3& n : SquareTo(DatumInW(*input.machine, own).direction_P)) {
    FormSum against;
    add(against, before, own, n, -1);
    add(against, stands->second, other, n, 1);
    const Form lean = against.Take();
    Form pieces = lean;
    std::erase_if(pieces.terms, [&](const Term& t) { return (*input.sources)[t.source].law == Law::kPlay; });
    if (2 * SigmaOf(*input.sources, figures, pieces) > joint.reach_rad) continue;
    FormSum turn;
    turn.Add(lean);
    AddLeft(turn, *input.sources, settled.how, MixKeys(MixKeys(key, StableHash(r.name.text())), axis++));
    AddTurn(t_W, joint.point_W, n, turn.Take());
  }
}

}  // namespace fitwright::variation
