#include "fitwright/variation/reads.h"

namespace fitwright::variation {
namespace {

using Marks = std::vector<std::uint8_t>;

void Mark(const Form& form, Marks& read) {
  for (const Term& term : form.terms) read[term.source] = 1;
}

void Mark(const FloatLimits& limits, Marks& read) {
  for (const FloatLimit& limit : limits.limits) {
    Mark(limit.offset[0], read);
    Mark(limit.offset[1], read);
    Mark(limit.room, read);
  }
}

void Mark(const RequirementForms& r, Marks& read) {
  for (const Form& form : r.linear) Mark(form, read);
  for (const auto& pair : r.vectors) {
    Mark(pair[0], read);
    Mark(pair[1], read);
  }
  Mark(r.screws, read);
  for (const FloatLimits& limits : r.stack) Mark(limits, read);
}

}  // namespace

void MarkRead(const Play& play, Marks& read) {
  Mark(play.within, read);
  for (const auto& [form, tolerance] : play.targets) Mark(form, read);
  if (play.has_residual) {
    for (const SourceIndex s : play.residual) read[s] = 1;
  }
  if (play.returns) {
    read[play.before[0]] = read[play.before[1]] = 1;
    if (play.before_turns) read[play.before[2]] = 1;
  }
}

Wanted WantedOf(const Analysis& analysis, const std::vector<std::size_t>& requirements) {
  Wanted wanted;
  wanted.requirements.resize(analysis.requirements.size());
  wanted.sources.resize(analysis.sources.size());
  wanted.plays.resize(analysis.plays.size());
  for (const std::size_t r : requirements) {
    wanted.requirements[r] = 1;
    Mark(analysis.requirements[r], wanted.sources);
  }
  // A later play may rest on an earlier one, never the other way round.
  for (std::size_t i = analysis.plays.size(); i-- > 0;) {
    const Play& play = analysis.plays[i];
    const bool read = wanted.sources[play.tx] != 0 || wanted.sources[play.ty] != 0 ||
                      (play.theta && wanted.sources[*play.theta] != 0);
    if (!read) continue;
    wanted.plays[i] = 1;
    MarkRead(play, wanted.sources);
  }
  return wanted;
}

}  // namespace fitwright::variation
