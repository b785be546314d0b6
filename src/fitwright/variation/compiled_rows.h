// The rows of a compiled plan before sources become draws: what requirements and floats are tested
// and placed by, equal ones shared. No figure matters here.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

inline constexpr double kNoLimit = 1e300;

// `form` has no constant where the row is limited and not kept.
struct CompiledRow {
  Form form;
  double low = -kNoLimit;
  double high = kNoLimit;
  std::optional<std::uint32_t> outcome;
  bool kept = false;
  std::uint64_t key = 0;  // names what it adds to merged normals
};

// sign * row + constant is the form.
struct FormRow {
  std::uint32_t row = 0;
  double sign = 1;
  double constant = 0;
};

// Kept rows of one condition of a float or a screw.
struct LimitRows {
  std::uint32_t x = 0;
  std::uint32_t y = 0;
  std::uint32_t room = 0;
};

// Where the forms of a requirement stand.
struct RequirementRows {
  std::size_t requirement = 0;  // place in the analysis
  std::vector<FormRow> linear;
  std::vector<std::array<std::uint32_t, 2>> vectors;
  std::vector<std::vector<LimitRows>> patterns;  // screws, then the stack
};

// And of a float.
struct PlayRows {
  std::size_t play = 0;
  std::vector<LimitRows> limits;
  std::vector<std::uint32_t> targets;
  std::array<std::uint32_t, 3> residual{};
  std::array<std::uint32_t, 3> before{};
};

class CompiledRows {
 public:
  PlayRows Add(const Play& play, std::size_t place);
  // `outcome`: of the program, in ascending order.
  RequirementRows Add(const RequirementForms& r, std::size_t place, std::uint32_t outcome);

  const std::vector<CompiledRow>& rows() const { return rows_; }
  const std::vector<stats::TrialCondition>& conditions() const { return conditions_; }

 private:
  using Terms = std::vector<std::pair<SourceIndex, double>>;

  static Terms TermsOf(const Form& form, double sign);
  void AddLinear(const RequirementForms& r, RequirementRows& out);
  void AddMagnitude(const RequirementForms& r, RequirementRows& out);
  void AddClearance(const RequirementForms& r, RequirementRows& out);
  std::vector<LimitRows> KeepLimits(const FloatLimits& limits);
  FormRow Limit(const Form& form, double low, double high);
  std::uint32_t Keep(const Form& form);
  std::uint64_t NextKey() { return MixKeys(name_, 1 + of_name_[name_]++); }

  std::vector<CompiledRow> rows_;
  std::vector<stats::TrialCondition> conditions_;
  std::uint32_t outcome_ = 0;
  std::uint64_t name_ = 0;
  std::map<std::uint64_t, std::uint64_t> of_name_;
  std::map<std::pair<std::uint32_t, Terms>, std::size_t> limited_;
  std::map<std::pair<double, Terms>, std::size_t> kept_;
};

}  // namespace fitwright::variation
