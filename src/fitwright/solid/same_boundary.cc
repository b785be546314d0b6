// Two solids compared by their faces, where crossing them costs much or fails.
#include <BRepGProp.hxx>
#include <GProp_GProps.hxx>
#include <TopExp.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"

namespace fitwright::solid {
namespace {

// Surfaces as far apart are one.
constexpr double kOneSurface_mm = 1e-5;
// What the faces may hide, as a share of the volume.
constexpr double kHidden = 1e-6;

// All faces on one surface: one solid's counted, the other's taken off.
struct Patch {
  Surface surface;
  double area_mm2 = 0;
  Vec3 first_mm3 = Vec3::Zero();
};

class Boundary {
 public:
  explicit Boundary(const Solid& solid) {
    const Box3 box = CalcBox(solid);
    middle_mm_ = box.centre_mm();
    reach_mm_ = std::max(0.5 * box.size_mm().norm(), kOneSurface_mm);
  }
  // False where a face is on a surface without a name.
  bool Add(const Solid& solid, double sign);
  // What the differences of areas and their centres may come to, each carried across the whole
  // part.
  double Left_mm3() const;

 private:
  std::vector<Patch> patches_;
  Vec3 middle_mm_ = Vec3::Zero();
  double reach_mm_ = 1;
};

bool Boundary::Add(const Solid& solid, double sign) {
  TopTools_IndexedMapOfShape faces;
  TopExp::MapShapes(ShapeOf(solid), TopAbs_FACE, faces);
  for (int i = 1; i <= faces.Extent(); ++i) {
    const TopoDS_Face face = TopoDS::Face(faces.FindKey(i));
    Surface surface = ElementarySurface(BRepAdaptor_Surface(face, false));
    if (surface.kind == SurfaceKind::kOther) return false;
    if (surface.kind == SurfaceKind::kPlane)
      surface.axis_F.direction = CanonicalDirection(surface.axis_F.direction);
    GProp_GProps props;
    BRepGProp::SurfaceProperties(face, props, kQuadrature);
    auto patch = std::find_if(patches_.begin(), patches_.end(), [&](const Patch& p) {
      return IsSameSurface(p.surface, surface, 2 * reach_mm_, kOneSurface_mm);
    });
    if (patch == patches_.end())
      patch = patches_.insert(patches_.end(), Patch{surface, 0, Vec3::Zero()});
    patch->area_mm2 += sign * props.Mass();
    patch->first_mm3 += sign * props.Mass() * (ToVec(props.CentreOfMass()) - middle_mm_);
  }
  return true;
}

double Boundary::Left_mm3() const {
  double left_mm3 = 0;
  for (const Patch& patch : patches_)
    left_mm3 += std::max(std::abs(patch.area_mm2) * reach_mm_, patch.first_mm3.norm());
  return left_mm3;
}

}  // namespace

bool HaveSameBoundary(const Solid& a, const Solid& b) {
  if (a.empty() || b.empty()) return a.empty() && b.empty();
  const double volume_mm3 = CalcVolume_mm3(a);
  if (std::abs(CalcVolume_mm3(b) - volume_mm3) > kHidden * volume_mm3) return false;
  const Result<bool> same = Guard("comparing faces", [&]() -> Result<bool> {
    Boundary boundary(a);
    return boundary.Add(a, 1) && boundary.Add(b, -1) && boundary.Left_mm3() <= kHidden * volume_mm3;
  });
  return same && *same;
}

}  // namespace fitwright::solid
