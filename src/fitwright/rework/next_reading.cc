#include "fitwright/rework/next_reading.h"

#include <algorithm>
#include <cmath>

#include "fitwright/rework/conditioning.h"
#include "fitwright/rework/targets.h"
#include "fitwright/stats/normal.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::Form;

struct Candidate {
  const Setup* setup = nullptr;
  const Step* step = nullptr;
  Observation seen;
};

bool HasFigures(const Step& step) {
  return step.measure && step.measure->upper_mm > step.measure->lower_mm;
}

// Cut, not read yet, and read by a step that the plan has.
std::vector<Candidate> FindCandidates(const Standing& standing, Analysis& analysis) {
  std::vector<Candidate> found;
  for (const Setup& setup : standing.plan->setups) {
    const PartId piece = setup.parts.empty() ? PartId() : setup.parts.front().part;
    for (const Step& step : setup.steps) {
      if (!HasFigures(step) || !standing.IsDone(step, piece)) continue;
      const FeatureRef& feature = step.measure->feature;
      const bool read = std::any_of(
          standing.readings.begin(), standing.readings.end(),
          [&](const ReadingTaken& r) { return r.step == &step && r.feature == feature; });
      if (read) continue;
      ReadingTaken taken{feature, &setup,
                         &step,   0.5 * (step.measure->lower_mm + step.measure->upper_mm),
                         0,       step.measure->instrument};
      Observed one = Observe(*standing.machine, *standing.shop, *standing.plan, {taken}, analysis);
      if (!one.observations.empty())
        found.push_back({&setup, &step, std::move(one.observations.front())});
    }
  }
  return found;
}

double ChanceWithin(double half_width, double variance) {
  if (variance <= 0) return 1;
  return 1 - 2 * stats::NormalCdf(-half_width / std::sqrt(variance));
}

// Expected minutes that aiming with the reading saves in the requirements of one open size.
double SavedFor(const OpenSize& size, const Candidate& candidate, const Analysis& analysis,
                const Conditioning& given) {
  const Form shown = given.Given(candidate.seen.shown);
  const double of_shown = given.PlannedMomentsOf(shown).variance;
  double saved = 0;
  for (const std::size_t r : size.requirements) {
    const variation::RequirementForms& forms = analysis.requirements[r];
    const bool both = forms.lower > -1e299 && forms.upper < 1e299;
    if (!both || forms.linear.empty() || of_shown <= 0) continue;
    const Form value = given.Given(forms.linear.front());
    const double together = given.CovarianceOf(value, shown);
    const double before = given.PlannedMomentsOf(value).variance;
    const double after = std::max(0.0, before - together * together / of_shown);
    const double half = 0.5 * (forms.upper - forms.lower);
    const double odds = ChanceWithin(half, before);
    saved += (ChanceWithin(half, after) - odds) * variation::RemedyMinutes(forms, odds);
  }
  return saved;
}

bool IsMadeToSuit(const OpenSize& size, const FeatureRef& feature) {
  const Aim& aim = *size.step->aim;
  return aim.kind == AimKind::kFitToMeasured && aim.mate &&
         *aim.mate == FeatureRef{SheetIdOf(feature.part), feature.feature};
}

bool IsReadAlready(const Standing& standing, const FeatureRef& feature) {
  return std::any_of(standing.readings.begin(), standing.readings.end(),
                     [&](const ReadingTaken& r) { return r.feature == feature; });
}

}  // namespace

Result<std::vector<WorthReading>> FindWorthReading(const Standing& standing) {
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const auto candidates = FindCandidates(standing, *analysis);
  const Observed observed =
      Observe(*standing.machine, *standing.shop, *standing.plan, standing.readings, *analysis);
  const Conditioning given(*analysis, observed);
  std::vector<WorthReading> found;
  for (const OpenSize& size : FindOpenSizes(standing, *analysis)) {
    for (const Candidate& candidate : candidates) {
      const FeatureRef& feature = candidate.seen.taken.feature;
      WorthReading worth{feature, candidate.setup, candidate.step, size.feature, false, 0};
      worth.needed = IsMadeToSuit(size, feature) && !IsReadAlready(standing, feature);
      worth.saves_min = SavedFor(size, candidate, *analysis, given);
      if (worth.needed || worth.saves_min > standing.shop->times.measure)
        found.push_back(worth);
    }
  }
  std::stable_sort(found.begin(), found.end(), [](const WorthReading& a, const WorthReading& b) {
    if (a.needed != b.needed) return a.needed;
    return a.saves_min > b.saves_min;
  });
  return found;
}

}  // namespace fitwright::rework
