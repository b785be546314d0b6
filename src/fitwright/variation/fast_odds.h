// Odds for weighing many candidates: requirements on one linear quantity by its exact law, without
// a build; the others on one fixed set of builds, the same for all candidates.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <tuple>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/stats/sum_law.h"
#include "fitwright/stats/worked_law.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// Laws of worked sizes, which take longer to find than to use; not safe from several threads.
class LawMemo {
 public:
  const stats::LawPoints& OfWorked(const stats::WorkedDraw& size);

 private:
  std::map<std::tuple<double, double, double, double, double>, stats::LawPoints> worked_;
};

// constant + sum of factor * source in a shop with these figures, every law exact: normals added by
// variance, events and vectors of a common length by all that they can be. Nothing where the form
// reads a float.
std::optional<stats::SumLaw> LawOf(const SourceTable& sources, const Form& form,
                                   const Figures& figures, LawMemo& memo);

// One quantity and its limits. A clearance loses tilt_length * |tilt| before it is held to the
// lower.
struct OneQuantity {
  Form form;
  double lower = 0;
  double upper = 0;
  std::optional<std::array<Form, 2>> tilt;
  double tilt_length = 0;
};
// Of tests kLinear and kClearance whose forms are one but for sign and constant, none reading a
// float, and whose tilt shares no error with the size; of all others nothing.
std::optional<OneQuantity> FindOneQuantity(const SourceTable& sources,
                                           const RequirementForms& requirement);

struct FastOdds {
  double odds = 0;
  double error = 0;  // by law: at most about this; by builds: 1.96 sigma of as many drawn by chance
  bool exact = false;  // by law
};
inline constexpr double kHandOver = 5e-4;

// Nothing: to be sampled, because there is no one quantity, or its characteristic function ends too
// slowly to be summed to kHandOver (no normal part to speak of and a few coarse ones).
std::optional<FastOdds> CalcFastOdds(const SourceTable& sources, const Figures& figures,
                                     const RequirementForms& requirement, LawMemo& memo);

// Chance that the quantity, whose law may be another than its form's, meets its limits. A tilt is
// that of 4096 well-spread draws of its own errors, against which the size's law is integrated.
stats::SumChance ChanceOf(const OneQuantity& one, const stats::SumLaw& law,
                          const SourceTable& sources, const Figures& figures);

struct FastOptions {
  std::int64_t builds = 1 << 15;  // of what has no law; at least 100
  std::uint64_t seed = 1;
  int threads = 0;
  const CancelFlag* cancel = nullptr;  // not owned
};

// Odds of requirements of one analysis in many shops, compiled once: in every shop, and whatever
// else is asked for, the same builds. Not safe from several threads.
class FastJudge {
 public:
  // Of all requirements, or of these alone (places). The analysis and `memo` must outlive it.
  FastJudge(const Analysis& analysis, const FastOptions& options, LawMemo& memo);
  FastJudge(const Analysis& analysis, std::vector<std::size_t> places, const FastOptions& options,
            LawMemo& memo);
  ~FastJudge();
  FastJudge(const FastJudge&) = delete;
  FastJudge& operator=(const FastJudge&) = delete;
  // Of these of its requirements, in their order, in a shop with these figures; by law where that
  // is known to kHandOver, else by builds. Errors: kOutOfRange (builds), kStopped.
  Result<std::vector<FastOdds>> Of(const std::vector<std::size_t>& places, const Figures& figures);

 private:
  struct Compiled;

  std::optional<FastOdds> ByLaw(std::size_t place, const Figures& figures);

  const Analysis& analysis_;
  std::vector<std::size_t> places_;
  FastOptions options_;
  LawMemo& memo_;
  std::map<std::size_t, std::optional<OneQuantity>> quantities_;  // by place
  std::unique_ptr<Compiled> compiled_;                            // once it is needed
};

}  // namespace fitwright::variation
