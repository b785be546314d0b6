// What was done and measured while a machine is made, as plain data. A log only grows: what was
// said once stays, and a later event says otherwise. Lengths mm, times milliseconds since 1970 in
// UTC.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/error.h"
#include "fitwright/base/words.h"
#include "fitwright/model/ids.h"

namespace fitwright {

enum class LogKind {
  kStepDone,
  kStepUndone,  // not done after all
  kReading,
  kReadingUndone,  // the last reading of this step on this piece does not count after all
  kNote,
  kPhoto,       // text: the file's name
  kPartRemade,  // a new piece is begun: what was done to the old one counts no longer
  kShopChange   // text: what is different in the shop from now on
};
template <>
struct WordsOf<LogKind> {
  static constexpr auto kAll =
      std::to_array<Word<LogKind>>({{LogKind::kStepDone, "step_done"},
                                    {LogKind::kStepUndone, "step_undone"},
                                    {LogKind::kReading, "reading"},
                                    {LogKind::kReadingUndone, "reading_undone"},
                                    {LogKind::kNote, "note"},
                                    {LogKind::kPhoto, "photo"},
                                    {LogKind::kPartRemade, "part_remade"},
                                    {LogKind::kShopChange, "shop_change"}});
};

struct Reading {
  double value_mm = 0;
  std::string typed;        // as it was given: "1.576in"
  InstrumentId instrument;  // empty: not said
  FeatureRef feature;       // what was measured; both empty: the step says it in words
};

struct LogEvent {
  std::int64_t number = 0;  // 1, 2, 3 ... as the log keeps them; 0 = not kept yet
  std::string id;           // 32 hex digits; a log keeps an id once, however often it is given
  std::int64_t time_ms = 0;
  int build = 1;     // of several machines made to one design
  int revision = 0;  // of the plan that was followed; 0 = none
  LogKind kind = LogKind::kNote;
  PartId part;                     // the piece; of several alike "ring#2"
  StepId step;                     // of that revision
  std::optional<Reading> reading;  // of kReading and of no other
  std::string text;
};

// A plan that was followed, kept as it was.
struct PlanRevision {
  int number = 0;
  std::int64_t time_ms = 0;  // when it was first recorded to
  std::string inputs_hash;   // of the plan
  std::string plan_json;     // plan.json to the byte
};

// Both lists in the order of their numbers.
struct BuildLog {
  std::vector<PlanRevision> revisions;
  std::vector<LogEvent> events;
};

inline constexpr int kHighestBuild = 999;

// What an event of a log may not be: a reading that is no number, text that is not UTF-8, a step
// without its plan, a step done without a step ... where.key names the field.
std::optional<Error> FindFault(const LogEvent& event);

}  // namespace fitwright
