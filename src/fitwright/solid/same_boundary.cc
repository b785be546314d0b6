#include "fitwright/solid/same_boundary.h"

#include <BRepGProp.hxx>
#include <GProp_GProps.hxx>
#include <TopExp.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>

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
  Vec3 first_mm3 = Vec3::Zero();  // about the middle of the solid's box
};

}  // namespace

struct KnownBoundary::Patches {
  // False where a face is on a surface without a name.
  bool Add(const Solid& solid, double sign);
  // What the differences of areas and their centres may come to, each carried across the whole
  // part.
  double Left_mm3() const;

  std::vector<Patch> all;
  Vec3 middle_mm = Vec3::Zero();
  double reach_mm = 1;
};

bool KnownBoundary::Patches::Add(const Solid& solid, double sign) {
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
    auto patch = std::find_if(all.begin(), all.end(), [&](const Patch& p) {
      return IsSameSurface(p.surface, surface, 2 * reach_mm, kOneSurface_mm);
    });
    if (patch == all.end()) patch = all.insert(all.end(), Patch{surface, 0, Vec3::Zero()});
    patch->area_mm2 += sign * props.Mass();
    patch->first_mm3 += sign * props.Mass() * (ToVec(props.CentreOfMass()) - middle_mm);
  }
  return true;
}

double KnownBoundary::Patches::Left_mm3() const {
  double left_mm3 = 0;
  for (const Patch& patch : all)
    left_mm3 += std::max(std::abs(patch.area_mm2) * reach_mm, patch.first_mm3.norm());
  return left_mm3;
}

KnownBoundary::KnownBoundary(const Solid& solid) {
  if (solid.empty()) return;
  volume_mm3_ = CalcVolume_mm3(solid);
  const Result<bool> known = Guard("faces", [&]() -> Result<bool> {
    const Box3 box = CalcBox(solid);
    Patches patches;
    patches.middle_mm = box.centre_mm();
    patches.reach_mm = std::max(0.5 * box.size_mm().norm(), kOneSurface_mm);
    if (!patches.Add(solid, 1)) return false;
    patches_ = std::make_shared<const Patches>(std::move(patches));
    return true;
  });
  if (!known) patches_.reset();
}

bool KnownBoundary::IsOf(const Solid& other) const {
  if (volume_mm3_ == 0 || other.empty()) return volume_mm3_ == 0 && other.empty();
  if (patches_ == nullptr) return false;
  // The quick volume is out by some 1e-6 at most, so that far more is a difference.
  constexpr double kPlain = 1e-4;
  if (std::abs(CalcQuickVolume_mm3(other) - volume_mm3_) > kPlain * volume_mm3_) return false;
  if (std::abs(CalcVolume_mm3(other) - volume_mm3_) > kHidden * volume_mm3_) return false;
  const Result<bool> same = Guard("comparing faces", [&]() -> Result<bool> {
    Patches left = *patches_;
    return left.Add(other, -1) && left.Left_mm3() <= kHidden * volume_mm3_;
  });
  return same && *same;
}

bool HaveSameBoundary(const Solid& a, const Solid& b) { return KnownBoundary(a).IsOf(b); }

}  // namespace fitwright::solid
