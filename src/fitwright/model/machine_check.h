// Shared by the files that validate a machine. Internal to model/.
#pragma once

#include <fmt/format.h>

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/validate.h"

namespace fitwright {

struct MachineCheck {
  const Machine& machine;
  ValidateDepth depth;
  std::vector<ModelFault>& faults;

  bool deep() const { return depth == ValidateDepth::kGeometry; }
  void Add(ErrorCode code, std::string path, std::string message, std::string remedy,
           std::string value = "");
  // The feature, when it is there and its part has a place in the machine; reports when not.
  const Feature* Resolve(const FeatureRef& ref, const std::string& path);
  void WrongKind(const FeatureRef& ref, const std::string& path, std::string_view what);
  template <typename Shape>
  const Shape* Expect(const Feature* feature, const FeatureRef& ref, const std::string& path,
                      std::string_view what) {
    if (feature == nullptr) return nullptr;
    const auto* shape = std::get_if<Shape>(&feature->shape);
    if (shape == nullptr) WrongKind(ref, path, what);
    return shape;
  }
  // Of a part that has been resolved.
  Pose X_WP(const FeatureRef& ref) const { return machine.FindPlace(ref.part).value(); }

 private:
  void UnknownPart(const FeatureRef& ref, const std::string& path);
};

void CheckJoint(MachineCheck& check, const Joint& joint);
void CheckRequirement(MachineCheck& check, const Requirement& requirement);

// A round feature's axis in W with its stretch along it; a pattern's first.
struct RoundLine {
  Axis3 axis_W;
  double from_mm = 0;
  double to_mm = 0;
  double diameter_mm = 0;
  Vec3 middle_W() const { return axis_W.point_mm + 0.5 * (from_mm + to_mm) * axis_W.direction; }
};
// Holes, outer diameters, grooves and tapers.
std::optional<RoundLine> RoundLineIn(const Feature& feature, const Pose& X_WP);

double AsideOf(const Axis3& axis, const Vec3& point);
bool AreParallel(const Vec3& a, const Vec3& b);
std::string MmText(double mm);

}  // namespace fitwright
