#include "fitwright/rework/bearing.h"

#include <algorithm>
#include <vector>

namespace fitwright::rework {
namespace {

bool BearsOn(const Conditioning& given, const variation::FloatLimits& limits) {
  return std::any_of(limits.limits.begin(), limits.limits.end(), [&](const auto& l) {
    return given.Changes(l.offset[0]) || given.Changes(l.offset[1]) || given.Changes(l.room);
  });
}

}  // namespace

bool BearsOn(const Conditioning& given, const variation::Analysis& analysis,
             const variation::RequirementForms& r) {
  std::vector<std::uint8_t> rests(analysis.sources.size());
  for (const variation::Play& play : analysis.plays) {
    if (!BearsOn(given, play.within)) continue;
    rests[play.tx] = rests[play.ty] = 1;
    if (play.theta) rests[*play.theta] = 1;
  }
  const auto reads = [&](const variation::Form& form) {
    return given.Changes(form) ||
           std::any_of(form.terms.begin(), form.terms.end(),
                       [&](const variation::Term& t) { return rests[t.source] != 0; });
  };
  if (std::any_of(r.linear.begin(), r.linear.end(), reads)) return true;
  for (const auto& pair : r.vectors) {
    if (reads(pair[0]) || reads(pair[1])) return true;
  }
  if (BearsOn(given, r.screws)) return true;
  return std::any_of(r.stack.begin(), r.stack.end(),
                     [&](const auto& limits) { return BearsOn(given, limits); });
}

}  // namespace fitwright::rework
