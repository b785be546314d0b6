// The sizes of features, as they are named and as solids stand.
#pragma once

#include <functional>

#include "fitwright/model/part.h"

namespace fitwright::recognize {

// Every size that carries limits.
void ForEachSize(FeatureShape& shape, const std::function<void(Size&)>& visit);
// The size that a feature is spoken of by; null where it has none.
const Size* SpokenSize(const Feature& feature);

// Each size without limits at its name: what is drawn where a model shows names, not the middle of
// limits.
Part AtNominals(const Part& part);

}  // namespace fitwright::recognize
