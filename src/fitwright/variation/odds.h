// The chance that a plan, carried out in a shop, gives a machine that meets its requirements.
//
// Every deviation is a sparse linear form over named independent sources (analysis.h). CalcOdds
// draws builds of the whole machine from them; CalcQuickOdds does the same on a small fixed set of
// random numbers keyed by source, so that two plans are compared on the same shop weather.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/variation/outcome_memo.h"
#include "fitwright/variation/setup_readings.h"

namespace fitwright::variation {

struct Analysis;

struct OddsOptions {
  std::int64_t builds = 20000;  // sampled builds, at least 100
  std::uint64_t seed = 1;
  int threads = 0;                     // 0 = one a core; the answer is the same for any number
  bool shop_band = true;               // fill shop_low and shop_high
  bool causes = true;                  // fill causes
  bool values = true;                  // fill mean and sigma
  bool seldom = true;                  // chances too small to be counted (rare_odds.h)
  const CancelFlag* cancel = nullptr;  // not owned
};

// Odds of the plan: joint, and per requirement in the machine's order, with the interval of their
// count (95 %, stats/intervals.h), the band of what is not known of the shop (2.5 % and 97.5 % of virtual shops
// drawn between careful and worn), mean and sigma of the measured quantity, and causes whose shares
// sum to 1. The measured quantity of screws_enter is the excess in mm that the worst screw lacks
// (<= 0: all enter). Errors: kNoPlan (the plan cannot be read as cuts: fewer contacts than a setup
// needs, unknown names, a feature never finished), kOutOfRange (builds), kStopped. Same inputs,
// builds and seed: same bytes. Cost: linear in builds. Excesses of screws are looked for and kept in
// `memo`, which may be null.
Result<Odds> CalcOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                      const OddsOptions& options, OutcomeMemo* memo = nullptr);
// The same of a plan already read, whose figures may have been changed.
Result<Odds> CalcOddsOf(const Analysis& analysis, const Shop& shop, const OddsOptions& options,
                        OutcomeMemo* memo = nullptr);

struct QuickOptions {
  int builds = 1024;  // rounded up to a power of two, 64 to 4096
  std::uint64_t seed = 1;
};

struct QuickOdds {
  double all = 0;                       // 0..1
  std::vector<double> per_requirement;  // 0..1, in the machine's order
  double remedy_min = 0;    // expected minutes of the cheapest remedies of builds that fail
  std::vector<double> remedies_min;     // the same of each requirement
  double rework_min = 0;    // expected minutes of extra cuts to bring sizes in, of setting right what looks find, and of parts remade
                            // because a worked size went past its far limit
  double scrap_chance = 0;  // chance that at least one worked size goes past its far limit
};

// Same model as CalcOdds on few builds, single thread. Random numbers are keyed by source, so that
// two plans which share a source share its draw. `memo` and `known` may be null. Errors as CalcOdds.
Result<QuickOdds> CalcQuickOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                                const QuickOptions& options, OutcomeMemo* memo = nullptr,
                                const KnownSetups* known = nullptr);

// For each part of the plan, without copies' names, the requirements that name it or read an error of its
// setups; places in the machine's list. Errors as CalcOdds.
Result<std::map<PartId, std::set<std::size_t>>> FindConcerns(const Machine& machine, const Shop& shop,
                                                             const Plan& plan);

}  // namespace fitwright::variation
