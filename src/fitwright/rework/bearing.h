// Which forms a requirement reads, and whether readings bear on them.
#pragma once

#include "fitwright/rework/conditioning.h"

namespace fitwright::rework {

template <typename Change>
void ForEachForm(variation::FloatLimits& limits, const Change& change) {
  for (variation::FloatLimit& limit : limits.limits) {
    change(limit.offset[0]);
    change(limit.offset[1]);
    change(limit.room);
  }
}

template <typename Change>
void ForEachForm(variation::RequirementForms& r, const Change& change) {
  for (variation::Form& form : r.linear) change(form);
  for (auto& pair : r.vectors) {
    change(pair[0]);
    change(pair[1]);
  }
  ForEachForm(r.screws, change);
  for (variation::FloatLimits& limits : r.stack) ForEachForm(limits, change);
}

// Of the requirements and the floats.
template <typename Change>
void ForEachForm(variation::Analysis& analysis, const Change& change) {
  for (variation::RequirementForms& r : analysis.requirements) ForEachForm(r, change);
  for (variation::Play& play : analysis.plays) {
    ForEachForm(play.within, change);
    for (auto& target : play.targets) change(target.first);
  }
}

// By its own forms, or by where a float that it reads comes to rest.
bool BearsOn(const Conditioning& given, const variation::Analysis& analysis,
             const variation::RequirementForms& requirement);

}  // namespace fitwright::rework
