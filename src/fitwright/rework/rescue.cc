#include "fitwright/rework/rescue.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/rework/bearing.h"
#include "fitwright/rework/length_between.h"
#include "fitwright/rework/rescue_ways.h"
#include "fitwright/variation/geometry.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::FactorOf;
using variation::Form;
using variation::MixKeys;
using variation::SourceIndex;
using variation::SpreadId;

// Shifts every form by what moving one source by `by` does to it.
void ShiftSource(Analysis& analysis, SourceIndex source, double by) {
  ForEachForm(analysis, [&](Form& form) { form.constant += FactorOf(form, source) * by; });
}

class Finder {
 public:
  Finder(const Standing& standing, const PastLimits& past, Analysis analysis,
         const std::vector<variation::Moments>& moments, std::int64_t builds)
      : standing_(standing),
        past_(past),
        own_(std::move(analysis)),
        moments_(moments),
        builds_(builds) {}

  std::vector<Rescue> Find() {
    Analysis& own = own_;
    std::vector<ReadingTaken> others = standing_.readings;
    others.pop_back();
    const Observed all = See(standing_.readings, own);
    const Observed before = See(others, own);
    const Observed alone = See({past_.taken}, own);
    const Conditioning given(own, all, moments_);
    const Conditioning open(own, before, moments_);
    const Conditioning by_itself(own, alone, moments_);
    for (std::size_t r = 0; r < own.requirements.size(); ++r) {
      if (BearsOn(by_itself, own, own.requirements[r])) touched_.push_back(r);
    }
    AsIs(own, given);
    if (CanCutAgain(*standing_.machine, past_)) CutAgain(own, open);
    Bush(own, open);
    ScrewsWider(own, given, open);
    MovePattern(own, given);
    Remake(own, open);
    std::stable_sort(found_.begin(), found_.end(), [](const Rescue& a, const Rescue& b) {
      return a.expected_min < b.expected_min;
    });
    return std::move(found_);
  }

 private:
  Observed See(const std::vector<ReadingTaken>& readings, Analysis& own) const {
    return Observe(*standing_.machine, *standing_.shop, *standing_.plan, readings, own);
  }

  // Of the builds that a way out leaves.
  struct Outcome {
    double odds = 0;
    double remedies_min = 0;
  };
  Outcome OutcomeOf(const Analysis& analysis, const Conditioning& given) const {
    BuildsAsked asked;
    asked.requirements = touched_;
    asked.builds = builds_;
    const WeighedBuilds built = BuildGiven(analysis, given, asked);
    std::vector<std::uint8_t> all(built.builds, 1);
    Outcome outcome;
    for (std::size_t i = 0; i < touched_.size(); ++i) {
      for (std::size_t b = 0; b < all.size(); ++b) all[b] &= built.met[i][b];
      const double odds = built.Chance(built.met[i]);
      outcome.remedies_min +=
          (1 - odds) * variation::RemedyMinutes(analysis.requirements[touched_[i]], odds);
    }
    outcome.odds = built.Chance(all);
    return outcome;
  }
  void Add(Rescue rescue, const Outcome& outcome) {
    rescue.odds = outcome.odds;
    rescue.expected_min = rescue.minutes + outcome.remedies_min;
    found_.push_back(std::move(rescue));
  }
  void Add(Rescue rescue, const Analysis& analysis, const Conditioning& given) {
    Add(std::move(rescue), OutcomeOf(analysis, given));
  }
  // As if the reading had not been: what several ways come to.
  void AddOpen(Rescue rescue, const Analysis& own, const Conditioning& open) {
    if (!open_) open_ = OutcomeOf(own, open);
    Add(std::move(rescue), *open_);
  }

  const Step& step() const { return *past_.taken.step; }
  double Measure_min() const { return standing_.shop->times.measure; }
  const Feature* feature() const { return standing_.machine->Find(past_.taken.feature); }

  void AsIs(const Analysis& own, const Conditioning& given) {
    Add({.kind = RescueKind::kUseAsIs}, own, given);
    Rescue suit{.kind = RescueKind::kMateToSuit, .minutes = kDisturbance_min};
    Analysis moved = own;
    for (SizeTarget& target : FindTargets(standing_, own, given, builds_)) {
      if (!target.moved) continue;
      ShiftSource(moved, target.size.last_cut, target.now.aim_mm - target.planned.aim_mm);
      suit.targets.push_back(std::move(target));
    }
    if (!suit.targets.empty()) Add(std::move(suit), moved, given);
  }

  void CutAgain(const Analysis& own, const Conditioning& open) {
    AddOpen({.kind = RescueKind::kCutAgain, .minutes = Measure_min() + 0.5 * step().time_min}, own,
            open);
  }

  void Bush(const Analysis& own, const Conditioning& open) {
    const Part* part = standing_.machine->FindPart(past_.taken.feature.part);
    if (!past_.is_round || CanCutAgain(*standing_.machine, past_) || part == nullptr ||
        feature() == nullptr)
      return;
    const auto* hole = std::get_if<Hole>(&feature()->shape);
    Rescue rescue;
    rescue.minutes = kBush_min + step().time_min + 2 * Measure_min();
    if (hole != nullptr) {
      if (hole->thread || hole->entries_P_mm.size() != 1) return;
      const auto wall = WallRound_mm(*part, *feature());
      if (wall && *wall < kBushWall_mm + kLeastWall_mm) return;
      rescue.kind = RescueKind::kBush;
      rescue.size_mm = past_.taken.value_mm + 2 * kBushWall_mm;
    } else {
      rescue.kind = RescueKind::kSleeve;
      rescue.size_mm = past_.taken.value_mm - 2 * kBushWall_mm;
      // Opinion: half of the shaft is to be left under the sleeve.
      if (rescue.size_mm < 0.5 * past_.taken.value_mm) return;
    }
    AddOpen(std::move(rescue), own, open);
  }

  void ScrewsWider(const Analysis& own, const Conditioning& given, const Conditioning& open) {
    const auto holes = FindScrewHoles(*standing_.machine, past_.taken.feature);
    if (!holes) return;
    Rescue rescue;
    rescue.minutes = holes->count * (standing_.shop->times.move_to_hole + step().time_min) +
                     standing_.shop->times.tool_change;
    if (holes->next_thread != nullptr) {
      rescue.kind = RescueKind::kNextScrew;
      rescue.detail = holes->next_thread;
      rescue.minutes *= 3;  // drill, tap, and the mate's holes: opinion
      return AddOpen(std::move(rescue), own, open);
    }
    if (!holes->wider_mm) return;
    rescue.kind = RescueKind::kOpenOut;
    rescue.size_mm = *holes->wider_mm;
    Analysis wider = own;
    const double more = 0.5 * (*holes->wider_mm - holes->now_mm);
    for (variation::RequirementForms& r : wider.requirements) {
      const Requirement* asked = FindRequirement(r.name);
      if (r.test != variation::TestKind::kScrews || asked == nullptr || !asked->joint ||
          *asked->joint != holes->joint->name)
        continue;
      for (variation::FloatLimit& limit : r.screws.limits) {
        if (limit.screw >= 0) limit.room.constant += more;
      }
    }
    Add(std::move(rescue), wider, given);
  }

  const Requirement* FindRequirement(const RequirementId& name) const {
    for (const Requirement& r : standing_.machine->requirements) {
      if (r.name == name) return &r;
    }
    return nullptr;
  }

  // Holes of the part that are still to be made by coordinates go where what was read went.
  void MovePattern(const Analysis& own, const Conditioning& given) {
    if (past_.is_round || !step().measure) return;
    const double middle = 0.5 * (past_.lower_mm + past_.upper_mm);
    const auto length =
        FindLength(*standing_.machine, past_.taken.feature, middle, step().measure->words);
    if (!length) return;
    Rescue rescue{.kind = RescueKind::kMovePattern, .minutes = kDisturbance_min};
    rescue.along_P = length->along_P;
    rescue.size_mm = past_.taken.value_mm - length->drawn_mm;
    Analysis moved = own;
    int holes = 0;
    for (const Setup& setup : standing_.plan->setups) {
      for (const Step& s : setup.steps)
        holes += MoveHoles(setup, s, rescue.along_P * rescue.size_mm, moved);
    }
    if (holes == 0) return;
    rescue.detail = fmt::format("{}", holes);
    Add(std::move(rescue), moved, given);
  }

  int MoveHoles(const Setup& setup, const Step& s, const Vec3& by_P, Analysis& moved) const {
    const PartId part = SheetIdOf(past_.taken.feature.part);
    if (setup.parts.empty() || setup.parts.front().part != part ||
        standing_.IsDone(s, past_.taken.feature.part) || s.coordinates.empty())
      return 0;
    const Vec3 by_S = setup.parts.front().X_PS.linear().transpose() * by_P;
    int holes = 0;
    for (const FeatureRef& ref : s.features) {
      const Feature* feature = standing_.machine->Find(ref);
      const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
      if (hole == nullptr || ref.part != part) continue;
      for (std::size_t i = 0; i < hole->entries_P_mm.size(); ++i) {
        if (MoveHole(ref, s.operation, i, by_S, moved)) ++holes;
      }
    }
    return holes;
  }

  // By the readout's own error of the visit that gives the hole its place.
  static bool MoveHole(const FeatureRef& ref, Operation operation, std::size_t i, const Vec3& by_S,
                       Analysis& moved) {
    std::uint64_t visit = MixKeys(variation::KeyOf(ref), static_cast<std::uint64_t>(operation));
    visit = MixKeys(MixKeys(visit, i), 0);
    bool any = false;
    for (const SpreadId id : {SpreadId::kReadoutPosition, SpreadId::kDialPosition}) {
      for (std::uint64_t axis = 0; axis < 2; ++axis) {
        const std::uint64_t key = MixKeys(MixKeys(StableHash(variation::IdOf(id)), visit), axis);
        for (SourceIndex s = 0; s < moved.sources.size(); ++s) {
          if (moved.sources[s].key != key) continue;
          ShiftSource(moved, s, by_S[static_cast<Eigen::Index>(axis)]);
          any = true;
        }
      }
    }
    return any;
  }

  void Remake(const Analysis& own, const Conditioning& open) {
    const PartId piece = past_.taken.feature.part;
    Rescue rescue{.kind = RescueKind::kRemake};
    for (const Setup& setup : standing_.plan->setups) {
      const bool holds = !setup.parts.empty() && setup.parts.front().part == SheetIdOf(piece);
      const bool begun =
          holds && (&setup == past_.taken.setup ||
                    std::any_of(setup.steps.begin(), setup.steps.end(),
                                [&](const Step& s) { return standing_.IsDone(s, piece); }));
      if (!begun || setup.steps.empty()) continue;
      if (!rescue.from) rescue.from = setup.steps.front().id;
      rescue.minutes += setup.time_min;
    }
    if (rescue.from) AddOpen(std::move(rescue), own, open);
  }

  const Standing& standing_;
  const PastLimits& past_;
  Analysis own_;  // with the sources of what was read
  const std::vector<variation::Moments>& moments_;
  std::int64_t builds_;
  std::vector<std::size_t> touched_;
  std::optional<Outcome> open_;
  std::vector<Rescue> found_;
};

}  // namespace

bool CanCutAgain(const Machine& machine, const PastLimits& past) {
  if (past.is_round) return past.is_hole ? !past.over() : past.over();
  const Feature* feature = machine.Find(past.taken.feature);
  const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
  const Step* step = past.taken.step;
  if (face == nullptr || step == nullptr || !step->measure) return false;
  const auto length = FindLength(machine, past.taken.feature, 0.5 * (past.lower_mm + past.upper_mm),
                                 step->measure->words);
  if (!length) return false;
  return length->along_P.dot(face->normal_P) > 0 ? past.over() : !past.over();
}

Result<std::vector<Rescue>> FindRescues(const Standing& standing, const PastLimits& past,
                                        std::int64_t builds) {
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const auto moments = MomentsOfSources(*analysis);
  return FindRescues(standing, past, *std::move(analysis), moments, builds);
}

std::vector<Rescue> FindRescues(const Standing& standing, const PastLimits& past,
                                Analysis analysis, const std::vector<variation::Moments>& moments,
                                std::int64_t builds) {
  return Finder(standing, past, std::move(analysis), moments, builds).Find();
}

}  // namespace fitwright::rework
