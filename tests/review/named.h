#pragma once

#include <utility>

#include "fitwright/model/part.h"

namespace fitwright::review {

inline Feature Named(const char* name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  return feature;
}

}  // namespace fitwright::review
