#include "fitwright/service/odds_use.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/rework/standing_odds.h"
#include "fitwright/rework/standing_project.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/kept_outcomes.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"
#include "fitwright/store/build_log_store.h"
#include "fitwright/variation/odds.h"

namespace fitwright::service {
namespace {

constexpr double kMradPerRad = 1000;
constexpr std::int64_t kBuildsDrawn = 8192;
constexpr std::int64_t kBuildsWeighed = 4096;

// What is asked about, and the build by whose readings; none: as planned.
struct Asked {
  std::optional<rework::Standing> standing;
  variation::Project project;
};

Result<Asked> AskedOf(const Opened& opened, const SavedPlan& saved, int build,
                      const std::optional<Workshop>& workshop) {
  Asked asked{{}, {opened.project.machine, opened.project.shop, saved.plan}};
  if (!workshop) return asked;
  auto standing = StandingOf(*workshop, build);
  if (!standing) return Unexpected(standing.error());
  if (standing->readings.empty()) return asked;
  standing->machine = &opened.project.machine;  // in the shop that was asked for
  standing->shop = &opened.project.shop;
  asked.project = rework::ProjectOf(*standing);
  asked.standing = *std::move(standing);
  return asked;
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

namespace {

variation::OddsOptions OptionsOf(const OddsUse& use) {
  variation::OddsOptions options;
  options.builds = use.builds;
  options.seed = use.seed;
  options.threads = use.threads;
  options.cancel = use.cancel;
  return options;
}

Result<SavedPlan> CountSaved(const Opened& opened, const Asked& asked, const OddsUse& use,
                             SavedPlan saved) {
  KeptOutcomes kept(opened.project.dir);  // looked at only: they are what planning needs again
  auto odds = asked.standing ? rework::CalcOddsGiven(*asked.standing, OptionsOf(use))
                             : variation::CalcOdds(asked.project.machine, asked.project.shop,
                                                   saved.plan, OptionsOf(use), &kept.memo());
  if (!odds) return Unexpected(odds.error());
  saved.plan.odds = *std::move(odds);
  return saved;
}

Result<Odds> CalcChanged(const Asked& asked, const variation::Project& changed,
                         const OddsUse& use) {
  variation::OddsOptions options = OptionsOf(use);
  options.causes = false;
  if (asked.standing) return rework::CalcOddsGiven(changed, *asked.standing, options);
  const auto analysis = variation::AnalyseProject(changed);
  if (!analysis) return Unexpected(analysis.error());
  return variation::CalcOddsOf(*analysis, changed.shop, options);
}

Result<std::optional<Workshop>> WorkshopOf(const Opened& opened, const OddsQuestion& question) {
  if (question.afresh || !std::filesystem::exists(opened.project.dir / store::kBuildLogFileName))
    return std::optional<Workshop>();
  auto workshop = EnterWorkshop({opened.project.dir, {}, {}});
  if (!workshop) return Unexpected(workshop.error());
  return std::optional<Workshop>(*std::move(workshop));
}

}  // namespace

std::string ReadingsCountedWords(int readings, int build) {
  if (readings == 0) return "";
  return fmt::format(
      "By {} reading{} of {}, as it stands now; --afresh asks of the plan as if nothing were made.",
      readings, readings == 1 ? "" : "s",
      build == 1 ? std::string("this machine") : fmt::format("machine {}", build));
}

Result<OddsAnswer> AnswerOdds(const Opened& opened, const OddsQuestion& question) {
  auto saved = LoadSavedPlan(opened);
  if (!saved) return Unexpected(saved.error());
  const auto workshop = WorkshopOf(opened, question);
  if (!workshop) return Unexpected(workshop.error());
  OddsAnswer answer;
  const auto& anew = saved->origin.anew;
  answer.build = question.build > 0 ? question.build : anew ? anew->build : 1;
  const auto asked = AskedOf(opened, *saved, answer.build, *workshop);
  if (!asked) return Unexpected(asked.error());
  if (asked->standing) answer.readings = static_cast<int>(asked->standing->readings.size());
  variation::Project changed = asked->project;
  for (const std::string& text : question.what_if) {
    const auto change = variation::ApplyWhatIf(text, opened.unit, changed);
    if (!change) return Unexpected(change.error());
    answer.changes.push_back(*change);
  }
  auto counted = CountSaved(opened, *asked, question.use, *std::move(saved));
  if (!counted) return Unexpected(counted.error());
  answer.saved = *std::move(counted);
  answer.project = asked->project;
  if (!answer.changes.empty()) {
    auto odds = CalcChanged(*asked, changed, question.use);
    if (!odds) return Unexpected(odds.error());
    answer.changed = *std::move(odds);
    return answer;
  }
  variation::LessenOptions weigh;
  weigh.builds = std::min(question.use.builds, kBuildsWeighed);
  weigh.seed = question.use.seed;
  weigh.threads = question.use.threads;
  weigh.cancel = question.use.cancel;
  auto lessenings = variation::FindLessenings(answer.project, weigh);
  if (!lessenings) return Unexpected(lessenings.error());
  answer.lessenings = *std::move(lessenings);
  return answer;
}

Result<std::vector<std::pair<std::string, std::string>>> DrawOddsOf(const Opened& opened,
                                                                    const OddsAnswer& answer) {
  const auto analysis = variation::AnalyseProject(answer.project);
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
