#include "fitwright/rework/lessons.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>

#include "fitwright/rework/bearing.h"
#include "fitwright/rework/weighed_builds.h"
#include "fitwright/stats/normal.h"
#include "fitwright/variation/draws.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::Law;
using variation::Source;
using variation::SpreadId;

constexpr double kMostOfIt = 0.5;
constexpr double kOfOneShot = 0.5;  // as draws.cc has it
constexpr std::array kSaid = {0.5, 0.8, 0.9, 0.99};
constexpr double kSettled = 0.95;  // a requirement's chance that says it came true; else one less
constexpr std::int64_t kBuilds = 2048;

struct Taught {
  SpreadId spread;
  Deviation deviation;
  MachineToolId machine;
};

// A size that was worked to by this reading.
std::optional<Taught> OfLastCut(const Analysis& analysis, const Observation& seen) {
  const ReadingTaken& taken = seen.taken;
  const auto last = LastCutOf(analysis, taken.feature);
  if (!last || FactorOf(seen.real, *last) == 0 || taken.step->operation == Operation::kMeasure ||
      !taken.step->aim || taken.step->aim->kind != AimKind::kBringToSize)
    return std::nullopt;
  const Source& source = analysis.sources[*last];
  const auto& worked = analysis.sources.worked()[static_cast<std::size_t>(source.worked)];
  Deviation d;
  d.off = taken.value_mm - taken.step->aim->target_mm;
  d.share = kOfOneShot * source.unit;
  d.rest = analysis.figures[variation::Place(worked.reading)].spread;
  if (worked.safe_sign > 0)
    d.sent_back_above = worked.high;
  else
    d.sent_back_below = worked.low;
  return Taught{worked.cut, d, taken.setup->machine};
}

std::optional<Taught> OfOneShot(const Analysis& analysis, const Observation& seen,
                                const Conditioning& planned) {
  double all = 0;
  double most = 0;
  variation::Term carries;
  for (const variation::Term& t : seen.shown.terms) {
    const double own = t.factor * t.factor *
                       variation::MomentsOf(analysis.sources, t.source, analysis.figures).variance;
    all += own;
    if (own <= most) continue;
    most = own;
    carries = t;
  }
  const Source& source = analysis.sources[carries.source];
  if (most < kMostOfIt * all || most <= 0 || source.law != Law::kNormal || source.extra != 0 ||
      variation::IsOwnLimits(source.spread))
    return std::nullopt;
  Deviation d;
  d.off = seen.taken.value_mm - planned.PlannedMomentsOf(seen.shown).mean;
  d.share = std::abs(carries.factor * source.unit);
  d.rest = std::sqrt(all - most);
  return Taught{source.spread, d, seen.taken.setup->machine};
}

SpreadPrior PriorIn(const Shop& shop, SpreadId id, double figure) {
  const auto it = shop.spreads.find(std::string(variation::IdOf(id)));
  if (it == shop.spreads.end()) return PriorOf(figure, 0, 0);
  const Spread& row = it->second;
  if (row.origin == SpreadOrigin::kMeasured) return PriorOf(figure, figure / 1.1, figure * 1.1);
  if (row.origin == SpreadOrigin::kStated) return PriorOf(figure, 0, 0);
  const double low = shop.level == ShopLevel::kWorn ? row.usual.spread : row.careful.spread;
  const double high = shop.level == ShopLevel::kCareful ? row.usual.spread : row.worn.spread;
  return PriorOf(figure, low, high);
}

void AddLessons(const Shop& shop, const Analysis& analysis, const std::vector<Taught>& taught,
                Lessons& out) {
  std::map<SpreadId, std::vector<Deviation>> by_spread;
  for (const Taught& t : taught) by_spread[t.spread].push_back(t.deviation);
  for (const auto& [spread, deviations] : by_spread) {
    const double figure = analysis.figures[variation::Place(spread)].spread;
    if (figure <= 0) continue;
    out.lessons.push_back({spread, Learn(PriorIn(shop, spread, figure), deviations)});
  }
  std::stable_sort(out.lessons.begin(), out.lessons.end(), [](const Lesson& a, const Lesson& b) {
    return a.learned.readings > b.learned.readings;
  });
}

void AddDrifts(const Analysis& analysis, const std::vector<Taught>& taught, Lessons& out) {
  std::map<std::pair<MachineToolId, SpreadId>, std::vector<double>> by_machine;
  std::map<std::pair<MachineToolId, SpreadId>, double> sigmas;
  for (const Taught& t : taught) {
    const double figure = analysis.figures[variation::Place(t.spread)].spread;
    const double sigma = std::hypot(t.deviation.share * figure, t.deviation.rest);
    if (sigma <= 0) continue;
    by_machine[{t.machine, t.spread}].push_back(t.deviation.off / sigma);
    sigmas[{t.machine, t.spread}] = sigma;
  }
  for (const auto& [key, in_sigmas] : by_machine) {
    MachineDrift found{key.first, key.second, FindDrift(in_sigmas),
                       static_cast<int>(in_sigmas.size()), sigmas[key]};
    const double chance = found.drift.chance * static_cast<double>(by_machine.size());
    if (chance < kDriftChance) out.drifts.push_back(found);
  }
}

SaidAndTrue Counted(double said, int came_true, int times) {
  SaidAndTrue row{said, times, came_true, {0, 1}};
  if (times > 0) row.interval = stats::ClopperPearsonInterval(came_true, times);
  return row;
}

void AddSaidOfReadings(const Observed& observed, const Conditioning& given, Lessons& out) {
  for (const double said : kSaid) {
    int inside = 0;
    const auto times = static_cast<int>(observed.observations.size());
    for (std::size_t i = 0; i < observed.observations.size(); ++i)
      inside += given.expectations()[i].chance >= 1 - said ? 1 : 0;
    out.readings.push_back(Counted(said, inside, times));
  }
}

// Requirements of one length that the readings leave no doubt of.
void AddSaidOfRequirements(const Analysis& analysis, const Conditioning& given, Lessons& out) {
  BuildsAsked asked;
  asked.builds = kBuilds;
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    if (BearsOn(given, analysis, analysis.requirements[r])) asked.requirements.push_back(r);
  }
  const Conditioning nothing(analysis, Observed{});
  const WeighedBuilds planned = BuildGiven(analysis, nothing, asked);
  const WeighedBuilds now = BuildGiven(analysis, given, asked);
  double said = 0;
  int settled = 0;
  int came_true = 0;
  for (std::size_t i = 0; i < asked.requirements.size(); ++i) {
    const double was = planned.Chance(planned.met[i]);
    const double is = now.Chance(now.met[i]);
    // What was certain beforehand tells nothing.
    if (was > 0.995 || was < 0.005 || (is < kSettled && is > 1 - kSettled)) continue;
    ++settled;
    came_true += is >= kSettled ? 1 : 0;
    said += was;
  }
  out.requirements = Counted(settled > 0 ? said / settled : 0, came_true, settled);
}

}  // namespace

Result<Lessons> CalcLessons(const Standing& standing) {
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const Observed observed =
      Observe(*standing.machine, *standing.shop, *standing.plan, standing.readings, *analysis);
  const Conditioning planned(*analysis, Observed{});
  const Conditioning given(*analysis, observed);
  std::vector<Taught> taught;
  for (const Observation& seen : observed.observations) {
    auto one = OfLastCut(*analysis, seen);
    if (!one) one = OfOneShot(*analysis, seen, planned);
    if (one) taught.push_back(*one);
  }
  Lessons out;
  out.readings_used = static_cast<int>(observed.observations.size());
  AddLessons(*standing.shop, *analysis, taught, out);
  AddDrifts(*analysis, taught, out);
  AddSaidOfReadings(observed, given, out);
  AddSaidOfRequirements(*analysis, given, out);
  return out;
}

}  // namespace fitwright::rework
