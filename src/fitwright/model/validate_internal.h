// What the checks of one part share. Internal to model/.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <string>
#include <vector>

#include "fitwright/model/known_words.h"
#include "fitwright/model/validate.h"
#include "fitwright/units/length.h"

namespace fitwright {

inline std::string Trim(double mm) { return FormatTrimmed(mm, 3); }

struct PartCheck {
  const Part& part;
  std::vector<ModelFault>& faults;

  std::string PathOf(const Feature& feature) const {
    return fmt::format("parts.{}.features.{}", part.name.text(), feature.name.text());
  }
  void Add(ErrorCode code, const Feature& feature, std::string_view key, std::string message,
           std::string remedy) {
    const std::string path = PathOf(feature);
    faults.push_back(ModelFault{code, key.empty() ? path : fmt::format("{}.{}", path, key),
                                std::move(message), std::move(remedy), ""});
  }
  std::vector<std::string> Names() const {
    std::vector<std::string> names;
    for (const Feature& f : part.features) names.push_back(f.name.text());
    return names;
  }
  // The feature of that name; reports when there is none.
  const Feature* Named(const Feature& by, std::string_view key, const FeatureId& name) {
    const Feature* found = part.Find(name);
    if (found != nullptr) return found;
    const auto names = Names();
    Add(ErrorCode::kUnknownFeature, by, key,
        fmt::format("{} has no feature {}", part.name.text(), name.text()),
        fmt::format("write \"{}\", or one of: {}", NearestOf(name.text(), names), ListOf(names)));
    return nullptr;
  }

  void CheckSize(const Feature& feature, const Size& size, std::string_view key) {
    const bool finite = std::isfinite(size.nominal_mm) && std::isfinite(size.lower_mm) &&
                        std::isfinite(size.upper_mm);
    if (!finite) {
      Add(ErrorCode::kNotFinite, feature, key, "the size is not a finite number", "write a length");
    } else if (size.lower_mm > size.upper_mm) {
      Add(ErrorCode::kLimitsSwapped, feature, key, "the least size is above the greatest",
          "write the least first");
    } else if (size.lower_mm <= 0) {
      Add(ErrorCode::kNotPositive, feature, key, "the least size is not above zero",
          "write a size above zero");
    }
  }
  void CheckDepth(const Feature& feature, double depth_mm) {
    if (std::isfinite(depth_mm) && depth_mm > kGeometryNoise_mm) return;
    Add(ErrorCode::kNotPositive, feature, "depth", "the depth is not above zero",
        "write a depth above zero");
  }
};

// Tapers, threads, keyways, knurls, markings, outlines, grooves' profiles, flats.
struct ShapeCheck : PartCheck {
  void operator()(const Feature& feature, const Groove& groove);
  void operator()(const Feature& feature, const Flats& flats);
  void operator()(const Feature& feature, const Taper& taper);
  void operator()(const Feature& feature, const ExternalThread& thread);
  void operator()(const Feature& feature, const Keyway& keyway);
  void operator()(const Feature& feature, const Knurl& knurl);
  void operator()(const Feature& feature, const Marking& marking);
  void operator()(const Feature& feature, const Outline& outline);
  bool HasSoundLine(const Feature& feature, const Outline& outline);

  // Something of an outer diameter about the axis stands outside `size_mm` between the ends.
  void CheckCutsOutside(const Feature& feature, const Axis3& axis, double from_mm, double to_mm,
                        double size_mm, std::string_view key);
};

// Geometric limits: the feature and its datum stand to each other as the limit says.
void CheckGeometric(const Part& part, std::vector<ModelFault>& faults);

// Unread regions: each has faces, a reason and finite sizes, and no face is in two.
void CheckUnread(const Part& part, std::vector<ModelFault>& faults);

// The part inside its stock, and its as_supplied surfaces on it.
void CheckStock(const Part& part, std::vector<ModelFault>& faults);

}  // namespace fitwright
