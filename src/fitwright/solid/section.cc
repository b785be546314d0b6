#include <BRepAdaptor_Curve.hxx>
#include <BRepAlgoAPI_Common.hxx>
#include <BRepBuilderAPI_Copy.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRepTools.hxx>
#include <BRepTools_WireExplorer.hxx>
#include <BRep_Tool.hxx>
#include <Poly_Triangulation.hxx>
#include <ShapeUpgrade_UnifySameDomain.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Wire.hxx>
#include <algorithm>
#include <array>
#include <cmath>
#include <gp_Pln.hxx>
#include <optional>
#include <utility>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/lines.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/planar.h"
#include "fitwright/solid/views.h"

namespace fitwright::solid {
namespace {

std::vector<Vec2> SampleWire(const TopoDS_Wire& wire, const TopoDS_Face& face,
                             const ViewDirection& view, double chord_mm) {
  std::vector<Vec2> ring;
  for (BRepTools_WireExplorer it(wire, face); it.More(); it.Next()) {
    std::vector<Vec3> points = SampleCurve(BRepAdaptor_Curve(it.Current()), chord_mm);
    if (it.Current().Orientation() == TopAbs_REVERSED) std::reverse(points.begin(), points.end());
    for (const Vec3& p : points) ring.push_back(Project(view, p));
  }
  return TidyPolygon(ring);
}

Region ReadRegion(const TopoDS_Face& face, const ViewDirection& view, double chord_mm) {
  Region region;
  const TopoDS_Wire outer = BRepTools::OuterWire(face);
  for (TopExp_Explorer it(face, TopAbs_WIRE); it.More(); it.Next()) {
    std::vector<Vec2> ring = SampleWire(TopoDS::Wire(it.Current()), face, view, chord_mm);
    const bool is_outer = it.Current().IsSame(outer);
    if ((CalcPolygonArea(ring) > 0) != is_outer) std::reverse(ring.begin(), ring.end());
    if (is_outer) {
      region.outer_mm = std::move(ring);
    } else {
      region.holes_mm.push_back(std::move(ring));
    }
  }
  return region;
}

using Triangle = std::array<Vec2, 3>;

// Triangles of the surface as they fall on the paper.
std::vector<Triangle> ProjectMesh(const Solid& solid, const ViewDirection& view, double chord_mm) {
  const TopoDS_Shape copy = BRepBuilderAPI_Copy(ShapeOf(solid)).Shape();
  const BRepMesh_IncrementalMesh mesher(copy, chord_mm, false, 0.3, false);
  std::vector<Triangle> triangles;
  for (TopExp_Explorer it(copy, TopAbs_FACE); it.More(); it.Next()) {
    TopLoc_Location place;
    const Handle(Poly_Triangulation) mesh =
        BRep_Tool::Triangulation(TopoDS::Face(it.Current()), place);
    if (mesh.IsNull()) continue;
    std::vector<Vec2> nodes;
    for (int i = 1; i <= mesh->NbNodes(); ++i) {
      nodes.push_back(Project(view, ToVec(mesh->Node(i).Transformed(place.Transformation()))));
    }
    for (int i = 1; i <= mesh->NbTriangles(); ++i) {
      int a = 0;
      int b = 0;
      int c = 0;
      mesh->Triangle(i).Get(a, b, c);
      const auto node = [&](int k) { return nodes[static_cast<std::size_t>(k - 1)]; };
      triangles.push_back({node(a), node(b), node(c)});
    }
  }
  return triangles;
}

// Stretch of the level line v that lies in the triangle.
std::optional<std::pair<double, double>> CalcChord(const Triangle& t, double v) {
  std::vector<double> at;
  for (std::size_t i = 0; i < 3; ++i) {
    const Vec2& a = t[i];
    const Vec2& b = t[(i + 1) % 3];
    if ((a.y() <= v) == (b.y() <= v)) continue;
    at.push_back(a.x() + (b.x() - a.x()) * (v - a.y()) / (b.y() - a.y()));
  }
  if (at.size() < 2) return std::nullopt;
  return std::minmax(at[0], at[1]);
}

std::vector<std::pair<double, double>> Joined(std::vector<std::pair<double, double>> stretches) {
  constexpr double kGap_mm = 1e-4;
  std::sort(stretches.begin(), stretches.end());
  std::vector<std::pair<double, double>> joined;
  for (const auto& s : stretches) {
    if (!joined.empty() && s.first <= joined.back().second + kGap_mm) {
      joined.back().second = std::max(joined.back().second, s.second);
    } else {
      joined.push_back(s);
    }
  }
  return joined;
}

}  // namespace

Result<std::vector<Region>> MakeSection(const Solid& solid, const Vec3& point_mm,
                                        const ViewDirection& view, double chord_mm) {
  return Guard("section", [&]() -> Result<std::vector<Region>> {
    std::vector<Region> regions;
    if (solid.empty()) return regions;
    const Box3 box = CalcBox(solid);
    const double reach = 2 * box.size_mm().norm() + (box.centre_mm() - point_mm).norm();
    const gp_Pln plane(ToPnt(point_mm), ToDir(view.to_eye));
    const TopoDS_Face face = BRepBuilderAPI_MakeFace(plane, -reach, reach, -reach, reach).Face();
    TopTools_ListOfShape first;
    TopTools_ListOfShape second;
    first.Append(face);
    second.Append(ShapeOf(solid));
    BRepAlgoAPI_Common common;
    common.SetArguments(first);
    common.SetTools(second);
    common.SetNonDestructive(true);
    common.Build();
    if (!common.IsDone() || common.HasErrors()) return Unexpected(KernelError("section", "no cut"));
    ShapeUpgrade_UnifySameDomain unify(common.Shape(), true, true, false);
    unify.Build();
    for (TopExp_Explorer it(unify.Shape(), TopAbs_FACE); it.More(); it.Next()) {
      Region region = ReadRegion(TopoDS::Face(it.Current()), view, chord_mm);
      if (region.outer_mm.size() >= 3) regions.push_back(std::move(region));
    }
    return regions;
  });
}

Result<std::vector<HatchStroke>> MakeHatch(const Solid& solid, const ViewDirection& view,
                                           const HatchOptions& options) {
  return Guard("hatching", [&]() -> Result<std::vector<HatchStroke>> {
    std::vector<HatchStroke> strokes;
    if (solid.empty() || !(options.spacing_mm > 0)) return strokes;
    // Turned so that strokes are level.
    const Eigen::Rotation2Dd level(-options.angle_rad);
    std::vector<Triangle> triangles = ProjectMesh(solid, view, options.chord_mm);
    double low = 0;
    double high = 0;
    bool first = true;
    for (Triangle& t : triangles) {
      for (Vec2& p : t) {
        p = level * p;
        low = first ? p.y() : std::min(low, p.y());
        high = first ? p.y() : std::max(high, p.y());
        first = false;
      }
    }
    const double step = options.spacing_mm;
    for (double n = std::ceil(low / step); n * step <= high; n += 1) {
      std::vector<std::pair<double, double>> stretches;
      for (const Triangle& t : triangles) {
        if (const auto chord = CalcChord(t, n * step)) stretches.push_back(*chord);
      }
      for (const auto& [from, to] : Joined(std::move(stretches))) {
        strokes.push_back(
            {level.inverse() * Vec2(from, n * step), level.inverse() * Vec2(to, n * step)});
      }
    }
    return strokes;
  });
}

}  // namespace fitwright::solid
