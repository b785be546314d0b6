// What the last reading changes: the odds of each requirement, sizes still to be cut, other
// features of the same setup.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/rework/rescue.h"
#include "fitwright/rework/standing.h"
#include "fitwright/rework/targets.h"

namespace fitwright::rework {

struct ChangeOptions {
  std::int64_t builds = 2048;  // of the odds
  std::uint64_t seed = 1;
};

struct RequirementChange {
  std::size_t place = 0;  // in the machine's list
  RequirementId name;
  double planned = 0;  // before anything was read
  double before = 0;   // before the last reading
  double after = 0;
  double low = 0;  // 95 %, of the builds that the odds are counted on
  double high = 0;
};

// A feature that was not read, and of which the reading says something.
struct Following {
  FeatureRef feature;
  bool is_size = false;         // else its place
  Vec3 along_P = Vec3::Zero();  // of a place: which way, in the part's frame
  double before_mm = 0;         // expected, less what is drawn
  double before_sigma_mm = 0;
  double after_mm = 0;
  double after_sigma_mm = 0;
};

struct Changes {
  bool counts = false;      // the last reading says something of the plan's errors
  Expectation expected;     // of the last reading, by what was read before it
  bool surprising = false;  // under 5 in 100 so far out: measure again, then believe it
  double all_planned = 0;
  double all_before = 0;
  double all_after = 0;
  double effective_builds = 0;
  std::vector<RequirementChange> requirements;  // all, in the machine's order
  std::vector<SizeTarget> targets;              // that the last reading bears on
  std::vector<SizeTarget> all_targets;          // of every open size that any reading bears on
  std::vector<Following> following;             // most first
};

inline constexpr double kSurprising = 0.05;

// Errors: those of variation::Analyse; kNoPlan without a reading.
Result<Changes> CalcChanges(const Standing& standing, const ChangeOptions& options);

// Answers one reading after another of one plan: the plan's errors, its builds as planned, and how
// it stood before the last reading are kept. The same answers as CalcChanges, to the bit, whatever
// was asked before. Not for several threads at once.
class ChangesKept {
 public:
  // Machine, shop and plan must outlive it, unchanged; every standing is of these. Errors: those of
  // variation::Analyse.
  static Result<ChangesKept> Of(const Machine& machine, const Shop& shop, const Plan& plan,
                                const ChangeOptions& options);
  ~ChangesKept();
  ChangesKept(ChangesKept&&) noexcept;
  ChangesKept& operator=(ChangesKept&&) noexcept;

  // Errors: kNoPlan without a reading.
  Result<Changes> Calc(const Standing& standing);
  // As FindRescues.
  std::vector<Rescue> CalcRescues(const Standing& standing, const PastLimits& past) const;

 private:
  struct Kept;
  explicit ChangesKept(std::unique_ptr<Kept> kept);
  std::unique_ptr<Kept> kept_;
};

}  // namespace fitwright::rework
