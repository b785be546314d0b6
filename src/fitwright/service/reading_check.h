// A reading held against what its step wants.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/build_log.h"
#include "fitwright/model/machine.h"
#include "fitwright/service/build_progress.h"
#include "fitwright/units/size.h"

namespace fitwright {

enum class Verdict { kWithin, kUnder, kOver, kNoLimits };
template <>
struct WordsOf<Verdict> {
  static constexpr auto kAll = std::to_array<Word<Verdict>>({{Verdict::kWithin, "within"},
                                                             {Verdict::kUnder, "under"},
                                                             {Verdict::kOver, "over"},
                                                             {Verdict::kNoLimits, "no_limits"}});
};

namespace service {

// What too much and too little mean to who holds the tool.
enum class Side { kHole, kShaft, kUnknown };

struct ReadingLimits {
  double lower_mm = 0;
  double upper_mm = 0;
  std::optional<double> mate_mm;  // made to suit: the mate's reading that they are reckoned from
  FeatureRef mate;
  Side side = Side::kUnknown;
};

// The figures that a reading of this step is held against: those of its measure line, else the size
// that a cut aims at. Where the step is made to suit and the log has the mate's reading, they
// follow it. nullopt: the plan has no figures for it, only words. machine may be null: then a size
// to suit keeps the figures that were expected.
std::optional<ReadingLimits> FindLimits(const StepPlace& place, const Machine* machine,
                                        const BuildLog& log, const FollowedPlans& followed,
                                        int build);

struct ReadingCheck {
  Verdict verdict = Verdict::kNoLimits;
  double off_mm = 0;  // how far out, 0 within
  std::optional<ReadingLimits> limits;
};
// Both sides of the comparison as the page prints them in `unit`: three places of mm, four of inch.
ReadingCheck CheckReading(double value_mm, const std::optional<ReadingLimits>& limits,
                          LengthUnit unit);

// The same in sentences.
std::vector<std::string> CheckWords(const ReadingCheck& check, double value_mm, LengthUnit unit);

}  // namespace service
}  // namespace fitwright
