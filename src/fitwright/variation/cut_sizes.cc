// Sizes: drawn once, worked to, or fitted to what was measured.
#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/trade/materials.h"
#include "fitwright/variation/cut_reader.h"
#include "fitwright/variation/reading_spread.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::variation {
namespace {

// Rows of drill oversize stand at these diameters.
struct OversizeRow {
  double diameter_mm;
  SpreadId spread;
};
constexpr std::array kOversizeRows = {
    OversizeRow{1.6, SpreadId::kDrillOversize16}, OversizeRow{3.2, SpreadId::kDrillOversize32},
    OversizeRow{6.4, SpreadId::kDrillOversize64}, OversizeRow{12.7, SpreadId::kDrillOversize127}};
// One more cut costs its measuring and about half the time of the sizing step.
constexpr double kRecutShare = 0.5;

bool IsInside(const Feature& feature) {
  const Datum datum = DatumOf(feature);
  return datum.kind == DatumKind::kAxis && datum.inside;
}

bool Suits(InstrumentKind kind, const Feature& feature) {
  if (IsInside(feature))
    return kind == InstrumentKind::kBoreGauge || kind == InstrumentKind::kTelescopicGauge;
  if (std::holds_alternative<PlanarFace>(feature.shape)) {
    return kind == InstrumentKind::kMicrometer || kind == InstrumentKind::kDepthMicrometer;
  }
  return kind == InstrumentKind::kMicrometer;
}

}  // namespace

SpreadId ReadingSpreadOf(InstrumentKind kind) {
  switch (kind) {
    case InstrumentKind::kMicrometer:
    case InstrumentKind::kDepthMicrometer:
    case InstrumentKind::kIndicator:
      return SpreadId::kMicrometer;
    case InstrumentKind::kBoreGauge:
      return SpreadId::kBoreGauge;
    case InstrumentKind::kTelescopicGauge:
      return SpreadId::kTelescopicGauge;
    default:
      return SpreadId::kCaliper;
  }
}

// The step's own instrument, else the one the plan measured with, else the best kind that covers
// the size.
InstrumentId CutReader::InstrumentFor(const Step& step, const Feature& feature) const {
  if (step.measure && !step.measure->instrument.empty()) return step.measure->instrument;
  const double size = NominalSize_mm(feature);
  const Instrument* best = nullptr;
  for (const Instrument& instrument : shop_.instruments) {
    if (!Suits(instrument.kind, feature)) continue;
    const bool face = std::holds_alternative<PlanarFace>(feature.shape);
    if (!face && (size < instrument.from_mm || size > instrument.to_mm)) continue;
    const bool better = best == nullptr || (instrument.kind == InstrumentKind::kBoreGauge &&
                                            best->kind != InstrumentKind::kBoreGauge);
    if (better) best = &instrument;
  }
  if (best != nullptr) return best->name;
  for (const Instrument& instrument : shop_.instruments) {
    if (instrument.kind == InstrumentKind::kCaliper) return instrument.name;
  }
  return {};
}

SpreadId CutReader::ReadingOf(const InstrumentId& id, const Feature& feature) const {
  for (const Instrument& instrument : shop_.instruments) {
    if (instrument.name == id) return ReadingSpreadOf(instrument.kind);
  }
  return IsInside(feature) ? SpreadId::kTelescopicGauge : SpreadId::kMicrometer;
}

// A reading taken: the instrument's setting (cancels where the same one sizes both mates) and the
// reading.
void CutReader::AddReadings(FormSum& sum, const InstrumentId& instrument, const Feature& feature,
                            std::uint64_t key, double sign) {
  const SpreadId reading = ReadingOf(instrument, feature);
  if (reading != SpreadId::kCaliper) {
    sum.Add(Draw(SpreadId::kMicrometerSetting, Law::kNormal, StableHash(instrument.text()), 1),
            sign);
  }
  if (key != 0) sum.Add(Draw(reading, Law::kNormal, key, 1), sign);
}

// A part measured warm shrinks afterwards.
Form CutReader::Warmth(const PartId& part, double diameter_mm) {
  const Part* sheet = FindSheet(machine_, part);
  const trade::Material* material =
      sheet == nullptr ? nullptr : trade::FindMaterial(sheet->material);
  if (material == nullptr) return {};
  return FormOf(Draw(SpreadId::kWarmPart, Law::kFromZero, now_.key, 1),
                -material->expansion_per_K * diameter_mm);
}

SourceIndex CutReader::WorkedSource(const Step& step, SpreadId cut, const Feature& feature,
                                    double low, double high, std::uint64_t visit,
                                    const PartId& part) {
  WorkedSize worked;
  worked.cut = cut;
  worked.reading = ReadingOf(InstrumentFor(step, feature), feature);
  worked.low = low;
  worked.high = high;
  worked.safe_sign = IsInside(feature) ? -1 : 1;
  worked.recut_min = shop_.times.measure + kRecutShare * step.time_min;
  worked.part = PartIndex(part);
  Source source;
  source.key = MixKeys(MixKeys(StableHash(IdOf(cut)), visit), 0x776f726b);
  source.spread = cut;
  return out_.sources.AddWorked(source, worked);
}

Form CutReader::SizeForm(const Step& step, const FeatureRef& ref, const Feature& feature,
                         SpreadId spread, std::uint64_t visit, double unit, double nominal_mm) {
  if (spread == SpreadId::kCutterRunout) {
    Form form = FormOf(Draw(spread, Law::kHalfNormal, visit, 2 * unit / kMedianToSigma, 3));
    form.constant = nominal_mm;
    return form;
  }
  const Aim* aim = step.aim ? &*step.aim : nullptr;
  if (aim != nullptr && aim->kind == AimKind::kFitToMeasured && aim->mate)
    return FittedSize(step, ref, feature, *aim, spread, visit);
  FormSum sum;
  sum.Add(nominal_mm);
  if (aim != nullptr && aim->upper_mm > aim->lower_mm) {
    // Limits of a size that was planned anew need not lie round the sheet's middle; a height has no size of its own.
    const double middle_mm = nominal_mm > 0 ? nominal_mm : 0.5 * (aim->lower_mm + aim->upper_mm);
    sum.Add(aim->target_mm - middle_mm);
  }
  if (aim == nullptr || aim->kind == AimKind::kOneShot) {
    sum.Add(Draw(spread, Law::kNormal, visit, unit), 1);
    return sum.Take();
  }
  sum.Add(WorkedSource(step, spread, feature, aim->lower_mm - aim->target_mm,
                       aim->upper_mm - aim->target_mm, visit, ref.part),
          1);
  AddReadings(sum, InstrumentFor(step, feature), feature, 0, -1);
  if (!std::holds_alternative<PlanarFace>(feature.shape)) sum.Add(Warmth(ref.part, nominal_mm));
  return sum.Take();
}

Form CutReader::FittedSize(const Step& step, const FeatureRef& ref, const Feature& feature,
                           const Aim& aim, SpreadId spread, std::uint64_t visit) {
  const bool inside = IsInside(feature);
  const double sign = inside ? 1 : -1;
  FormSum sum;
  const auto mate = out_.features.find(*aim.mate);
  const Feature* mate_feature = FindFeature(machine_, *aim.mate);
  if (mate != out_.features.end() && mate->second.made && mate_feature != nullptr) {
    sum.Add(mate->second.size);
    InstrumentId gauge = mate->second.measured_with;
    if (gauge.empty()) gauge = InstrumentFor(Step{}, *mate_feature);
    AddReadings(sum, gauge, *mate_feature, MixKeys(KeyOf(*aim.mate), KeyOf(ref)), 1);
  } else {
    sum.Add(aim.target_mm - sign * aim.clearance_mm);
  }
  sum.Add(sign * aim.clearance_mm);
  const double less = inside ? aim.clearance_lower_mm - aim.clearance_mm
                             : aim.clearance_mm - aim.clearance_upper_mm;
  const double more = inside ? aim.clearance_upper_mm - aim.clearance_mm
                             : aim.clearance_mm - aim.clearance_lower_mm;
  sum.Add(WorkedSource(step, spread, feature, less, more, visit, ref.part), 1);
  AddReadings(sum, InstrumentFor(step, feature), feature, 0, -1);
  sum.Add(Warmth(ref.part, NominalSize_mm(feature)));
  return sum.Take();
}

Form CutReader::Oversize(const Step& step, double diameter_mm, std::uint64_t visit) {
  std::size_t i = 0;
  while (i + 2 < kOversizeRows.size() && diameter_mm > kOversizeRows[i + 1].diameter_mm) ++i;
  const OversizeRow& low = kOversizeRows[i];
  const OversizeRow& high = kOversizeRows[i + 1];
  Source source;
  source.law = Law::kLognormal;
  source.key = MixKeys(MixKeys(StableHash("drill_oversize"), visit), 0);
  source.size_key = MixKeys(StableHash("drill_oversize"), StableHash(step.tool.text()));
  source.spread = low.spread;
  source.spread_b = high.spread;
  source.blend = static_cast<float>(
      std::clamp((diameter_mm - low.diameter_mm) / (high.diameter_mm - low.diameter_mm), 0.0, 1.0));
  Form form = FormOf(out_.sources.Add(source));
  form.constant = diameter_mm;
  return form;
}

}  // namespace fitwright::variation
