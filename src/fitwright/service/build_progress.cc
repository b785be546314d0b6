#include "fitwright/service/build_progress.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string_view>
#include <unordered_map>

#include "fitwright/base/hash.h"
#include "fitwright/model/machine.h"

namespace fitwright::service {
namespace {

constexpr double kMsInMinute = 60000;

// A hash of what is the same work in two plans, but for how often it is done.
std::uint64_t WorkOf(const Setup& setup, const Step& step) {
  std::uint64_t work = StableHash(setup.parts.empty() ? "" : setup.parts.front().part.text());
  const auto add = [&](std::string_view text) { work = StableHash(text, work + 1); };
  add(setup.up);
  add(WordOf(step.operation));
  add(step.tool.text());
  for (const FeatureRef& ref : step.features) {
    add(ref.part.text());
    add(ref.feature.text());
  }
  add("parts");
  for (const PartId& part : step.parts) add(part.text());
  for (const int hole : step.holes) work = StableHash("hole", work + static_cast<unsigned>(hole) + 1);
  return work;
}

// Each step's work with its turn among the same, both ways. The plan must outlive it.
class Works {
 public:
  explicit Works(const Plan& plan) {
    std::unordered_map<std::uint64_t, std::uint64_t> turns;
    for (const Setup& setup : plan.setups) {
      for (const Step& step : setup.steps) {
        const std::uint64_t work = WorkOf(setup, step);
        const std::uint64_t turn = StableHash("turn", work + ++turns[work]);
        of_step_[step.id.text()] = turn;
        step_of_[turn] = {&setup, &step};
      }
    }
  }
  // The step of `other` that is this step's work.
  std::optional<StepId> FindIn(const Works& other, const StepId& step) const {
    const auto place = FindPlaceIn(other, step);
    if (!place) return std::nullopt;
    return place->step->id;
  }
  // With its setup, for the first piece.
  std::optional<StepPlace> FindPlaceIn(const Works& other, const StepId& step) const {
    const auto work = of_step_.find(step.text());
    if (work == of_step_.end()) return std::nullopt;
    const auto found = other.step_of_.find(work->second);
    if (found == other.step_of_.end()) return std::nullopt;
    const auto& [setup, same] = found->second;
    return StepPlace{setup, same, PieceOf(*setup, 1)};
  }

 private:
  std::unordered_map<std::string_view, std::uint64_t> of_step_;
  std::unordered_map<std::uint64_t, std::pair<const Setup*, const Step*>> step_of_;
};

// Whether a step has to do with a part, or one like it, that its setup does not locate.
bool WorksWith(const Setup& setup, const Step& step, const PartId& part) {
  const auto is_part = [&](const PartId& other) { return SheetIdOf(other) == SheetIdOf(part); };
  return std::any_of(step.features.begin(), step.features.end(),
                     [&](const FeatureRef& ref) { return is_part(ref.part); }) ||
         std::any_of(step.parts.begin(), step.parts.end(), is_part) ||
         std::any_of(setup.parts.begin(), setup.parts.end(),
                     [&](const PartPose& pose) { return is_part(pose.part); });
}

void OpenAgain(const Plan& plan, const PartId& part, BuildProgress& progress) {
  for (const StepPlace& place : PlacesOf(plan)) {
    const bool located = SheetIdOf(place.piece) == SheetIdOf(part);
    const bool touched = located ? place.piece == part : WorksWith(*place.setup, *place.step, part);
    if (!touched) continue;
    progress.done.erase({place.step->id, place.piece});
    progress.readings.erase({place.step->id, place.piece});
  }
  std::erase_if(progress.elsewhere, [&](const LogEvent& event) { return event.part == part; });
}

std::set<PartId> PartsIn(const StepPlace& place) {
  std::set<PartId> parts(place.step->parts.begin(), place.step->parts.end());
  for (const PartPose& pose : place.setup->parts) parts.insert(pose.part);
  return parts;
}

bool Share(const std::set<PartId>& a, const std::set<PartId>& b) {
  return std::any_of(a.begin(), a.end(), [&](const PartId& part) { return b.count(part) > 0; });
}

// Steps done that must be left alone for a while, and until when.
struct Resting {
  StepPlace place;
  std::int64_t until_ms = 0;
};

std::vector<Resting> FindResting(const std::vector<StepPlace>& places,
                                 const BuildProgress& progress, std::int64_t now_ms) {
  std::vector<Resting> resting;
  for (const StepPlace& place : places) {
    const auto done = progress.done.find({place.step->id, place.piece});
    if (place.step->wait_min <= 0 || done == progress.done.end()) continue;
    const auto until_ms =
        done->second.time_ms + static_cast<std::int64_t>(place.step->wait_min * kMsInMinute);
    if (until_ms > now_ms) resting.push_back({place, until_ms});
  }
  return resting;
}

// Setups of which something is open.
std::set<SetupId> OpenSetups(const std::vector<StepPlace>& places, const BuildProgress& progress) {
  std::set<SetupId> open;
  for (const StepPlace& place : places) {
    if (!progress.IsDone(place)) open.insert(place.setup->id);
  }
  return open;
}

NextStep MakeNextStep(const StepPlace& place, const BuildProgress& progress,
                      const std::set<SetupId>& open, const std::vector<Resting>& resting) {
  NextStep next{place, {}, true};
  for (const SetupId& setup : place.setup->waits_for) {
    if (open.count(setup) > 0) next.waits.push_back({setup, 0});
  }
  for (const Resting& rest : resting) {
    if (Share(PartsIn(rest.place), PartsIn(place))) {
      next.waits.push_back({rest.place.setup->id, rest.until_ms});
    }
  }
  for (const Step& step : place.setup->steps) {
    if (progress.IsDone({place.setup, &step, place.piece})) next.begins_setup = false;
  }
  return next;
}

}  // namespace

std::string StepPlace::number() const {
  return fmt::format("{}.{}", setup->number, step - setup->steps.data() + 1);
}

PartId PieceOf(const Setup& setup, int copy) {
  if (setup.parts.empty() || copy <= 1)
    return setup.parts.empty() ? PartId() : setup.parts.front().part;
  return PartId(fmt::format("{}#{}", setup.parts.front().part.text(), copy));
}

int PiecesOf(const Plan& plan, const Setup& setup) {
  if (setup.parts.empty()) return 1;
  for (const PlannedPart& part : plan.parts) {
    if (part.name == setup.parts.front().part) return std::max(1, part.quantity);
  }
  return 1;
}

std::vector<StepPlace> PlacesOf(const Plan& plan) {
  std::vector<StepPlace> places;
  for (const Setup& setup : plan.setups) {
    const int pieces = PiecesOf(plan, setup);
    for (int copy = 1; copy <= pieces; ++copy) {
      for (const Step& step : setup.steps) places.push_back({&setup, &step, PieceOf(setup, copy)});
    }
  }
  return places;
}

std::optional<StepPlace> FindPlace(const Plan& plan, const std::string& step, int copy) {
  for (const Setup& setup : plan.setups) {
    for (const Step& s : setup.steps) {
      const StepPlace place{&setup, &s, PieceOf(setup, copy)};
      if (s.id.text() == step || place.number() == step) return place;
    }
  }
  return std::nullopt;
}

BuildLog StandingLog(const BuildLog& log) {
  BuildLog standing{log.revisions, {}};
  for (const LogEvent& event : log.events) {
    if (event.kind != LogKind::kReadingUndone) {
      standing.events.push_back(event);
      continue;
    }
    const auto taken_back =
        std::find_if(standing.events.rbegin(), standing.events.rend(), [&](const LogEvent& other) {
          return other.kind == LogKind::kReading && other.build == event.build &&
                 other.revision == event.revision && other.step == event.step &&
                 other.part == event.part;
        });
    if (taken_back != standing.events.rend()) standing.events.erase(std::next(taken_back).base());
  }
  return standing;
}

BuildProgress CalcProgress(const Plan& plan, const BuildLog& log, const FollowedPlans& followed,
                           int build) {
  const Works here(plan);
  std::map<int, Works> there;
  for (const auto& [revision, other] : followed) there.emplace(revision, Works(other));
  BuildProgress progress;
  for (const LogEvent& event : log.events) {
    if (event.build != build) continue;
    if (event.kind == LogKind::kPartRemade) OpenAgain(plan, event.part, progress);
    const bool reading = event.kind == LogKind::kReading;
    if (event.kind != LogKind::kStepDone && event.kind != LogKind::kStepUndone && !reading)
      continue;
    const auto works = there.find(event.revision);
    const auto step = works == there.end() ? std::nullopt : works->second.FindIn(here, event.step);
    if (step && reading) progress.readings[{*step, event.part}] = event;
    if (reading) continue;
    if (step && event.kind == LogKind::kStepDone) progress.done[{*step, event.part}] = event;
    if (step && event.kind == LogKind::kStepUndone) progress.done.erase({*step, event.part});
    if (step) continue;
    std::erase_if(progress.elsewhere, [&](const LogEvent& other) {
      return other.revision == event.revision && other.step == event.step &&
             other.part == event.part;
    });
    if (event.kind == LogKind::kStepDone) progress.elsewhere.push_back(event);
  }
  return progress;
}

std::vector<PlacedReading> FindReadings(const Plan& plan, const BuildLog& log,
                                        const FollowedPlans& followed, int build) {
  const Works here(plan);
  std::map<int, Works> there;
  for (const auto& [revision, other] : followed) there.emplace(revision, Works(other));
  std::vector<PlacedReading> found;
  for (const LogEvent& event : log.events) {
    if (event.build != build) continue;
    if (event.kind == LogKind::kPartRemade) {
      std::erase_if(found, [&](const PlacedReading& r) { return r.place.piece == event.part; });
    }
    const auto works = there.find(event.revision);
    if (!event.reading || works == there.end()) continue;
    auto place = works->second.FindPlaceIn(here, event.step);
    if (!place) continue;
    place->piece = event.part;
    found.push_back({*place, event});
  }
  return found;
}

Next FindNext(const Plan& plan, const BuildProgress& progress, std::int64_t now_ms) {
  const std::vector<StepPlace> places = PlacesOf(plan);
  const std::vector<Resting> resting = FindResting(places, progress, now_ms);
  const std::set<SetupId> open = OpenSetups(places, progress);
  Next next;
  std::set<std::pair<SetupId, PartId>> looked_at;  // by its first open step
  for (const StepPlace& place : places) {
    if (progress.IsDone(place)) continue;
    if (!looked_at.insert({place.setup->id, place.piece}).second) continue;
    NextStep candidate = MakeNextStep(place, progress, open, resting);
    const bool waits = !candidate.waits.empty();
    if (!next.step) {
      next.step = std::move(candidate);
      if (!waits) return next;
    } else if (!waits) {
      next.meanwhile = std::move(candidate);
      return next;
    }
  }
  return next;
}

}  // namespace fitwright::service
