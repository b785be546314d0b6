// How much thread a hole leaves, and which drill leaves the thread that is wanted.
//
// Two rules are in use and give different figures for the same hole of a 60 degree thread; never
// mix them. By the basic profile of ISO 68-1 and ASME B1.1 a full thread is 5/8 H deep on each
// side, 1.0825 P on the diameter: share = (D - hole) / (1.0825 P). The older rule counts 3/4
// H, 1.2990 P, as full: the handbooks' percentages (1/4-20 with a #7 drill: 75) are by it. A hole
// of 75 % by the older rule is one of 90 % by the basic profile.
#pragma once

#include <optional>

#include "fitwright/base/result.h"
#include "fitwright/trade/drills.h"
#include "fitwright/trade/threads.h"

namespace fitwright::trade {

enum class DepthRule {
  kBasicProfile,    // 5/8 H; BA and 55 degree threads: their own full depth
  kThreeQuartersH,  // 60 degree threads only
};

// On the diameter. BA and 55 degree threads have the same depth by either rule.
double FullThread_mm(const ThreadRow& row, DepthRule rule);
// 1 for a full thread, 0 for a hole as wide as the thread.
double ThreadDepthShare(const ThreadRow& row, double hole_mm,
                        DepthRule rule = DepthRule::kBasicProfile);

inline constexpr double kLeastShare = 0.4;
inline constexpr double kGreatestShare = 1.0;
// The hole that leaves that share. Error: kOutOfRange outside 0.4 to 1.
Result<double> HoleForShare_mm(const ThreadRow& row, double share, DepthRule rule);

struct TapDrill {
  Drill drill;
  double share_basic = 0;           // by the basic profile
  double share_three_quarters = 0;  // by the 3/4 H rule; the same for BA and 55 degree threads
  // Against the minor diameter's limits of the class that a hole usually has (UsualInternalClass);
  // none where the series has no limits.
  std::optional<bool> within_limits;
};

// A drill, judged as a tap drill.
TapDrill JudgeTapDrill(const ThreadRow& row, const Drill& drill);
// The nearest drill of the sets to the hole that leaves the share. Errors as HoleForShare_mm and
// NearestDrill.
Result<TapDrill> ChooseTapDrill(const ThreadRow& row, double share, DepthRule rule, DrillSets sets);
// The row's own: of ISO 2306 for metric, by common practice for the others.
TapDrill UsualTapDrill(const ThreadRow& row);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::DepthRule> {
  static constexpr auto kAll = std::to_array<Word<trade::DepthRule>>(
      {{trade::DepthRule::kBasicProfile, "5/8H"}, {trade::DepthRule::kThreeQuartersH, "3/4H"}});
};
}  // namespace fitwright
