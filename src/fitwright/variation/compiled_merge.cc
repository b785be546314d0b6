#include "fitwright/variation/compiled_merge.h"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>

#include "fitwright/variation/source.h"

namespace fitwright::variation {
namespace {

constexpr double kInProportion = 1e-12;
// What is left of a row after what earlier rows explain of it, under this share of it, is rounding.
constexpr double kNothingLeft = 1e-11;
constexpr double kDrawOverFactor = 45;
constexpr std::uint64_t kOfClass = 0x636c617373;

using Factors = std::vector<std::pair<std::uint32_t, double>>;

// Rounded far above the tolerance: candidates only.
std::vector<std::pair<std::uint32_t, std::int64_t>> Rounded(const Factors& rows) {
  std::vector<std::pair<std::uint32_t, std::int64_t>> key;
  for (const auto& [row, factor] : rows)
    key.push_back({row, std::llround(factor / rows.front().second * 1e6)});
  return key;
}

bool InProportion(const Factors& a, const Factors& b) {
  const double ratio = b.front().second / a.front().second;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::abs(b[i].second - ratio * a[i].second) > kInProportion * std::abs(b[i].second))
      return false;
  }
  return true;
}

// Sets that are joined, each named by one of its members.
class Joined {
 public:
  explicit Joined(std::size_t count) : of_(count) { std::iota(of_.begin(), of_.end(), 0); }
  std::size_t Of(std::size_t i) {
    while (of_[i] != i) i = of_[i] = of_[of_[i]];
    return i;
  }
  void Join(std::size_t a, std::size_t b) { of_[std::max(Of(a), Of(b))] = std::min(Of(a), Of(b)); }

 private:
  std::vector<std::size_t> of_;
};

std::uint32_t AddDraw(std::uint64_t key, stats::TrialProgram& program) {
  program.draws.push_back({.law = stats::DrawLaw::kNormal, .key = key, .column = program.columns});
  return program.columns++;
}

}  // namespace

MergedNormals::MergedNormals(const std::vector<NormalColumn>& normals,
                             const std::vector<std::uint64_t>& row_keys)
    : row_keys_(row_keys) {
  std::map<std::vector<std::pair<std::uint32_t, std::int64_t>>, std::vector<std::size_t>> alike;
  for (std::size_t n = 0; n < normals.size(); ++n) {
    const NormalColumn& one = normals[n];
    if (one.rows.empty()) continue;
    std::vector<std::size_t>& candidates = alike[Rounded(one.rows)];
    const auto found = std::find_if(candidates.begin(), candidates.end(), [&](std::size_t c) {
      return InProportion(classes_[c].rows, one.rows);
    });
    if (found == candidates.end()) {
      candidates.push_back(classes_.size());
      classes_.push_back({one.key, one.rows, {{n, 1}}});
      continue;
    }
    Class& whole = classes_[*found];
    whole.key = std::min(whole.key, one.key);
    whole.normals.push_back({n, one.rows.front().second / whole.rows.front().second});
  }
  MakeGroups();
}

void MergedNormals::MakeGroups() {
  Joined joined(row_keys_.size());
  for (const Class& one : classes_) {
    for (const auto& [row, factor] : one.rows) joined.Join(row, one.rows.front().first);
  }
  std::map<std::size_t, Group> by_row;
  std::vector<bool> read(row_keys_.size());
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    by_row[joined.Of(classes_[c].rows.front().first)].classes.push_back(c);
    for (const auto& [row, factor] : classes_[c].rows) read[row] = true;
  }
  for (std::uint32_t r = 0; r < row_keys_.size(); ++r) {
    if (read[r]) by_row[joined.Of(r)].rows.push_back(r);
  }
  for (auto& [row, group] : by_row) {
    const auto n = static_cast<double>(group.rows.size());
    const auto m = static_cast<double>(group.classes.size());
    double factors = 0;
    for (const std::size_t c : group.classes)
      factors += static_cast<double>(classes_[c].rows.size());
    const double least = std::min(n, m);
    const double triangle = least * (least + 1) / 2 + (n - least) * least;
    group.orthogonal = kDrawOverFactor * least + triangle < kDrawOverFactor * m + factors;
    groups_.push_back(std::move(group));
  }
}

void MergedNormals::Emit(std::span<const double> sizes, stats::TrialProgram& program,
                         std::vector<std::vector<stats::TrialTerm>>& terms) const {
  std::vector<double> sigmas;
  for (const Class& one : classes_) {
    double squares = 0;
    for (const auto& [normal, share] : one.normals)
      squares += share * share * sizes[normal] * sizes[normal];
    sigmas.push_back(std::sqrt(squares));
  }
  for (const Group& group : groups_) {
    if (group.orthogonal) {
      EmitRows(group, sigmas, program, terms);
    } else {
      EmitClasses(group, sigmas, program, terms);
    }
  }
}

void MergedNormals::EmitClasses(const Group& group, std::span<const double> sigmas,
                                stats::TrialProgram& program,
                                std::vector<std::vector<stats::TrialTerm>>& terms) const {
  for (const std::size_t c : group.classes) {
    if (sigmas[c] == 0) continue;
    const std::uint32_t column = AddDraw(MixKeys(classes_[c].key, kOfClass), program);
    for (const auto& [row, factor] : classes_[c].rows)
      terms[row].push_back({column, factor * sigmas[c]});
  }
}

// Modified Gram and Schmidt, twice over, of the rows over the group's classes.
void MergedNormals::EmitRows(const Group& group, std::span<const double> sigmas,
                             stats::TrialProgram& program,
                             std::vector<std::vector<stats::TrialTerm>>& terms) const {
  std::map<std::uint32_t, Eigen::VectorXd> rows;
  for (std::size_t i = 0; i < group.classes.size(); ++i) {
    for (const auto& [row, factor] : classes_[group.classes[i]].rows) {
      auto [it, is_new] = rows.try_emplace(row);
      if (is_new) it->second.setZero(static_cast<Eigen::Index>(group.classes.size()));
      it->second[static_cast<Eigen::Index>(i)] = factor * sigmas[group.classes[i]];
    }
  }
  std::vector<Eigen::VectorXd> directions;
  std::vector<std::uint32_t> columns;
  for (auto& [row, left] : rows) {
    const double whole = left.norm();
    std::vector<double> factors(directions.size());
    for (int pass = 0; pass < 2; ++pass) {
      for (std::size_t k = 0; k < directions.size(); ++k) {
        const double f = directions[k].dot(left);
        factors[k] += f;
        left -= f * directions[k];
      }
    }
    for (std::size_t k = 0; k < factors.size(); ++k) {
      if (std::abs(factors[k]) > kNothingLeft * whole)
        terms[row].push_back({columns[k], factors[k]});
    }
    const double rest = left.norm();
    if (rest <= kNothingLeft * whole) continue;
    directions.push_back(left / rest);
    columns.push_back(AddDraw(row_keys_[row], program));
    terms[row].push_back({columns.back(), rest});
  }
}

}  // namespace fitwright::variation
