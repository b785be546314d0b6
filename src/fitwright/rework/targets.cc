#include "fitwright/rework/targets.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/rework/coverage.h"
#include "fitwright/stats/random.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::FactorOf;
using variation::Form;
using variation::RequirementForms;
using variation::SourceIndex;
using variation::TestKind;

constexpr double kFlat = 0.003;   // chances that builds cannot tell apart
constexpr double kOfBest = 0.95;  // inside the window
constexpr double kGrid_mm = 0.0005;
constexpr double kLeastMove_mm = 0.0015;  // nobody cuts finer
constexpr double kFarthest_mm = 0.5;
constexpr double kAlways = 1e6;

bool IsLength(const RequirementForms& r) {
  return r.test == TestKind::kLinear || r.test == TestKind::kClearance;
}

bool ReadsLength(const RequirementForms& r, SourceIndex source) {
  return IsLength(r) && std::any_of(r.linear.begin(), r.linear.end(),
                                    [&](const Form& form) { return FactorOf(form, source) != 0; });
}

bool IsWorkedTo(const Step& step) {
  return step.aim && step.aim->kind != AimKind::kOneShot && step.aim->closes.empty() &&
         step.aim->upper_mm > step.aim->lower_mm && !step.features.empty() &&
         step.operation != Operation::kMeasure;
}

// What was read is as it is, within its limits or not.
bool IsRead(const Standing& standing, const Step& step) {
  return std::any_of(standing.readings.begin(), standing.readings.end(),
                     [&](const ReadingTaken& taken) { return taken.step == &step; });
}

PartId PieceOf(const Setup& setup) {
  return setup.parts.empty() ? PartId() : setup.parts.front().part;
}

// What of the asked forms belongs to one requirement.
struct Place {
  std::size_t linear = 0;   // first of its linear forms
  std::size_t vectors = 0;  // first of its vectors' two forms
};

// The values that targets of one size are found from; builds of all sizes are the same.
struct SizeBuilds {
  const WeighedBuilds* builds = nullptr;
  std::vector<Place> places;  // by requirement of the size
  std::size_t last_cut = 0;   // among the forms

  double Value(std::size_t form, std::size_t build) const { return builds->values[form][build]; }
  double LastCut(std::size_t build) const { return Value(last_cut, build); }
};

SizeBuilds AskFor(const OpenSize& size, const Analysis& analysis, BuildsAsked& asked) {
  SizeBuilds out;
  for (const std::size_t r : size.requirements) {
    const RequirementForms& forms = analysis.requirements[r];
    Place place;
    place.linear = asked.forms.size();
    asked.forms.insert(asked.forms.end(), forms.linear.begin(), forms.linear.end());
    place.vectors = asked.forms.size();
    if (forms.test == TestKind::kClearance && !forms.vectors.empty()) {
      asked.forms.push_back(forms.vectors[0][0]);
      asked.forms.push_back(forms.vectors[0][1]);
    }
    out.places.push_back(place);
  }
  out.last_cut = asked.forms.size();
  asked.forms.push_back(variation::FormOf(size.last_cut));
  return out;
}

// How far a size may be moved in one build for one requirement.
Covering MovesOf(const RequirementForms& r, const SizeBuilds& b, const Place& place,
                 SourceIndex last_cut, std::size_t build, double other_cut) {
  double tilt = 0;
  if (r.test == TestKind::kClearance && !r.vectors.empty()) {
    tilt = r.tilt_length_mm *
           std::hypot(b.Value(place.vectors, build), b.Value(place.vectors + 1, build));
  }
  Covering moves{-kAlways, kAlways, b.builds->weights[build]};
  for (std::size_t k = 0; k < r.linear.size(); ++k) {
    const double c = FactorOf(r.linear[k], last_cut);
    const double value = b.Value(place.linear + k, build) + c * (other_cut - b.LastCut(build));
    const double low = r.lower + tilt - value;
    const double high = r.upper - value;
    if (c == 0) {
      if (low > 0 || high < 0) return {1, 0, 0};
      continue;
    }
    moves.low = std::max(moves.low, std::min(low / c, high / c));
    moves.high = std::min(moves.high, std::max(low / c, high / c));
  }
  return moves;
}

Covering Both(const Covering& a, const Covering& b) {
  return {std::max(a.low, b.low), std::min(a.high, b.high), std::min(a.weight, b.weight)};
}

// Given that the last cut was read as `s` from the aim: size = share * s + rest.
struct LastLook {
  double share = 1;
  double left_mm = 0;
};
LastLook LookOf(const Analysis& analysis, SourceIndex last_cut) {
  const variation::Source& source = analysis.sources[last_cut];
  const auto& worked = analysis.sources.worked()[static_cast<std::size_t>(source.worked)];
  const WorkedPrior prior = PriorOfWorked(worked, source.unit, analysis.figures, 0);
  const double reading = analysis.figures[variation::Place(worked.reading)].spread;
  const double whole = prior.variance + reading * reading;
  if (whole <= 0) return {};
  const double share = prior.variance / whole;
  return {share, std::sqrt(share) * reading};
}

// Where a reading may lie, from the planned aim, once the aim is moved.
std::pair<double, double> WindowOf(const Coverage& coverage, double share, double move) {
  const double wanted = kOfBest * coverage.At(coverage.Best(kFlat));
  const auto holds = [&](double read) {
    return std::abs(read - move) < kFarthest_mm &&
           coverage.At(move + share * (read - move)) >= wanted;
  };
  double low = move;
  double high = move;
  while (holds(low - kGrid_mm)) low -= kGrid_mm;
  while (holds(high + kGrid_mm)) high += kGrid_mm;
  return {low, high};
}

// The figures that the plan has, by the mate's last reading where it is made to suit one.
bool SetPlanned(const Standing& standing, SizeTarget& target) {
  const Aim& aim = *target.size.step->aim;
  if (aim.kind == AimKind::kBringToSize) {
    target.planned = {aim.target_mm, aim.lower_mm, aim.upper_mm};
    return true;
  }
  const Feature* feature = standing.machine->Find(target.size.feature);
  if (!aim.mate || feature == nullptr) return false;
  const variation::Datum datum = variation::DatumOf(*feature);
  if (datum.kind != variation::DatumKind::kAxis) return false;
  for (const ReadingTaken& taken : standing.readings) {
    const bool is_mate =
        FeatureRef{SheetIdOf(taken.feature.part), taken.feature.feature} == *aim.mate;
    const double expected = aim.target_mm + (datum.inside ? -1 : 1) * aim.clearance_mm;
    if (is_mate && std::abs(taken.value_mm - expected) < 0.5) target.mate_mm = taken.value_mm;
  }
  if (!target.mate_mm) return false;
  const double mate = *target.mate_mm;
  target.planned = datum.inside ? SizeWindow{mate + aim.clearance_mm, mate + aim.clearance_lower_mm,
                                             mate + aim.clearance_upper_mm}
                                : SizeWindow{mate - aim.clearance_mm, mate - aim.clearance_upper_mm,
                                             mate - aim.clearance_lower_mm};
  return true;
}

double SavedMinutes(const Analysis& analysis, const SizeTarget& target, const SizeBuilds& b,
                    double move) {
  double saved = 0;
  for (std::size_t i = 0; i < target.size.requirements.size(); ++i) {
    const RequirementForms& r = analysis.requirements[target.size.requirements[i]];
    std::vector<Covering> moves;
    for (std::size_t n = 0; n < b.builds->builds; ++n)
      moves.push_back(MovesOf(r, b, b.places[i], target.size.last_cut, n, b.LastCut(n)));
    const Coverage coverage(moves);
    const double before = coverage.At(0);
    const double after = coverage.At(move);
    saved += (1 - before) * variation::RemedyMinutes(r, before) -
             (1 - after) * variation::RemedyMinutes(r, after);
  }
  return saved;
}

// The moves that all requirements of the size allow, build by build; the last cut as it is drawn,
// or as it is left once it was read at the aim.
Coverage CoverageOf(const Analysis& analysis, const OpenSize& size, const SizeBuilds& b,
                    const std::optional<LastLook>& look) {
  const std::uint64_t stream =
      stats::StreamKey(1, variation::MixKeys(analysis.sources[size.last_cut].key, 0x6c6f6f6b));
  std::vector<Covering> moves;
  for (std::size_t n = 0; n < b.builds->builds; ++n) {
    const double cut = look ? look->left_mm * stats::Normal(stream, n) : b.LastCut(n);
    Covering all{-kAlways, kAlways, b.builds->weights[n]};
    for (std::size_t i = 0; i < size.requirements.size(); ++i) {
      all = Both(all, MovesOf(analysis.requirements[size.requirements[i]], b, b.places[i],
                              size.last_cut, n, cut));
    }
    moves.push_back(all);
  }
  return Coverage(moves);
}

void MoveTarget(const Analysis& analysis, const SizeBuilds& b, SizeTarget& target) {
  const OpenSize& size = target.size;
  const Coverage coverage = CoverageOf(analysis, size, b, std::nullopt);
  target.odds_planned = target.odds_now = coverage.At(0);
  const double move = coverage.Best(kFlat);
  if (std::abs(move) < kLeastMove_mm || std::abs(move) > kFarthest_mm) return;
  const double saves_min = SavedMinutes(analysis, target, b, move);
  if (saves_min <= kDisturbance_min) return;
  const LastLook look = LookOf(analysis, size.last_cut);
  const auto [low, high] = WindowOf(CoverageOf(analysis, size, b, look), look.share, move);
  target.moved = true;
  target.saves_min = saves_min;
  target.odds_now = coverage.At(move);
  target.now = {target.planned.aim_mm + move, target.planned.aim_mm + low,
                target.planned.aim_mm + high};
}

}  // namespace

bool BearsOn(const Conditioning& given, const Analysis& analysis, const OpenSize& size) {
  return std::any_of(size.requirements.begin(), size.requirements.end(), [&](std::size_t r) {
    const auto& linear = analysis.requirements[r].linear;
    return std::any_of(linear.begin(), linear.end(),
                       [&](const Form& form) { return given.Changes(form); });
  });
}

std::vector<OpenSize> FindOpenSizes(const Standing& standing, const Analysis& analysis) {
  std::vector<OpenSize> sizes;
  for (const Setup& setup : standing.plan->setups) {
    for (const Step& step : setup.steps) {
      if (!IsWorkedTo(step) || standing.IsDone(step, PieceOf(setup)) || IsRead(standing, step))
        continue;
      const FeatureRef& feature = step.features.front();
      const auto last = LastCutOf(analysis, feature);
      if (!last) continue;
      OpenSize size{feature, &setup, &step, *last, {}};
      for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
        if (ReadsLength(analysis.requirements[r], *last)) size.requirements.push_back(r);
      }
      std::erase_if(sizes, [&](const OpenSize& before) { return before.feature == feature; });
      if (!size.requirements.empty()) sizes.push_back(std::move(size));
    }
  }
  return sizes;
}

std::vector<SizeTarget> FindTargets(const Standing& standing, const Analysis& analysis,
                                    const Conditioning& given, std::int64_t builds) {
  std::vector<SizeTarget> targets;
  std::vector<SizeBuilds> of_targets;
  BuildsAsked asked;
  asked.builds = builds;
  for (const OpenSize& size : FindOpenSizes(standing, analysis)) {
    SizeTarget target;
    target.size = size;
    if (!BearsOn(given, analysis, size) || !SetPlanned(standing, target)) continue;
    target.now = target.planned;
    of_targets.push_back(AskFor(size, analysis, asked));
    targets.push_back(std::move(target));
  }
  if (targets.empty()) return targets;
  const WeighedBuilds built = BuildGiven(analysis, given, asked);
  for (std::size_t i = 0; i < targets.size(); ++i) {
    of_targets[i].builds = &built;
    MoveTarget(analysis, of_targets[i], targets[i]);
  }
  return targets;
}

Result<std::vector<SizeTarget>> FindTargetsNow(const Standing& standing) {
  constexpr std::int64_t kEnough = 4096;
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const Observed observed =
      Observe(*standing.machine, *standing.shop, *standing.plan, standing.readings, *analysis);
  return FindTargets(standing, *analysis, Conditioning(*analysis, observed), kEnough);
}

}  // namespace fitwright::rework
