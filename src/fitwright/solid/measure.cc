#include "fitwright/solid/measure.h"

#include <BRepBndLib.hxx>
#include <BRepClass3d_SolidClassifier.hxx>
#include <BRepExtrema_DistShapeShape.hxx>
#include <BRepGProp.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <IntCurvesFace_ShapeIntersector.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Lin.hxx>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {


GProp_GProps VolumeOf(const Solid& solid) {
  GProp_GProps props;
  if (!solid.empty()) BRepGProp::VolumeProperties(ShapeOf(solid), props, kQuadrature, false, false);
  return props;
}

std::size_t CountOf(const Solid& solid, TopAbs_ShapeEnum kind) {
  if (solid.empty()) return 0;
  std::size_t count = 0;
  for (TopExp_Explorer it(ShapeOf(solid), kind); it.More(); it.Next()) ++count;
  return count;
}

Box3 BoxOf(const TopoDS_Shape& shape) {
  Bnd_Box box;
  BRepBndLib::AddOptimal(shape, box, false, false);
  box.SetGap(0);
  if (box.IsVoid()) return {};
  return {ToVec(box.CornerMin()), ToVec(box.CornerMax())};
}

// With surfaces apart, one corner inside means all inside.
bool HoldsCornerOf(const Solid& outer, const Solid& inner) {
  for (TopExp_Explorer it(ShapeOf(inner), TopAbs_SOLID); it.More(); it.Next()) {
    const TopExp_Explorer corner(it.Current(), TopAbs_VERTEX);
    if (corner.More() && IsInside(outer, ToVec(BRep_Tool::Pnt(TopoDS::Vertex(corner.Current()))))) {
      return true;
    }
  }
  return false;
}

}  // namespace

double CalcVolume_mm3(const Solid& solid) {
  if (solid.empty()) return 0;
  double volume_mm3 = solid.shape()->volume_mm3.load();
  if (std::isnan(volume_mm3)) {
    volume_mm3 = VolumeOf(solid).Mass();
    solid.shape()->volume_mm3.store(volume_mm3);
  }
  return volume_mm3;
}

Vec3 CalcCentroid_mm(const Solid& solid) { return ToVec(VolumeOf(solid).CentreOfMass()); }

double CalcArea_mm2(const Solid& solid) {
  GProp_GProps props;
  if (!solid.empty()) BRepGProp::SurfaceProperties(ShapeOf(solid), props, kQuadrature);
  return props.Mass();
}

Box3 CalcBox(const Solid& solid) { return solid.empty() ? Box3{} : BoxOf(ShapeOf(solid)); }

Box3 CalcBoxIn(const Solid& solid, const Pose& X_AB) {
  if (solid.empty()) return {};
  return BoxOf(ShapeOf(solid).Moved(TopLoc_Location(ToTrsf(X_AB))));
}

bool IsInside(const Solid& solid, const Vec3& point_mm) {
  if (solid.empty()) return false;
  for (TopExp_Explorer it(ShapeOf(solid), TopAbs_SOLID); it.More(); it.Next()) {
    BRepClass3d_SolidClassifier classifier(it.Current(), ToPnt(point_mm), kOnSurface_mm);
    if (classifier.State() == TopAbs_IN) return true;
  }
  return false;
}

Result<std::vector<double>> FindCrossings_mm(const Solid& solid, const Vec3& from_mm,
                                             const Vec3& direction) {
  return Guard("ray", [&]() -> Result<std::vector<double>> {
    std::vector<double> found;
    if (solid.empty()) return found;
    IntCurvesFace_ShapeIntersector crossing;
    crossing.Load(ShapeOf(solid), kGeometryNoise_mm);
    crossing.Perform(gp_Lin(ToPnt(from_mm), ToDir(direction)), -kOnSurface_mm, 1e6);
    for (int i = 1; i <= crossing.NbPnt(); ++i) {
      found.push_back(std::max(0.0, crossing.WParameter(i)));
    }
    std::sort(found.begin(), found.end());
    const auto same = [](double a, double b) { return b - a < kOnSurface_mm; };
    found.erase(std::unique(found.begin(), found.end(), same), found.end());
    return found;
  });
}

Result<std::optional<double>> FindThickness_mm(const Solid& solid, const Vec3& from_mm,
                                               const Vec3& direction) {
  const Result<std::vector<double>> crossings = FindCrossings_mm(solid, from_mm, direction);
  if (!crossings) return Unexpected(crossings.error());
  return Guard("thickness", [&]() -> Result<std::optional<double>> {
    double inside_mm = 0;
    for (const double at_mm : *crossings) {
      if (at_mm - inside_mm < kOnSurface_mm) continue;
      const Vec3 middle = from_mm + 0.5 * (inside_mm + at_mm) * direction.normalized();
      if (!IsInside(solid, middle)) break;
      inside_mm = at_mm;
    }
    if (inside_mm > 0) return std::optional<double>(inside_mm);
    return std::optional<double>();
  });
}

Result<double> CalcClearance_mm(const Solid& a, const Solid& b) {
  return Guard("clearance", [&]() -> Result<double> {
    if (a.empty() || b.empty()) {
      return Unexpected(RangeError("a distance needs two solids", "", "give two solids"));
    }
    BRepExtrema_DistShapeShape distance(ShapeOf(a), ShapeOf(b));
    if (!distance.IsDone()) return Unexpected(KernelError("clearance", "no solution"));
    if (distance.InnerSolution() || HoldsCornerOf(a, b) || HoldsCornerOf(b, a)) return 0.0;
    return distance.Value();
  });
}

std::size_t CountFaces(const Solid& solid) { return CountOf(solid, TopAbs_FACE); }
std::size_t CountPieces(const Solid& solid) { return CountOf(solid, TopAbs_SOLID); }

}  // namespace fitwright::solid
