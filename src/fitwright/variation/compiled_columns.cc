#include "fitwright/variation/compiled_columns.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "fitwright/base/check.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::variation {
namespace {

bool IsFolded(Law law) { return law == Law::kFoldedX || law == Law::kFoldedY; }
bool IsRayleigh(Law law) { return law == Law::kRayleighX || law == Law::kRayleighY; }
bool IsAlongX(Law law) { return law == Law::kRayleighX || law == Law::kFoldedX; }

}  // namespace

VectorLengths::VectorLengths(const SourceTable& sources, const std::vector<SourceIndex>& read) {
  for (const SourceIndex i : read) {
    const Source& s = sources[i];
    if (IsRayleigh(s.law) || IsFolded(s.law)) directions_[s.size_key].insert(s.key);
  }
}

bool VectorLengths::IsNormal(const Source& s) const {
  if (s.law == Law::kNormal) return true;
  return IsRayleigh(s.law) && directions_.at(s.size_key).size() == 1;
}

std::uint64_t NormalKeyOf(const Source& s) {
  return s.law == Law::kNormal ? s.key
                               : MixKeys(MixKeys(s.key, s.size_key), IsAlongX(s.law) ? 1 : 2);
}

SourcePart SourceColumns::Of(SourceIndex index) {
  const Source& s = sources_[index];
  const FigureInForce f = InForce(s, figures_);
  switch (s.law) {
    case Law::kNormal:
      return {f.mean, f.spread, std::nullopt};
    case Law::kHalfNormal:
      return Scaled({.law = stats::DrawLaw::kHalfNormal, .key = s.key}, f.mean, f.spread);
    case Law::kRayleighX:
    case Law::kRayleighY:
    case Law::kFoldedX:
    case Law::kFoldedY:
      return Vector(s, f.spread);
    case Law::kUniform:
      return Scaled({.law = stats::DrawLaw::kUniform, .key = s.key}, 0, f.spread);
    case Law::kFromZero:
      return Scaled({.law = stats::DrawLaw::kFromZero, .key = s.key}, 0, f.spread);
    case Law::kLognormal:
      return Lognormal(s);
    case Law::kChip:
      return Scaled({.law = stats::DrawLaw::kEvent,
                     .key = s.key,
                     .a = f.spread,
                     .b = kChipLow_mm,
                     .c = kChipHigh_mm},
                    0, f.spread > 0 ? 1 : 0);
    case Law::kWorked:
      return Worked(s);
    case Law::kPlay:
      break;
  }
  FailCheck("a source without float", __FILE__, __LINE__, std::to_string(static_cast<int>(s.law)));
}

SourcePart SourceColumns::Scaled(const stats::TrialDraw& draw, double mean, double factor) {
  if (factor == 0) return {mean, 0, std::nullopt};
  return {mean, factor, Column(draw, 1)};
}

std::uint32_t SourceColumns::Column(stats::TrialDraw draw, std::uint32_t wide) {
  draw.column = program_.columns;
  program_.draws.push_back(draw);
  program_.columns += wide;
  return draw.column;
}

// A Rayleigh length of uniform direction is a pair of independent normals, unless another vector
// shares the length.
SourcePart SourceColumns::Vector(const Source& s, double spread) {
  const bool folded = IsFolded(s.law);
  if (spread == 0) return {};
  const double factor = folded ? spread : spread / kMedianToSigma;
  if (lengths_.IsNormal(s)) return {0, factor, std::nullopt};
  const auto [it, is_new] = vectors_.try_emplace({MixKeys(s.key, s.size_key), folded}, 0);
  if (is_new) {
    const stats::DrawLaw law = folded ? stats::DrawLaw::kFolded : stats::DrawLaw::kRound;
    it->second = Column({.law = law, .key = s.key, .length_key = s.size_key}, 2);
  }
  return {0, factor, it->second + (IsAlongX(s.law) ? 0 : 1)};
}

SourcePart SourceColumns::Lognormal(const Source& s) {
  const SpreadFigure& a = figures_[Place(s.spread)];
  const SpreadFigure& b = figures_[Place(s.spread_b)];
  const double w = s.blend;
  const double median = s.unit * ((1 - w) * a.mean + w * b.mean);
  const double sigma = (1 - w) * a.spread + w * b.spread;
  if (sigma == 0) return {median, 0, std::nullopt};
  return Scaled({.law = stats::DrawLaw::kLognormal,
                 .key = s.key,
                 .length_key = s.size_key,
                 .a = sigma,
                 .b = std::sqrt(kToolShare),
                 .c = std::sqrt(1 - kToolShare)},
                0, median);
}

SourcePart SourceColumns::Worked(const Source& s) {
  const WorkedSize& size = sources_.worked()[static_cast<std::size_t>(s.worked)];
  const double last = kLastCutShare * s.unit * figures_[Place(size.cut)].spread;
  stats::WorkedDraw worked;
  worked.reading = figures_[Place(size.reading)].spread;
  worked.cut = std::sqrt(std::max(0.0, last * last - worked.reading * worked.reading));
  worked.low = size.low;
  worked.high = size.high;
  worked.safe_sign = size.safe_sign;
  if (worked.cut == 0 && worked.reading == 0) return {};
  program_.worked.push_back(worked);
  return Scaled({.law = stats::DrawLaw::kWorked,
                 .key = s.key,
                 .worked = static_cast<std::uint32_t>(program_.worked.size() - 1)},
                0, 1);
}

}  // namespace fitwright::variation
