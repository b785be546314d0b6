#include "fitwright/solid/inside_probe.h"

#include <BRepClass3d_SolidClassifier.hxx>
#include <TopExp_Explorer.hxx>
#include <algorithm>
#include <vector>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {

struct InsideProbe::Bodies {
  std::vector<std::unique_ptr<BRepClass3d_SolidClassifier>> each;
};

InsideProbe::InsideProbe(const Solid& solid) : bodies_(std::make_unique<Bodies>()) {
  if (solid.empty()) return;
  for (TopExp_Explorer it(ShapeOf(solid), TopAbs_SOLID); it.More(); it.Next()) {
    bodies_->each.push_back(std::make_unique<BRepClass3d_SolidClassifier>(it.Current()));
  }
}

InsideProbe::~InsideProbe() = default;

bool InsideProbe::IsInside(const Vec3& point_mm) const {
  return std::any_of(bodies_->each.begin(), bodies_->each.end(), [&](const auto& body) {
    body->Perform(ToPnt(point_mm), kOnSurface_mm);
    return body->State() == TopAbs_IN;
  });
}

}  // namespace fitwright::solid
