#include "fitwright/rework/observation.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/rework/length_between.h"
#include "fitwright/variation/geometry.h"
#include "fitwright/variation/reading_spread.h"

namespace fitwright::rework {
namespace {

using variation::Form;
using variation::FormOf;
using variation::FormSum;
using variation::KeyOf;
using variation::Law;
using variation::MixKeys;
using variation::Source;
using variation::SourceIndex;
using variation::SpreadId;

// What is written down is rounded: evenly within half of the last place, counted as normal.
const double kOfRounding = 1 / std::sqrt(12.0);

bool CutsTo(const Step& step, const FeatureRef& sheet_ref) {
  switch (step.operation) {
    case Operation::kAssemble:
    case Operation::kTakeApart:
    case Operation::kMeasure:
    case Operation::kDeburr:
    case Operation::kWash:
    case Operation::kTrial:
    case Operation::kBond:
    case Operation::kCure:
    case Operation::kTap:
      return false;
    default:
      return std::find(step.features.begin(), step.features.end(), sheet_ref) !=
             step.features.end();
  }
}

FeatureRef OnSheet(const FeatureRef& ref) { return {SheetIdOf(ref.part), ref.feature}; }

// Nothing cuts the feature after this step.
bool IsFinalBy(const Plan& plan, const FeatureRef& ref, std::size_t turn) {
  const FeatureRef sheet_ref = OnSheet(ref);
  std::size_t at = 0;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (at > turn && CutsTo(step, sheet_ref)) return false;
      ++at;
    }
  }
  return true;
}

SourceIndex Normal(variation::Analysis& analysis, SpreadId spread, std::uint64_t scope,
                   double unit) {
  Source source;
  source.key = MixKeys(MixKeys(StableHash(variation::IdOf(spread)), scope), 0);
  source.size_key = scope;
  source.law = Law::kNormal;
  source.spread = spread;
  source.unit = unit;
  return analysis.sources.Add(source);
}

SpreadId SpreadOf(const Shop& shop, const ReadingTaken& taken) {
  const Instrument* known = shop.Find(taken.instrument);
  if (known != nullptr) return variation::ReadingSpreadOf(known->kind);
  const auto kind = EnumOf<InstrumentKind>(taken.instrument.text());
  return variation::ReadingSpreadOf(kind.value_or(InstrumentKind::kCaliper));
}

std::uint64_t KeyOfReading(const ReadingTaken& taken) {
  const auto value = static_cast<std::uint64_t>(std::llround(taken.value_mm * 1e6));
  return MixKeys(MixKeys(KeyOf(taken.feature), StableHash(taken.step->id.text(), 0x72656164)),
                 value);
}

void AddInstrument(const Shop& shop, const ReadingTaken& taken, variation::Analysis& analysis,
                   FormSum& shown) {
  const SpreadId spread = SpreadOf(shop, taken);
  const InstrumentId name = taken.instrument;
  if (spread != SpreadId::kCaliper) {
    shown.Add(Normal(analysis, SpreadId::kMicrometerSetting, StableHash(name.text()), 1), 1);
  }
  shown.Add(Normal(analysis, spread, KeyOfReading(taken), 1), 1);
  if (taken.digit_mm > 0) {
    shown.Add(Normal(analysis, SpreadId::kJointPlay, MixKeys(KeyOfReading(taken), 0x64696769),
                     taken.digit_mm * kOfRounding),
              1);
  }
}

// At the machine the piece is as warm as it was cut.
Form WithoutWarmth(Form form, const variation::SourceTable& sources) {
  std::erase_if(form.terms, [&](const variation::Term& t) {
    return sources[t.source].spread == SpreadId::kWarmPart;
  });
  return form;
}

bool Near(double value_mm, double lower_mm, double upper_mm) {
  const double slack = std::max(upper_mm - lower_mm, 0.05);
  return value_mm > lower_mm - slack && value_mm < upper_mm + slack;
}

struct StepFigures {
  double lower_mm = 0;
  double upper_mm = 0;
};
std::optional<StepFigures> FiguresOfStep(const Step& step) {
  if (step.measure && step.measure->upper_mm > step.measure->lower_mm)
    return StepFigures{step.measure->lower_mm, step.measure->upper_mm};
  if (step.aim && step.aim->upper_mm > step.aim->lower_mm)
    return StepFigures{step.aim->lower_mm, step.aim->upper_mm};
  return std::nullopt;
}

class Observer {
 public:
  Observer(const Machine& machine, const Shop& shop, const Plan& plan,
           variation::Analysis& analysis)
      : machine_(machine), shop_(shop), plan_(plan), analysis_(analysis) {}

  std::optional<Observation> Look(const ReadingTaken& taken) {
    if (taken.step == nullptr || taken.setup == nullptr) return std::nullopt;
    const auto turn = TurnOf(plan_, taken.step);
    const Feature* feature = machine_.Find(taken.feature);
    const auto forms = analysis_.features.find(taken.feature);
    if (!turn || feature == nullptr || forms == analysis_.features.end() || !forms->second.made)
      return std::nullopt;
    if (!IsFinalBy(plan_, taken.feature, *turn)) return std::nullopt;
    std::optional<Form> real = SizeRead(taken, *feature, forms->second);
    const bool is_size = real.has_value();
    if (!real) real = LengthRead(taken, *turn);
    if (!real) return std::nullopt;
    Observation out{taken, {}, *std::move(real), is_size};
    FormSum shown;
    shown.Add(out.real);
    AddInstrument(shop_, taken, analysis_, shown);
    out.shown = shown.Take();
    return out;
  }

 private:
  std::optional<Form> SizeRead(const ReadingTaken& taken, const Feature& feature,
                               const variation::FeatureForms& forms) const {
    const double drawn = variation::NominalSize_mm(feature);
    if (drawn <= 0 || forms.size.terms.empty() || !Near(taken.value_mm, drawn, drawn))
      return std::nullopt;
    const auto figures = FiguresOfStep(*taken.step);
    const bool fits = figures && Near(drawn, figures->lower_mm, figures->upper_mm);
    const bool again = !figures && taken.step->operation == Operation::kMeasure;
    if (!fits && !again) return std::nullopt;
    const bool at_machine = taken.step->operation != Operation::kMeasure;
    return at_machine ? WithoutWarmth(forms.size, analysis_.sources) : forms.size;
  }

  std::optional<Form> LengthRead(const ReadingTaken& taken, std::size_t turn) const {
    const auto figures = FiguresOfStep(*taken.step);
    if (!figures || !taken.step->measure) return std::nullopt;
    const double middle = 0.5 * (figures->lower_mm + figures->upper_mm);
    const auto length = FindLength(machine_, taken.feature, middle, taken.step->measure->words);
    if (!length || !IsFinalBy(plan_, length->other, turn)) return std::nullopt;
    return FormOfLength(machine_, analysis_.features, taken.feature, *length);
  }

  const Machine& machine_;
  const Shop& shop_;
  const Plan& plan_;
  variation::Analysis& analysis_;
};

// The size was cut until this very reading was inside: the last cut is what it is by that reading.
void SettleLastCut(const Observation& seen, variation::Analysis& analysis, Observed& out) {
  const ReadingTaken& taken = seen.taken;
  if (taken.step->operation == Operation::kMeasure) return;
  const auto last = LastCutOf(analysis, taken.feature);
  if (!last || FactorOf(seen.real, *last) == 0) return;
  const Source source = analysis.sources[*last];
  const variation::WorkedSize& worked =
      analysis.sources.worked()[static_cast<std::size_t>(source.worked)];
  const double from_aim = taken.value_mm - taken.step->aim.value_or(Aim{}).target_mm;
  const WorkedPrior prior = PriorOfWorked(worked, source.unit, analysis.figures, from_aim);
  Form form = FormOf(Normal(analysis, SpreadId::kJointPlay,
                            MixKeys(source.key, KeyOfReading(taken)), std::sqrt(prior.variance)));
  form.constant = prior.mean;
  out.settled[*last] = form;
}

// What is made to suit the feature was aimed from this reading: its error is one and the same.
void SettleSuited(const Plan& plan, const Observation& seen, const variation::Analysis& analysis,
                  Observed& out) {
  Form error = variation::Plus(seen.shown, seen.real, -1);
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (!step.aim || step.aim->kind != AimKind::kFitToMeasured || !step.aim->mate ||
          *step.aim->mate != OnSheet(seen.taken.feature) || step.features.empty())
        continue;
      const std::uint64_t scope = MixKeys(KeyOf(*step.aim->mate), KeyOf(step.features.front()));
      const auto suited = analysis.features.find(step.features.front());
      if (suited == analysis.features.end()) continue;
      for (const variation::Term& t : suited->second.size.terms) {
        const Source& s = analysis.sources[t.source];
        if (s.law == Law::kNormal && s.size_key == scope) out.settled[t.source] = error;
      }
    }
  }
}

}  // namespace

std::optional<std::size_t> TurnOf(const Plan& plan, const Step* step) {
  std::size_t at = 0;
  for (const Setup& setup : plan.setups) {
    for (const Step& s : setup.steps) {
      if (&s == step) return at;
      ++at;
    }
  }
  return std::nullopt;
}

std::optional<SourceIndex> LastCutOf(const variation::Analysis& analysis,
                                     const FeatureRef& feature) {
  const auto forms = analysis.features.find(feature);
  if (forms == analysis.features.end()) return std::nullopt;
  std::optional<SourceIndex> last;  // a mate's own came before
  for (const variation::Term& t : forms->second.size.terms) {
    if (analysis.sources[t.source].law == Law::kWorked) last = t.source;
  }
  return last;
}

Observed Observe(const Machine& machine, const Shop& shop, const Plan& plan,
                 const std::vector<ReadingTaken>& readings, variation::Analysis& analysis) {
  Observed out;
  Observer observer(machine, shop, plan, analysis);
  // From the last, so that of many readings at one step only one is looked at.
  for (std::size_t i = readings.size(); i-- > 0;) {
    const bool again = std::any_of(
        out.observations.begin(), out.observations.end(), [&](const Observation& later) {
          return later.taken.step == readings[i].step && later.taken.feature == readings[i].feature;
        });
    if (again) continue;
    if (auto seen = observer.Look(readings[i]))
      out.observations.push_back(*std::move(seen));
    else
      out.unread.push_back(i);
  }
  std::reverse(out.observations.begin(), out.observations.end());
  std::reverse(out.unread.begin(), out.unread.end());
  for (const Observation& seen : out.observations) {
    if (!seen.is_size) continue;
    SettleLastCut(seen, analysis, out);
    SettleSuited(plan, seen, analysis, out);
  }
  return out;
}

}  // namespace fitwright::rework
