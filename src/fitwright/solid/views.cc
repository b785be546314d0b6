#include "fitwright/solid/views.h"

#include <BRepAdaptor_Curve.hxx>
#include <BRepBuilderAPI_Copy.hxx>
#include <BRepLib.hxx>
#include <HLRAlgo_Projector.hxx>
#include <HLRBRep_Algo.hxx>
#include <HLRBRep_HLRToShape.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/lines.h"

namespace fitwright::solid {
namespace {

// The exact algorithm takes fifty times as long on a view along an axis of the part; this tilt
// moves nothing by more than 0.01 mm on a part of 100 mm.
constexpr double kTilt_rad = 1e-4;
// Lines closer than this on paper are one line: twice the tilt's shift and room for the fine
// chords.
constexpr double kOneLine_mm = 0.03;
constexpr double kSpeck_mm = 0.05;
// Curves are compared at this sagitta, well below kOneLine_mm, and drawn at the caller's.
constexpr double kFineChord_mm = 0.004;

struct PaperAxes {
  Vec3 right;
  Vec3 up;
  Vec3 to_eye;
};

PaperAxes CalcAxes(const ViewDirection& view) {
  PaperAxes axes;
  axes.to_eye = view.to_eye.normalized();
  Vec3 up = view.up - view.up.dot(axes.to_eye) * axes.to_eye;
  if (up.norm() < 1e-9) {
    const Vec3 other = std::abs(axes.to_eye.z()) < 0.9 ? Vec3::UnitZ() : Vec3::UnitY();
    up = other - other.dot(axes.to_eye) * axes.to_eye;
  }
  axes.up = up.normalized();
  axes.right = axes.up.cross(axes.to_eye);
  return axes;
}

PaperAxes Tilted(const PaperAxes& axes) {
  if (axes.to_eye.cwiseAbs().minCoeff() > 10 * kTilt_rad) return axes;
  const Eigen::AngleAxisd about_right(kTilt_rad, axes.right);
  const Eigen::AngleAxisd about_up(0.7 * kTilt_rad, axes.up);
  return {about_up * (about_right * axes.right), about_up * (about_right * axes.up),
          about_up * (about_right * axes.to_eye)};
}

struct Layer {
  bool visible;
  LineKind kind;
};

TopoDS_Shape GetLayer(HLRBRep_HLRToShape& lines, const TopoDS_Shape& body, const Layer& layer) {
  if (layer.visible) {
    if (layer.kind == LineKind::kSharp) return lines.VCompound(body);
    if (layer.kind == LineKind::kOutline) return lines.OutLineVCompound(body);
    return lines.Rg1LineVCompound(body);
  }
  if (layer.kind == LineKind::kSharp) return lines.HCompound(body);
  if (layer.kind == LineKind::kOutline) return lines.OutLineHCompound(body);
  return lines.Rg1LineHCompound(body);
}

void Collect(const TopoDS_Shape& shape, const DrawingLine& like, std::vector<DrawingLine>& lines) {
  if (shape.IsNull()) return;
  BRepLib::BuildCurves3d(shape);
  for (TopExp_Explorer it(shape, TopAbs_EDGE); it.More(); it.Next()) {
    const BRepAdaptor_Curve curve(TopoDS::Edge(it.Current()));
    DrawingLine line = like;
    for (const Vec3& p : SampleCurve(curve, kFineChord_mm))
      line.points_mm.emplace_back(p.x(), p.y());
    if (line.points_mm.size() >= 2) lines.push_back(std::move(line));
  }
}

std::vector<Layer> ListLayers(const ViewOptions& options) {
  std::vector<Layer> layers = {{true, LineKind::kSharp}, {true, LineKind::kOutline}};
  if (options.smooth) layers.push_back({true, LineKind::kSmooth});
  if (options.hidden) {
    layers.push_back({false, LineKind::kSharp});
    layers.push_back({false, LineKind::kOutline});
    if (options.smooth) layers.push_back({false, LineKind::kSmooth});
  }
  return layers;
}

bool Before(const DrawingLine& a, const DrawingLine& b) {
  if (a.body != b.body) return a.body < b.body;
  if (a.visible != b.visible) return a.visible;
  if (a.kind != b.kind) return a.kind < b.kind;
  const auto less = [](const Vec2& p, const Vec2& q) {
    return p.x() != q.x() ? p.x() < q.x() : p.y() < q.y();
  };
  return std::lexicographical_compare(a.points_mm.begin(), a.points_mm.end(), b.points_mm.begin(),
                                      b.points_mm.end(), less);
}

}  // namespace

Vec2 Project(const ViewDirection& view, const Vec3& point_mm) {
  const PaperAxes axes = CalcAxes(view);
  return {axes.right.dot(point_mm), axes.up.dot(point_mm)};
}

Result<std::vector<DrawingLine>> MakeView(const std::vector<Solid>& solids,
                                          const ViewDirection& view, const ViewOptions& options) {
  return Guard("hidden-line view", [&]() -> Result<std::vector<DrawingLine>> {
    const PaperAxes axes = Tilted(CalcAxes(view));
    const Handle(HLRBRep_Algo) algo = new HLRBRep_Algo();
    std::vector<TopoDS_Shape> bodies(solids.size());
    for (std::size_t i = 0; i < solids.size(); ++i) {
      if (solids[i].empty()) continue;
      bodies[i] = BRepBuilderAPI_Copy(ShapeOf(solids[i])).Shape();
      algo->Add(bodies[i]);
    }
    if (algo->NbShapes() == 0) return std::vector<DrawingLine>{};
    algo->Projector(
        HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), ToDir(axes.to_eye), ToDir(axes.right))));
    algo->Update();
    algo->Hide();
    HLRBRep_HLRToShape made(algo);
    std::vector<DrawingLine> lines;
    for (const Layer& layer : ListLayers(options)) {
      for (std::size_t i = 0; i < bodies.size(); ++i) {
        if (bodies[i].IsNull()) continue;
        DrawingLine like;
        like.visible = layer.visible;
        like.kind = layer.kind;
        like.body = i;
        Collect(GetLayer(made, bodies[i], layer), like, lines);
      }
    }
    lines = DropCovered(lines, kOneLine_mm, kSpeck_mm);
    for (DrawingLine& line : lines) line.points_mm = Thinned(line.points_mm, options.chord_mm);
    std::stable_sort(lines.begin(), lines.end(), Before);
    return lines;
  });
}

}  // namespace fitwright::solid
