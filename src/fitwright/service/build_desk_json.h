// What a page is told of a build: fitwright-build/1.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/words.h"
#include "fitwright/service/build_use.h"

namespace fitwright {

// What became of an event that a page sent.
enum class KeptAs { kEvent, kKnown, kNote, kRefused };
template <>
struct WordsOf<KeptAs> {
  static constexpr auto kAll = std::to_array<Word<KeptAs>>({{KeptAs::kEvent, "event"},
                                                            {KeptAs::kKnown, "known"},
                                                            {KeptAs::kNote, "note"},
                                                            {KeptAs::kRefused, "refused"}});
};

// What a way out of a size outside its limits leaves: the step as done, the step open until it is cut and measured again,
// all that was done on the piece open.
enum class Then { kDone, kOpen, kRemade };
template <>
struct WordsOf<Then> {
  static constexpr auto kAll = std::to_array<Word<Then>>({{Then::kDone, "done"}, {Then::kOpen, "open"}, {Then::kRemade, "remade"}});
};

namespace service {

inline constexpr std::string_view kBuildSchemaId = "fitwright-build/1";

struct KeptEvent {
  std::string id;
  KeptAs as = KeptAs::kEvent;
  std::vector<std::string> say;
};

// A size still to be cut, by all that was read.
struct ToBring {
  StepId step;
  PartId part;
  double lower_mm = 0;
  double upper_mm = 0;
  std::string say;
};

struct WayOut {
  Then then = Then::kOpen;
  std::string say;
};

// What the build's last reading changes, in words, and what is to be brought where by all of them.
struct Consequences {
  std::string event;  // its id; empty: no reading, or it cannot be reckoned
  std::vector<std::string> words;
  std::vector<WayOut> ways = {};  // where it is outside its limits, best first
  bool plan_anew = false;         // what is left may be planned better by it
  std::vector<ToBring> bring = {};
};

struct BuildView {
  int build = 1;
  std::int64_t now_ms = 0;
  std::string sign;
  std::vector<KeptEvent> kept;
  Consequences consequences = {};
};

// {schema, build, last: the number of the log's last event, sign, plan: its PlanIdOf or "", kept:
// [{id, as, say}], steps, done: [{step, part, time_ms}], readings: [{step, part, id, value_mm,
// typed, instrument, time_ms, verdict, say, ways: [{then, say}], plan_anew}] (the last two of the last reading alone), limits: [{step, part, lower_mm, upper_mm, mate_mm}]
// of every step and piece whose figures are not those of its measure line, next and meanwhile:
// {step, part, setup, waits} or null, elsewhere: what was done to an earlier plan and is no step of
// this one, in words, lately: [{number, time_ms, part, step, what}] the last events, newest first}.
// Sentences in the workshop's unit.
std::string BuildToJson(const Workshop& workshop, const BuildView& view);

}  // namespace service
}  // namespace fitwright
