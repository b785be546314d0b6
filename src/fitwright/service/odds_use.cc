#include "fitwright/service/odds_use.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/service/kept_outcomes.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"
#include "fitwright/variation/odds.h"

namespace fitwright::service {
namespace {

constexpr double kMradPerRad = 1000;
constexpr std::int64_t kBuildsDrawn = 8192;
constexpr std::int64_t kBuildsWeighed = 4096;

variation::Project ProjectOf(const Opened& opened, const Plan& plan) {
  return {opened.project.machine, opened.project.shop, plan, {}};
}

bool IsAngle(RequirementKind kind) {
  return kind == RequirementKind::kSquare || kind == RequirementKind::kParallel ||
         kind == RequirementKind::kAngle;
}

const Requirement* Named(const Machine& machine, const RequirementId& name) {
  for (const Requirement& r : machine.requirements) {
    if (r.name == name) return &r;
  }
  return nullptr;
}

// ---- Drawings.

// From mm or rad to what the axis shows.
struct Axis {
  double factor = 1;
  std::string unit;
  int decimals = 3;
};

Axis AxisOf(const Opened& opened, const RequirementOdds& odds, double width) {
  Axis axis{1, std::string(UnitWord(opened.unit)), 3};
  const Requirement* r = Named(opened.project.machine, odds.name);
  if (IsAngle(odds.kind)) {
    axis.factor = kMradPerRad;
    axis.unit = "mrad";
  } else if (r != nullptr && r->formula) {
    axis.unit = r->formula->unit;
  } else if (opened.unit == LengthUnit::kInch) {
    axis.factor = 1 / kMmPerInch;
  }
  const double step = width * axis.factor / 6;
  axis.decimals = step > 0 ? std::clamp(static_cast<int>(std::ceil(-std::log10(step))), 0, 6) : 3;
  return axis;
}

std::string AxisText(variation::Quantity quantity, const std::string& unit) {
  using variation::Quantity;
  switch (quantity) {
    case Quantity::kFurthest:
      return "the largest of them, from the middle, " + unit;
    case Quantity::kGreatest:
      return "the greatest of them, " + unit;
    case Quantity::kLeast:
      return "the least of them, " + unit;
    case Quantity::kSpare:
      return "to spare at the tightest, " + unit;
    case Quantity::kValue:
      break;
  }
  return unit;
}

void FillSpread(const Opened& opened, const RequirementOdds& odds,
                const variation::SpreadOut& spread, sheets::OddsPicture& picture) {
  const Axis axis = AxisOf(opened, odds, spread.edges.back() - spread.edges.front());
  picture.axis = AxisText(spread.quantity, axis.unit);
  picture.source = spread.exact ? "by the law of its errors"
                                : fmt::format("from {} builds on paper", kBuildsDrawn);
  picture.decimals = axis.decimals;
  for (const double e : spread.edges) picture.edges.push_back(e * axis.factor);
  picture.shares = spread.shares;
  const auto text = [&](double limit) {
    return FormatTrimmed(limit * axis.factor, axis.decimals + 2);
  };
  if (spread.lower) {
    picture.lower = *spread.lower * axis.factor;
    picture.lower_text = "at least " + text(*spread.lower);
  }
  if (spread.upper) {
    picture.upper = *spread.upper * axis.factor;
    picture.upper_text = "at most " + text(*spread.upper);
  }
}

std::string TitleOf(const Opened& opened, const RequirementOdds& odds) {
  const Requirement* r = Named(opened.project.machine, odds.name);
  const std::string name = sheets::NameText(odds.name.text());
  if (r == nullptr || r->words.empty()) return name;
  return name + ": " + sheets::SentenceInUnit(r->words, opened.unit, {});
}

}  // namespace

sheets::OddsPicture PictureOfSpread(const Opened& opened, const RequirementOdds& odds,
                                    const std::optional<variation::SpreadOut>& spread) {
  sheets::OddsPicture picture;
  if (spread) FillSpread(opened, odds, *spread, picture);
  return picture;
}

Result<OddsAnswer> AnswerOdds(const Opened& opened, const OddsQuestion& question) {
  auto saved = LoadSavedPlan(opened);
  if (!saved) return Unexpected(saved.error());
  OddsAnswer answer;
  variation::Project changed = ProjectOf(opened, saved->plan);
  for (const std::string& text : question.what_if) {
    const auto change = variation::ApplyWhatIf(text, opened.unit, changed);
    if (!change) return Unexpected(change.error());
    answer.changes.push_back(*change);
  }
  auto counted = CalcOddsOfPlan(opened, question.use);
  if (!counted) return Unexpected(counted.error());
  answer.saved = *std::move(counted);
  if (!answer.changes.empty()) {
    const auto analysis = variation::AnalyseProject(changed);
    if (!analysis) return Unexpected(analysis.error());
    variation::OddsOptions options;
    options.builds = question.use.builds;
    options.seed = question.use.seed;
    options.threads = question.use.threads;
    options.cancel = question.use.cancel;
    options.causes = false;
    auto odds = variation::CalcOddsOf(*analysis, changed.shop, options);
    if (!odds) return Unexpected(odds.error());
    answer.changed = *std::move(odds);
    return answer;
  }
  variation::LessenOptions weigh;
  weigh.builds = std::min(question.use.builds, kBuildsWeighed);
  weigh.seed = question.use.seed;
  weigh.threads = question.use.threads;
  weigh.cancel = question.use.cancel;
  auto lessenings = variation::FindLessenings(ProjectOf(opened, answer.saved.plan), weigh);
  if (!lessenings) return Unexpected(lessenings.error());
  answer.lessenings = *std::move(lessenings);
  return answer;
}

Result<std::vector<std::pair<std::string, std::string>>> DrawOddsOf(const Opened& opened,
                                                                    const OddsAnswer& answer) {
  const auto analysis = variation::AnalyseProject(ProjectOf(opened, answer.saved.plan));
  if (!analysis) return Unexpected(analysis.error());
  const std::vector<RequirementOdds>& all = answer.saved.plan.odds.requirements;
  std::vector<std::size_t> order(all.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return all[a].chance.odds < all[b].chance.odds;
  });
  std::vector<std::pair<std::string, std::string>> drawings;
  for (const std::size_t r : order) {
    const RequirementOdds& odds = all[r];
    const auto spread = variation::CalcSpreadOut(*analysis, opened.project.shop, r, odds,
                                                 answer.saved.plan.odds.seed, kBuildsDrawn);
    if (!spread) return Unexpected(spread.error());
    sheets::OddsPicture picture = PictureOfSpread(opened, odds, *spread);
    picture.title = TitleOf(opened, odds);
    picture.limits = sheets::SentenceInUnit(odds.limits, opened.unit, {});
    picture.chance = sheets::ChanceText(odds.chance);
    picture.met = sheets::TallyOf(odds.chance.odds);
    drawings.emplace_back(fmt::format("odds-{:02}-{}.svg", drawings.size() + 1, odds.name.text()),
                          sheets::DrawOdds(picture));
  }
  return drawings;
}

}  // namespace fitwright::service
