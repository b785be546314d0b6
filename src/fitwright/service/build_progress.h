// Where a build stands: which steps of a plan are done by what its log says, and which comes next.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/model/build_log.h"
#include "fitwright/model/plan.h"

namespace fitwright::service {

// One step on one piece: where a part is wanted several times, its setups are done for each.
struct StepPlace {
  const Setup* setup = nullptr;
  const Step* step = nullptr;
  PartId piece;  // what the setup locates, "ring#2" for the second; empty for a setup without parts

  // "7.3", as the book has it.
  std::string number() const;
};

// "ring" for 1, "ring#2" for 2.
PartId PieceOf(const Setup& setup, int copy);
// How many pieces the setup is done for.
int PiecesOf(const Plan& plan, const Setup& setup);

// Every step on every piece, in the order of work. Points into `plan`.
std::vector<StepPlace> PlacesOf(const Plan& plan);
// By the book's number or the id. nullopt: the plan has no such step.
std::optional<StepPlace> FindPlace(const Plan& plan, const std::string& step, int copy);

// The plans that a log's events belong to, by revision.
using FollowedPlans = std::map<int, Plan>;

// The log without the readings that were taken back, and without what took them back.
BuildLog StandingLog(const BuildLog& log);

using StepOnPiece = std::pair<StepId, PartId>;
struct BuildProgress {
  std::map<StepOnPiece, LogEvent> done;      // of the current plan: by which event
  std::map<StepOnPiece, LogEvent> readings;  // of the current plan: the last of each
  std::vector<LogEvent> elsewhere;           // done to another plan, and no step of the current one
  bool IsDone(const StepPlace& place) const {
    return done.count({place.step->id, place.piece}) > 0;
  }
};

// What is done of `plan` in this build, by a log that stands. A step done to another revision
// counts where the plan has the same work: the same operation on the same features by the same
// tool, from the same side, the same time over. A part remade opens all that was done on it and
// with it. A revision that is not in `followed` has no work in common with the plan.
BuildProgress CalcProgress(const Plan& plan, const BuildLog& log, const FollowedPlans& followed,
                           int build);

// A reading at a step of the current plan.
struct PlacedReading {
  StepPlace place;  // points into the plan
  LogEvent event;
};
// Those of this build that still count, in the order in which they were taken: of pieces that were
// not remade since, at steps that the plan has.
std::vector<PlacedReading> FindReadings(const Plan& plan, const BuildLog& log,
                                        const FollowedPlans& followed, int build);

// What a step waits for: a setup that is not done, or a time that must go by.
struct Wait {
  SetupId setup;
  std::int64_t until_ms = 0;  // 0: no time, the setup is still to be done
};
struct NextStep {
  StepPlace place;
  std::vector<Wait> waits;
  bool begins_setup = false;  // nothing of the setup is done on this piece
};
struct Next {
  std::optional<NextStep> step;       // the first that is open; none when all is done
  std::optional<NextStep> meanwhile;  // where that one waits: the first that waits for nothing
};
Next FindNext(const Plan& plan, const BuildProgress& progress, std::int64_t now_ms);

}  // namespace fitwright::service
