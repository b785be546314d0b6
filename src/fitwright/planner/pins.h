// What the builder decided, held against what there is to decide.
#pragma once

#include <map>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// Every pin of a technique or an aim concerns a decision that the machine has, in one of its ways, a size aimed at
// lies inside the feature's limits, and a feature that is pinned to a machine, a setup or a tool is cut by itself.
// Errors: kUnknownSubject, kUnknownWord, kOutOfRange, with the pin and what there is to pin.
Status CheckPins(const Machine& machine, const Subjects& subjects, const Choices& choices);

// What a subject names: a part alone, or a part and a feature (or side) of it.
FeatureRef RefOf(const Pin& pin);

// The size that an aim of the feature is a figure of; null where it has none.
const Size* AimedSizeOf(const Feature& feature);
// Pins of aims: sizes and ways of single features. Those of a shaft's fit to a mate are no part of it.
std::map<FeatureRef, OwnAim> OwnAims(const Machine& machine, const Choices& choices);

// A value as choices.toml may write it: the word itself, or "not " and the word that it must not be.
bool Agrees(const Pin& pin, std::string_view word);
// The word, without "not ".
std::string_view WordIn(const Pin& pin);

// The technique is one that the pin leaves to the pair; of a pin that does not concern it, any.
bool AllowsSuit(const Pin& pin, const SuitPair& pair, Technique technique);

}  // namespace fitwright::planner
