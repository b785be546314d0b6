#include "fitwright/service/what_if_desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <map>
#include <utility>
#include <vector>

#include "fitwright/rework/standing_project.h"
#include "fitwright/service/build_use.h"
#include "fitwright/service/folder_stamp.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/odds_use.h"
#include "fitwright/service/rework_use.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"
#include "fitwright/store/build_log_store.h"
#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/odds.h"
#include "fitwright/variation/spread_out.h"

namespace fitwright::service {
namespace {

constexpr std::int64_t kBuildsDrawn = 8192;
constexpr std::int64_t kBuildsWeighed = 4096;
constexpr std::int64_t kMostBuilds = 20000;  // what a hand that turns a knob waits for
constexpr std::int64_t kMostByReadings = 8192;  // readings tie much together: each build takes longer
constexpr double kLeastShown = 0.97;         // of all builds, in a drawing
constexpr double kWiden = 1.7;
constexpr int kMostWiden = 3;

std::string N(double value) { return std::isfinite(value) ? fmt::format("{}", value) : "null"; }
std::string N(const std::optional<double>& value) { return value ? N(*value) : "null"; }

std::string ListOf(const std::vector<double>& values) {
  std::string out;
  for (const double v : values) out += (out.empty() ? "" : ",") + N(v);
  return "[" + out + "]";
}

std::string_view KindOf(const std::string& key, const Shop& shop) {
  if (key.ends_with(".clearance")) return "clearance";
  if (key.ends_with(".aim")) return "aim";
  if (shop.spreads.contains(key) || key.ends_with(".mean")) return "spread";
  return "limit";
}

// Without the table's remarks on its columns.
std::string SayOf(const std::string& words, LengthUnit unit) {
  const std::string text = sheets::NameText(words.substr(0, words.find(": ")));
  return sheets::WithoutBrackets(sheets::SentenceInUnit(text, unit, {}));
}
std::string SayOf(const variation::Knob& knob, LengthUnit unit) {
  return SayOf(knob.words, unit) + (knob.key.ends_with(".mean") ? ", on average" : "");
}

// Requirements missed a machine that the causes put down to a spread.
double WeightOf(const Odds& odds, const std::string& group) {
  double weight = 0;
  for (const RequirementOdds& r : odds.requirements) {
    for (const CauseShare& cause : r.causes) {
      if (cause.group == group) weight += cause.share * (1 - r.chance.odds);
    }
  }
  return weight;
}

std::string StepsOf(const Shop& shop, const std::string& key) {
  const auto found = shop.spreads.find(key);
  if (found == shop.spreads.end()) return "[]";
  const auto step = [&](std::string_view word, const SpreadFigure& figure) {
    return fmt::format(R"({{"word":"{}","value":{}}})", word, N(shop.spread_scale * figure.spread));
  };
  const Spread& row = found->second;
  return fmt::format("[{},{},{}]", step("careful", row.careful), step("usual", row.usual),
                     step("worn", row.worn));
}

std::string ChanceJson(const Chance& chance) {
  return fmt::format(R"({{"odds":{},"low":{},"high":{},"met":{},"text":{}}})", N(chance.odds),
                     N(chance.low), N(chance.high), sheets::TallyOf(chance.odds),
                     JsonString(sheets::ChanceText(chance)));
}

std::string ChangeJson(const variation::Change& change, LengthUnit unit) {
  return fmt::format(R"({{"key":{},"say":{},"unit":{},"from":{},"to":{}}})", JsonString(change.key),
                     JsonString(SayOf(change.words, unit)), JsonString(change.unit), N(change.from),
                     N(change.to));
}

struct Changed {
  variation::Project project;
  std::vector<variation::Change> changes;
};

Result<Changed> Apply(const variation::Project& project, const std::vector<std::string>& asked) {
  Changed changed{project, {}};
  for (const std::string& text : asked) {
    const auto change = variation::ApplyWhatIf(text, LengthUnit::kMillimetre, changed.project);
    if (!change) return Unexpected(change.error());
    changed.changes.push_back(*change);
  }
  return changed;
}

std::optional<std::size_t> PlaceOf(const Odds& odds, const std::string& requirement) {
  for (std::size_t r = 0; r < odds.requirements.size(); ++r) {
    if (odds.requirements[r].name.text() == requirement) return r;
  }
  return std::nullopt;
}

std::string SpreadJson(const std::string& requirement, const sheets::OddsPicture& first,
                       const sheets::OddsPicture& then) {
  const sheets::OddsPicture& limits = then.edges.empty() ? first : then;
  return fmt::format(
             R"({{"schema":"fitwright-spread/1","requirement":{},"axis":{},"source":{},"decimals":{},)"
             R"("edges":{},"before":{},"edges_after":{},"after":{},"lower":{},"upper":{},)"
             R"("lower_text":{},"upper_text":{}}})",
             JsonString(requirement), JsonString(first.axis), JsonString(first.source),
             first.decimals, ListOf(first.edges), ListOf(first.shares), ListOf(then.edges),
             ListOf(then.shares), N(limits.lower), N(limits.upper), JsonString(limits.lower_text),
             JsonString(limits.upper_text)) +
         "\n";
}

// The other requirements take builds of their own.
variation::Analysis AloneAt(const variation::Analysis& analysis, std::size_t place) {
  variation::Analysis alone;
  alone.sources = analysis.sources;
  alone.figures = analysis.figures;
  alone.plays = analysis.plays;
  alone.parts = analysis.parts;
  alone.requirements = {analysis.requirements[place]};
  return alone;
}

double Sum(const std::vector<double>& shares) {
  double sum = 0;
  for (const double s : shares) sum += s;
  return sum;
}

// Sizes and times of the build log.
struct LogSign {
  std::string text;
  bool settled = false;  // nothing was written in the last two seconds: a time may hide a change
  bool operator==(const LogSign& other) const { return text == other.text; }
};

LogSign ReadLogSign(const std::filesystem::path& dir) {
  constexpr std::chrono::seconds kSettled{2};
  LogSign sign{"", true};
  for (const char* end : {"", "-wal"}) {
    const std::filesystem::path file = dir / (std::string(store::kBuildLogFileName) + end);
    std::error_code none;
    const auto time = std::filesystem::last_write_time(file, none);
    if (none) continue;
    sign.text += fmt::format("{}|{}\n", std::filesystem::file_size(file, none), time.time_since_epoch().count());
    if (time + kSettled > std::filesystem::file_time_type::clock::now()) sign.settled = false;
  }
  return sign;
}

}  // namespace

struct WhatIfDesk::Kept {
  FolderStamp stamp;
  Opened opened;
  SavedPlan saved;
  variation::Project project;
  variation::Analysis analysis;
  LogSign log;                         // of one that stands
  int build = 0;                       // the same
  Workshop workshop;                   // the same
  std::optional<rework::Standing> standing;  // of workshop; none: as planned
  rework::StandingCounts counts;
  std::mutex finding;
  std::optional<variation::Lessenings> lessenings;
  std::map<std::size_t, RequirementOdds> moments;  // mean and sigma, which plan.json does not keep

  variation::MetWanted Wanted() const {
    variation::MetWanted wanted;
    wanted.builds = std::clamp<std::int64_t>(saved.plan.odds.builds, 100,
                                              standing ? kMostByReadings : kMostBuilds);
    wanted.seed = saved.plan.odds.seed;
    return wanted;
  }
  Result<rework::StandingCounts> Count(const variation::Project& of) const {
    if (standing) return rework::CountStanding(of, *standing, Wanted());
    const auto read = variation::AnalyseProject(of);
    if (!read) return Unexpected(read.error());
    return rework::CountEvenly(*read, Wanted());
  }
  int readings() const { return standing ? static_cast<int>(standing->readings.size()) : 0; }
  // What the plan says itself, where these are its own builds.
  Chance Before(const Chance& said, const Chance& counted) const {
    const bool same = !standing && std::abs(counted.odds - said.odds) < 1e-3;
    return same ? said : counted;
  }
  Chance AllNow() const { return Before(saved.plan.odds.all, counts.all); }
  std::string Pair(const Chance& said, const Chance& before, const Chance& after) const {
    const Chance first = Before(said, before);
    const Chance& then = after.odds == before.odds ? first : after;
    return fmt::format(R"("before":{},"after":{})", ChanceJson(first), ChanceJson(then));
  }

  // With mean and sigma.
  Result<RequirementOdds> OddsAt(std::size_t place) {
    const std::lock_guard lock(finding);
    const auto known = moments.find(place);
    if (known != moments.end()) return known->second;
    variation::OddsOptions options;
    options.builds = kBuildsDrawn;
    options.seed = saved.plan.odds.seed;
    options.shop_band = options.causes = options.seldom = false;
    auto found = variation::CalcOddsOf(AloneAt(analysis, place), project.shop, options);
    if (!found) return Unexpected(found.error());
    return moments.emplace(place, std::move(found->requirements.front())).first->second;
  }
  // As planned, and in the changed plan where there is one; wide enough that both are seen, for
  // which `odds` may be widened.
  using Both = std::pair<std::optional<variation::SpreadOut>, std::optional<variation::SpreadOut>>;
  Result<Both> Drawn(const variation::Analysis* changed, std::size_t place,
                     RequirementOdds& odds) const {
    const auto draw = [&](const variation::Analysis& of) {
      return variation::CalcSpreadOut(of, project.shop, place, odds, saved.plan.odds.seed,
                                      kBuildsDrawn);
    };
    for (int i = 0;; ++i) {
      auto before = draw(analysis);
      if (!before) return Unexpected(before.error());
      if (changed == nullptr || !*before) return Both{*std::move(before), std::nullopt};
      auto after = draw(*changed);
      if (!after) return Unexpected(after.error());
      if (i == kMostWiden || !*after || Sum((*after)->shares) >= kLeastShown)
        return Both{*std::move(before), *std::move(after)};
      odds.sigma *= kWiden;
    }
  }
};

Result<std::shared_ptr<WhatIfDesk::Kept>> WhatIfDesk::MakeKept(std::shared_ptr<Kept> kept) const {
  auto analysis = variation::AnalyseProject(kept->project);
  if (!analysis) return Unexpected(analysis.error());
  kept->analysis = *std::move(analysis);
  auto counts = kept->standing ? kept->Count(kept->project)
                               : rework::CountEvenly(kept->analysis, kept->Wanted());
  if (!counts) return Unexpected(counts.error());
  kept->counts = *std::move(counts);
  return kept;
}

Result<std::shared_ptr<WhatIfDesk::Kept>> WhatIfDesk::GetPlanned() {
  FolderStamp now = ReadFolderStamp(open_.dir, open_.shop_file);
  if (planned_ && now.settled && planned_->stamp == now) return planned_;
  Diagnostics faults;
  auto opened = Open(open_, faults);
  if (!opened) return Unexpected(opened.error());
  auto saved = LoadSavedPlan(*opened);
  if (!saved) return Unexpected(saved.error());
  if (planned_ && planned_->saved.id == saved->id &&
      planned_->opened.project.inputs_hash == opened->project.inputs_hash) {
    planned_->stamp = now;
    return planned_;
  }
  auto kept = std::make_shared<Kept>();
  kept->stamp = std::move(now);
  kept->project = {opened->project.machine, opened->project.shop, saved->plan};
  kept->opened = *std::move(opened);
  kept->saved = *std::move(saved);
  auto made = MakeKept(std::move(kept));
  if (made) planned_ = *made;
  return made;
}

Result<std::shared_ptr<WhatIfDesk::Kept>> WhatIfDesk::Get(const WhatIfOf& of) {
  if (const Status good = CheckBuild(of.build); !good) return Unexpected(good.error());
  const std::lock_guard lock(mutex_);
  auto planned = GetPlanned();
  if (!planned || of.as_planned) return planned;
  const LogSign log = ReadLogSign(open_.dir);
  const bool same_plan = standing_ && standing_->build == of.build &&
                         standing_->saved.id == (*planned)->saved.id &&
                         standing_->stamp == (*planned)->stamp;
  if (same_plan && log.settled && standing_->log == log) return standing_;
  auto workshop = EnterWorkshop(open_);
  if (!workshop) return Unexpected(workshop.error());
  auto kept = std::make_shared<Kept>();
  kept->workshop = *std::move(workshop);
  auto standing = StandingOf(kept->workshop, of.build);
  if (!standing) return Unexpected(standing.error());
  if (standing->readings.empty()) return planned;
  kept->stamp = (*planned)->stamp;
  kept->log = log;
  kept->build = of.build;
  kept->opened = (*planned)->opened;
  kept->saved = (*planned)->saved;
  kept->project = rework::ProjectOf(*standing);
  kept->standing = *std::move(standing);
  auto made = MakeKept(std::move(kept));
  if (made) standing_ = *made;
  return made;
}

Result<std::string> WhatIfDesk::Knobs(const WhatIfOf& of) {
  const auto kept = Get(of);
  if (!kept) return Unexpected(kept.error());
  const Shop& shop = (*kept)->project.shop;
  struct Row {
    double weight = 0;
    std::string text;
  };
  std::vector<Row> rows;
  for (const variation::Knob& knob : variation::KnobsOf((*kept)->project)) {
    const double weight = WeightOf((*kept)->saved.plan.odds, knob.key);
    rows.push_back(
        {weight,
         fmt::format(
             R"({{"key":{},"kind":"{}","say":{},"unit":{},"now":{},"weight":{},"steps":{}}})",
             JsonString(knob.key), KindOf(knob.key, shop),
             JsonString(SayOf(knob, of.unit.value_or((*kept)->opened.unit))), JsonString(knob.unit),
             N(knob.now), N(weight), StepsOf(shop, knob.key))});
  }
  std::stable_sort(rows.begin(), rows.end(),
                   [](const Row& a, const Row& b) { return a.weight > b.weight; });
  return fmt::format(R"({{"schema":"fitwright-knobs/1","by_readings":{},"all":{},"knobs":)",
                     (*kept)->readings(), ChanceJson((*kept)->AllNow())) +
         JsonLines(rows, [](const Row& row) { return row.text; }) + "}\n";
}

Result<std::string> WhatIfDesk::Odds(const files::WhatIfAsked& asked,
                                     const WhatIfOf& of) {
  const auto got = Get(of);
  if (!got) return Unexpected(got.error());
  const Kept& kept = **got;
  const auto changed = Apply(kept.project, asked.changes);
  if (!changed) return Unexpected(changed.error());
  auto after = changed->changes.empty() ? kept.counts : kept.Count(changed->project);
  if (!after) return Unexpected(after.error());
  const fitwright::Odds& said = kept.saved.plan.odds;
  std::string requirements;
  for (std::size_t r = 0; r < said.requirements.size() && r < after->requirements.size(); ++r) {
    requirements +=
        fmt::format(R"({}{{"name":{},{}}})", r > 0 ? ",\n    " : "",
                    JsonString(said.requirements[r].name.text()),
                    kept.Pair(said.requirements[r].chance, kept.counts.requirements[r],
                              after->requirements[r]));
  }
  return fmt::format(
             R"({{"schema":"fitwright-what-if/1","builds":{:.0f},"by_readings":{},"changes":{},"all":{{{}}},"requirements":[{}]}})",
             kept.counts.builds, kept.readings(),
             JsonLines(changed->changes,
                       [&](const variation::Change& c) {
                         return ChangeJson(c, of.unit.value_or(kept.opened.unit));
                       }),
             kept.Pair(said.all, kept.counts.all, after->all), requirements) +
         "\n";
}

Result<std::string> WhatIfDesk::Spread(const files::WhatIfAsked& asked,
                                       const WhatIfOf& of) {
  const auto got = Get(of);
  if (!got) return Unexpected(got.error());
  Kept& kept = **got;
  const auto place = PlaceOf(kept.saved.plan.odds, asked.requirement);
  if (!place || *place >= kept.analysis.requirements.size()) {
    return Unexpected(Error{ErrorCode::kUsage,
                            "no requirement has this name",
                            asked.requirement.substr(0, 60),
                            "load the page again",
                            {}});
  }
  const auto changed = Apply(kept.project, asked.changes);
  if (!changed) return Unexpected(changed.error());
  const auto analysis = variation::AnalyseProject(changed->project);
  if (!analysis) return Unexpected(analysis.error());
  auto moments = kept.OddsAt(*place);
  if (!moments) return Unexpected(moments.error());
  RequirementOdds odds = *std::move(moments);
  const auto drawn = kept.Drawn(changed->changes.empty() ? nullptr : &*analysis, *place, odds);
  if (!drawn) return Unexpected(drawn.error());
  const auto& [before, after] = *drawn;
  Opened opened = kept.opened;
  opened.unit = of.unit.value_or(opened.unit);
  opened.project.machine = changed->project.machine;
  return SpreadJson(asked.requirement, PictureOfSpread(opened, odds, before),
                    PictureOfSpread(opened, odds, after));
}

Result<std::string> WhatIfDesk::Lessen(const WhatIfOf& of) {
  const auto got = Get(of);
  if (!got) return Unexpected(got.error());
  Kept& kept = **got;
  const std::lock_guard lock(kept.finding);
  if (!kept.lessenings) {
    variation::LessenOptions weigh;
    weigh.builds = kBuildsWeighed;
    weigh.seed = kept.saved.plan.odds.seed;
    auto found = variation::FindLessenings(kept.project, weigh);
    if (!found) return Unexpected(found.error());
    kept.lessenings = *std::move(found);
  }
  Opened opened = kept.opened;
  opened.unit = of.unit.value_or(opened.unit);
  return LesseningsToJson(opened, kept.saved, *kept.lessenings);
}

}  // namespace fitwright::service
