// A reading past its limits: what can be done about it, each way with its odds and its time.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"
#include "fitwright/rework/standing.h"
#include "fitwright/rework/targets.h"

namespace fitwright {

enum class RescueKind {
  kUseAsIs,
  kMateToSuit,
  kCutAgain,     // on stock that is left
  kBush,         // a hole too large: opened out further, a bush bonded in and bored
  kSleeve,       // a shaft too small: turned down, a sleeve bonded on and turned
  kOpenOut,      // clearance holes one series wider
  kNextScrew,    // tapped holes too large for their thread
  kMovePattern,  // holes still to be made follow what is off its place
  kRemake
};
template <>
struct WordsOf<RescueKind> {
  static constexpr auto kAll =
      std::to_array<Word<RescueKind>>({{RescueKind::kUseAsIs, "use_as_is"},
                                       {RescueKind::kMateToSuit, "mate_to_suit"},
                                       {RescueKind::kCutAgain, "cut_again"},
                                       {RescueKind::kBush, "bush"},
                                       {RescueKind::kSleeve, "sleeve"},
                                       {RescueKind::kOpenOut, "open_out"},
                                       {RescueKind::kNextScrew, "next_screw"},
                                       {RescueKind::kMovePattern, "move_pattern"},
                                       {RescueKind::kRemake, "remake"}});
};

namespace rework {

// Minutes that a bush or a sleeve takes beside the cuts that the plan has: turning it, bonding it
// in, seating the piece again. Opinion.
inline constexpr double kBush_min = 45;
inline constexpr double kBushWall_mm = 1.5;   // opinion
inline constexpr double kLeastWall_mm = 1.0;  // as check's wall_thin

struct PastLimits {
  ReadingTaken taken;  // the last of the standing's readings
  double lower_mm = 0;
  double upper_mm = 0;
  bool is_hole = false;   // else a shaft where is_round
  bool is_round = false;  // a diameter was read
  bool over() const { return taken.value_mm > upper_mm; }
};
// Metal is left where too much is wanted off: a hole too small, a shaft too large, a length between
// faces that looks outward too long, a depth too small.
bool CanCutAgain(const Machine& machine, const PastLimits& past);

struct Rescue {
  RescueKind kind = RescueKind::kUseAsIs;
  double minutes = 0;                    // of the rescue itself
  double odds = 0;                       // that all that the reading bears on is met then
  double expected_min = 0;               // with the remedies that may be needed after it
  std::string detail = {};          // a figure or a name that the words need: "43.03", "4.5"
  double size_mm = 0;                    // open out, bush, sleeve: to; move: by
  Vec3 along_P = Vec3::Zero();           // move: which way
  std::vector<SizeTarget> targets = {};  // mate to suit
  std::optional<StepId> from = std::nullopt;  // remake: its first step
};

// Cheapest first by expected minutes. Ways that the piece does not allow are left out. Errors:
// those of variation::Analyse.
Result<std::vector<Rescue>> FindRescues(const Standing& standing, const PastLimits& past,
                                        std::int64_t builds);
// The same from the plan's errors (variation::Analyse) and their moments (MomentsOfSources).
std::vector<Rescue> FindRescues(const Standing& standing, const PastLimits& past,
                                variation::Analysis analysis,
                                const std::vector<variation::Moments>& moments,
                                std::int64_t builds);

}  // namespace rework
}  // namespace fitwright
