#include "fitwright/model/faces.h"

namespace fitwright {

const Feature* OutermostFace(const Part& part, const Vec3& normal_P) {
  constexpr double kSameWay = 1e-6;  // 1 - cosine
  const Feature* outermost = nullptr;
  double at_mm = 0;
  for (const Feature& feature : part.features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || face->normal_P.dot(normal_P) < 1 - kSameWay) continue;
    if (outermost != nullptr && face->at.middle_mm() <= at_mm) continue;
    outermost = &feature;
    at_mm = face->at.middle_mm();
  }
  return outermost;
}

bool IsOnRaw(const Contact& contact) { return contact.surface.feature.empty(); }

}  // namespace fitwright
