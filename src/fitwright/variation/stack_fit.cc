#include "fitwright/variation/stack_fit.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/cut_reader.h"

namespace fitwright::variation {
namespace {

constexpr double kLeastEffect = 0.1;  // mm of value per mm of length

void PutIn(Form& form, SourceIndex length, const Form& made) {
  const double factor = FactorOf(form, length);
  if (factor == 0) return;
  std::erase_if(form.terms, [&](const Term& t) { return t.source == length; });
  form = Plus(form, made, factor);
}

void PutIn(Form6& t, SourceIndex length, const Form& made) {
  for (std::size_t i = 0; i < 3; ++i) {
    PutIn(t.w[i], length, made);
    PutIn(t.d[i], length, made);
  }
}

void PutIn(FloatLimits& limits, SourceIndex length, const Form& made) {
  for (FloatLimit& limit : limits.limits) {
    for (Form& form : limit.offset) PutIn(form, length, made);
    PutIn(limit.room, length, made);
  }
}

void PutIn(RequirementForms& r, SourceIndex length, const Form& made) {
  for (Form& form : r.linear) PutIn(form, length, made);
  for (auto& pair : r.vectors) {
    for (Form& form : pair) PutIn(form, length, made);
  }
  PutIn(r.screws, length, made);
  for (FloatLimits& limits : r.stack) PutIn(limits, length, made);
}

// Setups seated on the piece later share its displacement.
void PutIn(FeatureForms& feature, SourceIndex length, const Form& made) {
  PutIn(feature.pose.own, length, made);
  if (feature.pose.base == nullptr) return;
  Form6 base = *feature.pose.base;
  PutIn(base, length, made);
  if (base != *feature.pose.base) feature.pose.base = std::make_shared<const Form6>(base);
}

void PutInAll(Analysis& out, SourceIndex length, const Form& made) {
  for (auto& [ref, feature] : out.features) PutIn(feature, length, made);
  for (auto& [part, t] : out.placed_W) PutIn(t, length, made);
  for (Play& play : out.plays) PutIn(play.within, length, made);
  for (RequirementForms& r : out.requirements) PutIn(r, length, made);
}

// The rest of the value as the trial had it.
Form MeasuredRest(Analysis& out, const StackFit& fit, const Form& value) {
  FormSum sum;
  sum.Add(value.constant);
  for (const Term& t : value.terms) {
    if (t.source == fit.length) continue;
    const Source source = out.sources[t.source];
    if (source.law == Law::kPlay) continue;
    if (source.spread == SpreadId::kBurrAtJoint) {
      Source own = source;
      own.key = MixKeys(source.key, StableHash(fit.requirement.text(), 0x747269616c));
      sum.Add(out.sources.Add(own), t.factor);
    } else if (t.source < fit.known_before || source.spread == SpreadId::kBearingPlay) {
      sum.Add(t.source, t.factor);
    }
  }
  return sum.Take();
}

Unexpected Cannot(const RequirementId& requirement, const std::string& why) {
  return Unexpected(Error{ErrorCode::kNoPlan,
                          fmt::format("{}: {}", requirement.text(), why),
                          requirement.text(),
                          "make the length to its own limits",
                          {}});
}

}  // namespace

Status CutReader::FitStack(const Step& step, const FeatureRef& ref, const PlanarFace& face,
                           FeatureForms& forms) {
  const Aim& aim = *step.aim;
  const auto trial = trials_.find(aim.closes);
  if (trial == trials_.end())
    return Cannot(aim.closes, fmt::format("{} is made to a trial that no step before it makes",
                                          ref.text()));
  const Feature& feature = *FindFeature(machine_, ref);
  StackFit fit;
  fit.requirement = aim.closes;
  fit.aim = aim.clearance_mm;
  Source length;
  length.key = MixKeys(KeyOf(ref), StableHash(aim.closes.text(), 0x636c6f7365));
  length.law = Law::kPlay;
  length.spread = SpreadId::kJointPlay;
  fit.length = out_.sources.Add(length);
  FormSum error;
  const std::uint64_t visit = MixKeys(KeyOf(ref), 0x666974);
  error.Add(WorkedSource(step, CreptUp(), feature, aim.clearance_mm - aim.clearance_upper_mm,
                         aim.clearance_mm - aim.clearance_lower_mm, visit, ref.part),
            1);
  AddReadings(error, InstrumentFor(step, feature), feature, 0, -1);
  fit.error = error.Take();
  // The difference of two readings with one instrument: its setting drops out.
  FormSum reading;
  const SpreadId spread = ReadingOf(trial->second, feature);
  for (const auto& [push, sign] : {std::pair(1, 1.0), std::pair(2, -1.0)}) {
    const std::uint64_t key = MixKeys(visit, static_cast<std::uint64_t>(push));
    reading.Add(Draw(spread, Law::kNormal, key, 1), sign);
    reading.Add(Draw(SpreadId::kBurrAtJoint, Law::kHalfNormal, key, 1), -1);
  }
  fit.reading = reading.Take();
  fit.known_before = static_cast<SourceIndex>(out_.sources.size());
  AddShift(forms.pose.own, face.normal_P, fit.length);
  out_.fits.push_back(std::move(fit));
  return Ok{};
}

Status ResolveStacks(Analysis& out) {
  for (const StackFit& fit : out.fits) {
    const auto r = std::find_if(out.requirements.begin(), out.requirements.end(),
                                [&](const RequirementForms& f) { return f.name == fit.requirement; });
    if (r == out.requirements.end() || r->test != TestKind::kLinear || r->linear.size() != 1)
      return Cannot(fit.requirement, "it has no one value that a trial could show");
    const Form value = r->linear.front();
    const double effect = FactorOf(value, fit.length);
    if (std::abs(effect) < kLeastEffect)
      return Cannot(fit.requirement, "the length made to suit it does not change it");
    // value = effect * length + rest, and length = (aim - rest as read) / effect + error.
    FormSum made;
    made.Add(fit.aim / effect);
    made.Add(MeasuredRest(out, fit, value), -1 / effect);
    made.Add(fit.reading, -1 / effect);
    made.Add(fit.error);
    PutInAll(out, fit.length, made.Take());
  }
  return Ok{};
}

}  // namespace fitwright::variation
