#include "fitwright/variation/lessen.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <span>
#include <utility>

#include "fitwright/variation/fast_odds.h"
#include "fitwright/variation/reading_worth.h"

namespace fitwright::variation {
namespace {

constexpr double kHalf = 0.5;
constexpr double kMoreClearance_mm = 0.1;
constexpr double kAimStep = 0.25;   // of the width of its limits
constexpr double kWider = 0.1;      // of a limit's width, or of the limit itself
constexpr double kMatters = 0.001;  // of odds

// ---- What a requirement reads, however far back.

using Marks = std::vector<std::uint8_t>;

struct Read {
  Marks sources;
  std::vector<std::uint8_t> plays;
};

void Mark(const Form& form, Marks& marks) {
  for (const Term& t : form.terms) marks[t.source] = 1;
}

void Mark(const FloatLimits& limits, Marks& marks) {
  for (const FloatLimit& l : limits.limits) {
    Mark(l.offset[0], marks);
    Mark(l.offset[1], marks);
    Mark(l.room, marks);
  }
}

void Mark(const Play& play, Marks& marks) {
  Mark(play.within, marks);
  for (const auto& [form, tolerance] : play.targets) Mark(form, marks);
  if (play.has_residual) {
    for (const SourceIndex s : play.residual) marks[s] = 1;
  }
  if (!play.returns) return;
  for (std::size_t i = 0; i < (play.before_turns ? 3U : 2U); ++i) marks[play.before[i]] = 1;
}

Read ReadOf(const Analysis& analysis, const RequirementForms& r) {
  Read read{Marks(analysis.sources.size()), std::vector<std::uint8_t>(analysis.plays.size())};
  for (const Form& form : r.linear) Mark(form, read.sources);
  for (const auto& pair : r.vectors) {
    Mark(pair[0], read.sources);
    Mark(pair[1], read.sources);
  }
  Mark(r.screws, read.sources);
  for (const FloatLimits& limits : r.stack) Mark(limits, read.sources);
  for (std::size_t i = analysis.plays.size(); i-- > 0;) {  // a play rests on earlier ones alone
    const Play& play = analysis.plays[i];
    const bool is_read = read.sources[play.tx] != 0 || read.sources[play.ty] != 0 ||
                         (play.theta && read.sources[*play.theta] != 0);
    if (!is_read) continue;
    read.plays[i] = 1;
    Mark(play, read.sources);
  }
  return read;
}

double RemedyOf(const RequirementForms& r, double odds) {
  return odds < 1 ? (1 - odds) * RemedyMinutes(r, odds) : 0;
}

// ---- The changes.

class Finder {
 public:
  Finder(const Project& project, const Analysis& analysis, const LessenOptions& options)
      : project_(project),
        analysis_(analysis),
        options_(options),
        judge_(analysis, FastOf(options), laws_) {
    for (const RequirementForms& r : analysis.requirements) reads_.push_back(ReadOf(analysis, r));
  }

  Result<Lessenings> Find() {
    Lessenings found;
    std::vector<std::size_t> every(analysis_.requirements.size());
    for (std::size_t r = 0; r < every.size(); ++r) every[r] = r;
    auto base = judge_.Of(every, analysis_.figures);
    if (!base) return Unexpected(base.error());
    base_ = *std::move(base);
    for (const FastOdds& odds : base_) {
      found.odds.push_back(odds.odds);
      found.misses += 1 - odds.odds;
    }
    for (const auto step : {&Finder::AddSpreads, &Finder::AddClearances, &Finder::AddAims}) {
      if (const Status s = (this->*step)(found.ranked); !s) return Unexpected(s.error());
    }
    if (const Status s = AddLimits(found.limits); !s) return Unexpected(s.error());
    std::stable_sort(found.ranked.begin(), found.ranked.end(),
                     [](const Lessening& a, const Lessening& b) {
                       return a.minutes_saved != b.minutes_saved ? a.minutes_saved > b.minutes_saved
                                                                 : a.fewer_misses > b.fewer_misses;
                     });
    if (found.ranked.size() > options_.most) found.ranked.resize(options_.most);
    found.readings = FindReadings(project_, analysis_, found.odds, options_.most);
    std::erase_if(found.readings, [&](const ReadingWorth& one) {
      return IsCut(project_, one.read) || IsCut(project_, one.suited);
    });
    return found;
  }

 private:
  static FastOptions FastOf(const LessenOptions& options) {
    return {options.builds, options.seed, options.threads, options.cancel};
  }

  // Judges the places in a changed analysis or shop and keeps what gets better.
  Status Weigh(const Change& change, FastJudge& judge, const Figures& figures,
               const std::vector<std::size_t>& places, std::vector<Lessening>& found) {
    if (places.empty()) return Ok{};
    const auto judged = judge.Of(places, figures);
    if (!judged) return Unexpected(judged.error());
    Keep(change, *judged, places, found);
    return Ok{};
  }

  void Keep(const Change& change, std::span<const FastOdds> judged,
            const std::vector<std::size_t>& places, std::vector<Lessening>& found) const {
    Lessening one{change, {}, 0, 0};
    for (std::size_t i = 0; i < places.size(); ++i) {
      const std::size_t r = places[i];
      const FastOdds& after = judged[i];
      const FastOdds& before = base_[r];
      one.fewer_misses += after.odds - before.odds;
      one.minutes_saved += RemedyOf(analysis_.requirements[r], before.odds) -
                           RemedyOf(analysis_.requirements[r], after.odds);
      if (after.odds - before.odds >= kMatters)
        one.effects.push_back({r, before.odds, after.odds, after.exact && before.exact});
    }
    if (one.effects.empty() || one.fewer_misses < kMatters) return;
    std::stable_sort(one.effects.begin(), one.effects.end(), [](const LessMissed& a, const LessMissed& b) {
      return a.after - a.before > b.after - b.before;
    });
    found.push_back(std::move(one));
  }

  // Requirements that miss at all, and for which `reads` holds.
  template <typename Reads>
  std::vector<std::size_t> Places(Reads reads) const {
    std::vector<std::size_t> places;
    for (std::size_t r = 0; r < reads_.size(); ++r) {
      if (base_[r].odds < 1 - kMatters && reads(reads_[r])) places.push_back(r);
    }
    return places;
  }

  bool ReadsGroup(const Read& read, std::string_view group) const {
    for (std::size_t s = 0; s < analysis_.sources.size(); ++s) {
      if (read.sources[s] == 0) continue;
      const Source& source = analysis_.sources[static_cast<SourceIndex>(s)];
      if (GroupOf(source) == group) return true;
      if (source.law == Law::kWorked &&
          GroupOf(analysis_.sources.worked()[static_cast<std::size_t>(source.worked)].reading) ==
              group)
        return true;
    }
    return false;
  }

  Status AddSpreads(std::vector<Lessening>& found) {
    std::set<std::string_view> done;
    for (const SpreadId id : kSpreadIds) {
      const std::string_view group = GroupOf(id);
      if (IsOwnLimits(id) || id == SpreadId::kThreadPlay || !done.insert(group).second) continue;
      Figures figures = analysis_.figures;
      for (const SpreadId other : kSpreadIds) {
        if (GroupOf(other) == group) figures[Place(other)].spread *= kHalf;
      }
      const auto row = project_.shop.spreads.find(std::string(IdOf(id)));
      const double now =
          row == project_.shop.spreads.end() ? 0 : FigureOf(project_.shop, row->second).spread;
      const Change change{std::string(group), WordsOfSpread(project_.shop, id),
                          row == project_.shop.spreads.end() ? "" : row->second.unit, now,
                          kHalf * now};
      const auto places = Places([&](const Read& read) { return ReadsGroup(read, group); });
      // What a reading says hangs on the spreads: the plan is read again.
      const Status s = project_.made.known ? AddHalved(change, group, places, found)
                                           : Weigh(change, judge_, figures, places, found);
      if (!s) return s;
    }
    return Ok{};
  }

  Status AddHalved(const Change& change, std::string_view group,
                   const std::vector<std::size_t>& places, std::vector<Lessening>& found) {
    if (places.empty()) return Ok{};
    Project changed = project_;
    changed.made.known = [&](const Project& project, Analysis analysis) {
      for (const SpreadId other : kSpreadIds) {
        if (GroupOf(other) == group) analysis.figures[Place(other)].spread *= kHalf;
      }
      return project_.made.known(project, std::move(analysis));
    };
    const auto analysis = AnalyseProject(changed);
    if (!analysis) return Unexpected(analysis.error());
    FastJudge judge(*analysis, FastOf(options_), laws_);
    return Weigh(change, judge, analysis->figures, places, found);
  }

  // Of knobs that change the project: the plan is read again with each.
  Status AddKnob(const Knob& knob, double to, const std::vector<std::size_t>& places,
                 std::vector<Lessening>& found) {
    if (places.empty()) return Ok{};
    Project changed = project_;
    knob.set(changed, to);
    const auto analysis = AnalyseProject(changed);
    if (!analysis) return Unexpected(analysis.error());
    // Compiled with the others, so that the builds are the same.
    FastJudge judge(*analysis, FastOf(options_), laws_);
    return Weigh({knob.key, knob.words, knob.unit, knob.now, to}, judge, analysis->figures, places,
                 found);
  }

  Status AddClearances(std::vector<Lessening>& found) {
    for (const Knob& knob : KnobsOf(project_)) {
      if (!knob.key.ends_with(".clearance")) continue;
      const JointId name(knob.key.substr(0, knob.key.rfind('.')));
      std::vector<std::size_t> places;
      for (std::size_t r = 0; r < reads_.size(); ++r) {
        if (base_[r].odds < 1 - kMatters && ReadsJoint(r, name)) places.push_back(r);
      }
      if (const Status s = AddKnob(knob, knob.now + kMoreClearance_mm, places, found); !s) return s;
    }
    return Ok{};
  }

  bool ReadsJoint(std::size_t r, const JointId& name) const {
    for (const Requirement& requirement : project_.machine.requirements) {
      if (requirement.name == analysis_.requirements[r].name && requirement.joint == name)
        return true;
    }
    for (const Joint& joint : project_.machine.joints) {
      if (joint.name != name) continue;
      for (std::size_t i = 0; i < analysis_.plays.size(); ++i) {
        const Play& play = analysis_.plays[i];
        const auto is = [&](const PartId& part) {
          return part == joint.fixed.part || part == joint.moving.part;
        };
        if (reads_[r].plays[i] != 0 && is(play.part) && is(play.anchor)) return true;
      }
    }
    return false;
  }

  // Each size aimed at, a quarter of its limits' width to either side; the better side is kept.
  Status AddAims(std::vector<Lessening>& found) {
    for (const Knob& knob : KnobsOf(project_)) {
      if (!knob.key.ends_with(".aim")) continue;
      const auto limits = LimitsOfAim(knob.key);
      if (!limits) continue;
      const double step = kAimStep * (limits->second - limits->first);
      const auto places = Places([&](const Read& read) { return ReadsWork(read, knob.key); });
      std::vector<Lessening> sides;
      for (const double to : {knob.now - step, knob.now + step}) {
        if (to < limits->first || to > limits->second) continue;
        if (const Status s = AddKnob(knob, to, places, sides); !s) return s;
      }
      const auto best = std::max_element(
          sides.begin(), sides.end(),
          [](const Lessening& a, const Lessening& b) { return a.minutes_saved < b.minutes_saved; });
      if (best != sides.end()) found.push_back(*best);
    }
    return Ok{};
  }

  std::optional<std::pair<double, double>> LimitsOfAim(const std::string& key) const {
    for (const Setup& setup : project_.plan.setups) {
      for (const Step& step : setup.steps) {
        if (!step.aim || step.features.empty() || KeyOfAim(step.features.front()) != key) continue;
        const bool fitted = step.aim->kind == AimKind::kFitToMeasured && step.aim->mate;
        return fitted ? std::pair(step.aim->clearance_lower_mm, step.aim->clearance_upper_mm)
                      : std::pair(step.aim->lower_mm, step.aim->upper_mm);
      }
    }
    return std::nullopt;
  }

  static std::string KeyOfAim(const FeatureRef& ref) {
    return ref.part.text() + "." + ref.feature.text() + ".aim";
  }

  // Reads a source of the size that is aimed at.
  bool ReadsWork(const Read& read, const std::string& key) const {
    for (const auto& [ref, forms] : analysis_.features) {
      if (KeyOfAim(ref) != key) continue;
      return std::any_of(forms.size.terms.begin(), forms.size.terms.end(),
                         [&](const Term& t) { return read.sources[t.source] != 0; });
    }
    return false;
  }

  Status AddLimits(std::vector<Lessening>& found) {
    Analysis wider;
    wider.sources = analysis_.sources;
    wider.plays = analysis_.plays;
    wider.parts = analysis_.parts;
    wider.requirements = analysis_.requirements;
    for (RequirementForms& r : wider.requirements) {
      const bool low = r.lower > -kUnlimited;
      const bool high = r.upper < kUnlimited;
      const double more =
          kWider * (low && high ? r.upper - r.lower : std::abs(high ? r.upper : r.lower));
      if (high) r.upper += low ? 0.5 * more : more;
      if (low) r.lower -= high ? 0.5 * more : more;
    }
    // Each limit concerns its own requirement: all are wider in the same builds.
    auto places = Places([](const Read&) { return true; });
    std::erase_if(
        places, [&](std::size_t r) { return analysis_.requirements[r].test == TestKind::kScrews; });
    FastJudge judge(wider, FastOf(options_), laws_);
    const auto judged = judge.Of(places, analysis_.figures);
    if (!judged) return Unexpected(judged.error());
    for (std::size_t i = 0; i < places.size(); ++i) {
      const RequirementForms& now = analysis_.requirements[places[i]];
      const RequirementForms& then = wider.requirements[places[i]];
      const bool high = now.upper < kUnlimited;
      Keep({now.name.text() + (high ? ".upper" : ".lower"), now.name.text(), "",
            high ? now.upper : now.lower, high ? then.upper : then.lower},
           std::span(*judged).subspan(i, 1), {places[i]}, found);
    }
    return Ok{};
  }

  const Project& project_;
  const Analysis& analysis_;
  const LessenOptions& options_;
  LawMemo laws_;
  FastJudge judge_;
  std::vector<Read> reads_;
  std::vector<FastOdds> base_;
};

}  // namespace

Result<Lessenings> FindLessenings(const Project& project, const LessenOptions& options) {
  const auto analysis = AnalyseProject(project);
  if (!analysis) return Unexpected(analysis.error());
  return Finder(project, *analysis, options).Find();
}

}  // namespace fitwright::variation
