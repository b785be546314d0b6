#include "fitwright/trade/tap_drills.h"

#include <fmt/format.h>

#include "fitwright/trade/thread_limits.h"
#include "fitwright/units/length.h"

namespace fitwright::trade {
namespace {

// 2 x 3/4 H = 3/4 sqrt(3) P.
constexpr double kThreeQuartersH_pitches = 1.29903810567665797;
constexpr double kSlack_mm = 1e-4;  // a drill is held against limits that are printed rounded

bool HasTwoRules(const ThreadRow& row) { return IsMetric(row.series) || IsUnified(row.series); }

}  // namespace

double FullThread_mm(const ThreadRow& row, DepthRule rule) {
  if (rule == DepthRule::kThreeQuartersH && HasTwoRules(row)) {
    return kThreeQuartersH_pitches * row.pitch_mm;
  }
  return 2 * BasicDepth_mm(row);
}

double ThreadDepthShare(const ThreadRow& row, double hole_mm, DepthRule rule) {
  return (row.major_mm - hole_mm) / FullThread_mm(row, rule);
}

Result<double> HoleForShare_mm(const ThreadRow& row, double share, DepthRule rule) {
  if (!(share >= kLeastShare && share <= kGreatestShare)) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("the share of thread must be {:g} to {:g}", kLeastShare, kGreatestShare),
              fmt::format("{:g}", share),
              "0.75 to 0.9 by the basic profile is usual; less in tough metal and "
              "deep holes",
              {}});
  }
  return row.major_mm - share * FullThread_mm(row, rule);
}

TapDrill JudgeTapDrill(const ThreadRow& row, const Drill& drill) {
  TapDrill judged;
  judged.drill = drill;
  judged.share_basic = ThreadDepthShare(row, drill.diameter_mm, DepthRule::kBasicProfile);
  judged.share_three_quarters =
      ThreadDepthShare(row, drill.diameter_mm, DepthRule::kThreeQuartersH);
  const std::string_view klass = UsualInternalClass(row);
  if (klass.empty()) return judged;
  const auto limits = FindInternalLimits(row, klass);
  if (!limits) return judged;
  judged.within_limits = drill.diameter_mm >= limits->minor.lower_mm - kSlack_mm &&
                         drill.diameter_mm <= limits->minor.upper_mm + kSlack_mm;
  return judged;
}

Result<TapDrill> ChooseTapDrill(const ThreadRow& row, double share, DepthRule rule,
                                DrillSets sets) {
  const auto hole_mm = HoleForShare_mm(row, share, rule);
  if (!hole_mm) return Unexpected(hole_mm.error());
  const auto drill = NearestDrill(*hole_mm, sets);
  if (!drill) return Unexpected(drill.error());
  return JudgeTapDrill(row, *drill);
}

TapDrill UsualTapDrill(const ThreadRow& row) {
  const DrillSets sets = IsUnified(row.series) ? kInchDrills : kMetricDrills;
  const auto drill = NearestDrill(row.tap_drill_mm, sets);
  // A few fine sizes over 32 mm are bored: the hole then goes by its size.
  if (!drill || std::abs(drill->diameter_mm - row.tap_drill_mm) > kSlack_mm) {
    return JudgeTapDrill(
        row, Drill{DrillSet::kMetric, FormatTrimmed(row.tap_drill_mm, 3), row.tap_drill_mm});
  }
  return JudgeTapDrill(row, *drill);
}

}  // namespace fitwright::trade
