// What became of requirements in builds of which every source has random numbers of its own: the
// same for any number of threads, and kept by fingerprint, so that what reads the same errors in
// another plan is not built again.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/fingerprint.h"
#include "fitwright/variation/outcome_memo.h"

namespace fitwright::variation {

using Bits = std::vector<std::uint64_t>;  // one a build
std::int64_t CountOf(const Bits& bits);

struct Outcome {
  Bits met;
  double sum = 0;  // of the measured quantity less the requirement's origin (OriginOf); if wanted
  double squares = 0;
};
// A value near the requirement's middle, so that squares do not cancel.
double OriginOf(const RequirementForms& requirement);

// A size worked to, over all builds.
struct WorkedOutcomes {
  std::int64_t recuts = 0;
  Bits spoiled;
};

struct BuildsWanted {
  std::int64_t builds = 20000;
  std::uint64_t seed = 1;
  Draws draws = Draws::kCounter;  // kStratified: all `builds` of the set, a power of two
  bool values = false;            // fill sums of measured quantities, exact and slow for screws
  int threads = 0;
  const CancelFlag* cancel = nullptr;
};

class Outcomes {
 public:
  // Both must outlive the object.
  Outcomes(const Analysis& analysis, OutcomeMemo& memo);
  // Of these requirements (places in the analysis), in their order. Empty when cancelled.
  std::vector<std::shared_ptr<const Outcome>> Of(const std::vector<std::size_t>& requirements,
                                                 const BuildsWanted& wanted);
  std::shared_ptr<const WorkedOutcomes> OfWorked(SourceIndex source, const BuildsWanted& wanted);

 private:
  Analysis CutTo(const std::vector<std::size_t>& requirements) const;

  const Analysis& analysis_;
  Fingerprints prints_;
  OutcomeMemo& memo_;
};

}  // namespace fitwright::variation
