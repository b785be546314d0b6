// Which length between two features of a part a measuring line means, and that length as a form.
#pragma once

#include <optional>
#include <string>

#include "fitwright/model/machine.h"
#include "fitwright/variation/feature_forms.h"

namespace fitwright::rework {

// From a feature (a planar face, or the axis of a bore or outside) to another face or axis of the
// same part, read along `along_P`.
struct LengthBetween {
  FeatureRef other;
  Vec3 along_P = Vec3::UnitZ();  // from the other to the feature
  double drawn_mm = 0;
  double of_own_size = 0;  // how much of the feature's diameter is in it: 0.5 to a far wall
  double of_other_size = 0;
};

// The one that is drawn within 0.03 mm of `middle_mm`; of several the one whose other feature the
// words name, else none.
std::optional<LengthBetween> FindLength(const Machine& machine, const FeatureRef& feature,
                                        double middle_mm, const std::string& words);

// nullopt where one of the two is not made.
std::optional<variation::Form> FormOfLength(const Machine& machine,
                                            const variation::FeatureMap& features,
                                            const FeatureRef& feature, const LengthBetween& length);

}  // namespace fitwright::rework
