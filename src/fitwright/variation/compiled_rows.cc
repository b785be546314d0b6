#include "fitwright/variation/compiled_rows.h"

#include <algorithm>
#include <tuple>

#include "fitwright/base/hash.h"

namespace fitwright::variation {
namespace {

constexpr double kSlack = 1e-12;  // of limits: rounding of forms that cancel

}  // namespace

CompiledRows::Terms CompiledRows::TermsOf(const Form& form, double sign) {
  Terms terms;
  for (const Term& t : form.terms) terms.push_back({t.source, sign * t.factor});
  return terms;
}

PlayRows CompiledRows::Add(const Play& play, std::size_t place) {
  name_ = play.key;
  PlayRows out;
  out.play = place;
  out.limits = KeepLimits(play.within);
  for (const auto& [form, tolerance] : play.targets) out.targets.push_back(Keep(form));
  for (std::size_t i = 0; i < 3; ++i) {
    if (play.has_residual) out.residual[i] = Keep(FormOf(play.residual[i]));
    if (play.returns && (i < 2 || play.before_turns)) out.before[i] = Keep(FormOf(play.before[i]));
  }
  return out;
}

RequirementRows CompiledRows::Add(const RequirementForms& r, std::size_t place,
                                  std::uint32_t outcome) {
  outcome_ = outcome;
  name_ = StableHash(r.name.text());
  RequirementRows out;
  out.requirement = place;
  switch (r.test) {
    case TestKind::kLinear:
      AddLinear(r, out);
      break;
    case TestKind::kMagnitude:
      AddMagnitude(r, out);
      break;
    case TestKind::kClearance:
      AddClearance(r, out);
      break;
    case TestKind::kScrews:
      out.patterns.push_back(KeepLimits(r.screws));
      for (const FloatLimits& limits : r.stack) out.patterns.push_back(KeepLimits(limits));
      break;
    case TestKind::kFormula:
      for (const Form& form : r.linear) out.linear.push_back({Keep(form)});
      break;
  }
  return out;
}

void CompiledRows::AddLinear(const RequirementForms& r, RequirementRows& out) {
  for (const Form& form : r.linear)
    out.linear.push_back(Limit(form, r.lower - kSlack, r.upper + kSlack));
}

// A least magnitude is of the greatest of them: a condition only where there is one.
void CompiledRows::AddMagnitude(const RequirementForms& r, RequirementRows& out) {
  for (std::size_t v = 0; v < r.vectors.size(); ++v) {
    stats::TrialCondition c;
    c.x = Keep(r.vectors[v][0]);
    c.y = Keep(r.vectors[v][1]);
    if (v < r.linear.size()) {
      c.row = Keep(r.linear[v]);
      out.linear.push_back({*c.row});
    }
    c.low = r.vectors.size() == 1 ? r.lower - kSlack : -kNoLimit;
    c.high = r.upper + kSlack;
    c.outcome = outcome_;
    conditions_.push_back(c);
    out.vectors.push_back({c.x, c.y});
  }
}

void CompiledRows::AddClearance(const RequirementForms& r, RequirementRows& out) {
  for (const Form& form : r.linear) {
    if (r.vectors.empty()) {
      out.linear.push_back(Limit(form, r.lower - kSlack, r.upper + kSlack));
      continue;
    }
    if (r.upper < kNoLimit / 10) Limit(form, -kNoLimit, r.upper + kSlack);
    stats::TrialCondition c;
    c.row = Keep(form);
    c.x = Keep(r.vectors[0][0]);
    c.y = Keep(r.vectors[0][1]);
    c.factor = -r.tilt_length_mm;
    c.low = r.lower - kSlack;
    c.high = kNoLimit;
    c.outcome = outcome_;
    conditions_.push_back(c);
    out.linear.push_back({*c.row});
    out.vectors = {{c.x, c.y}};
  }
}

std::vector<LimitRows> CompiledRows::KeepLimits(const FloatLimits& limits) {
  std::vector<LimitRows> rows;
  for (const FloatLimit& limit : limits.limits)
    rows.push_back({Keep(limit.offset[0]), Keep(limit.offset[1]), Keep(limit.room)});
  return rows;
}

// The row with exactly these terms, or its opposite, in this requirement, is limited further;
// limits are those of the row without its constant.
FormRow CompiledRows::Limit(const Form& form, double low, double high) {
  low -= form.constant;
  high -= form.constant;
  const bool turned = !form.terms.empty() && form.terms.front().factor < 0;
  if (turned) std::tie(low, high) = std::pair(-high, -low);
  const auto [it, is_new] =
      limited_.try_emplace({outcome_, TermsOf(form, turned ? -1 : 1)}, rows_.size());
  if (is_new) {
    CompiledRow row;
    row.form = turned ? Scaled(form, -1) : form;
    row.form.constant = 0;
    row.outcome = outcome_;
    row.key = NextKey();
    rows_.push_back(std::move(row));
  }
  CompiledRow& row = rows_[it->second];
  row.low = std::max(row.low, low);
  row.high = std::min(row.high, high);
  return {static_cast<std::uint32_t>(it->second), turned ? -1.0 : 1.0, form.constant};
}

std::uint32_t CompiledRows::Keep(const Form& form) {
  const auto [it, is_new] = kept_.try_emplace({form.constant, TermsOf(form, 1)}, rows_.size());
  if (is_new) {
    CompiledRow row;
    row.form = form;
    row.kept = true;
    row.key = NextKey();
    rows_.push_back(std::move(row));
  }
  return static_cast<std::uint32_t>(it->second);
}

}  // namespace fitwright::variation
