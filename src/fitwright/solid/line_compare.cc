#include "fitwright/solid/line_compare.h"

#include <BRepBuilderAPI_Copy.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRep_Tool.hxx>
#include <Poly_Triangulation.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

constexpr double kTurn_rad = 0.2;  // between the normals of neighbouring triangles
// Lines stand off the middles of their cells, so that none runs in a drawn plane or through an
// axis.
constexpr double kAside = 0.4142;

// Lines along one axis over a box, and where each meets a mesh.
class LineField {
 public:
  LineField(const Box3& box, int axis, int across) : box_(box), axis_(axis), across_(across) {
    u_ = (axis + 1) % 3;
    v_ = (axis + 2) % 3;
    step_u_ = (box.max_mm[u_] - box.min_mm[u_]) / across;
    step_v_ = (box.max_mm[v_] - box.min_mm[v_]) / across;
  }
  std::vector<std::vector<double>> Meet(const SurfaceMesh& mesh) const {
    std::vector<std::vector<double>> met(static_cast<std::size_t>(across_ * across_));
    for (const auto& triangle : mesh.triangles) AddTriangle(triangle, met);
    for (auto& line : met) std::sort(line.begin(), line.end());
    return met;
  }
  double cell_mm2() const { return step_u_ * step_v_; }

 private:
  // Places of lines between two coordinates.
  static std::pair<int, int> Range(double low, double high, double from, double step, int count) {
    const int first = static_cast<int>(std::ceil((low - from) / step - kAside));
    const int last = static_cast<int>(std::floor((high - from) / step - kAside));
    return {std::max(first, 0), std::min(last, count - 1)};
  }
  void AddTriangle(const std::array<Vec3, 3>& t, std::vector<std::vector<double>>& met) const {
    const auto [low_u, high_u] = std::minmax({t[0][u_], t[1][u_], t[2][u_]});
    const auto [low_v, high_v] = std::minmax({t[0][v_], t[1][v_], t[2][v_]});
    const auto [first_u, last_u] = Range(low_u, high_u, box_.min_mm[u_], step_u_, across_);
    const auto [first_v, last_v] = Range(low_v, high_v, box_.min_mm[v_], step_v_, across_);
    const Vec2 a(t[0][u_], t[0][v_]);
    const Vec2 ab = Vec2(t[1][u_], t[1][v_]) - a;
    const Vec2 ac = Vec2(t[2][u_], t[2][v_]) - a;
    const double area = ab.x() * ac.y() - ab.y() * ac.x();
    if (area == 0) return;
    for (int i = first_u; i <= last_u; ++i) {
      for (int k = first_v; k <= last_v; ++k) {
        const Vec2 p = Vec2(box_.min_mm[u_] + (i + kAside) * step_u_,
                            box_.min_mm[v_] + (k + kAside) * step_v_) -
                       a;
        const double s = (p.x() * ac.y() - p.y() * ac.x()) / area;
        const double r = (ab.x() * p.y() - ab.y() * p.x()) / area;
        if (s < 0 || r < 0 || s + r > 1) continue;
        const double at =
            t[0][axis_] + s * (t[1][axis_] - t[0][axis_]) + r * (t[2][axis_] - t[0][axis_]);
        met[static_cast<std::size_t>(i) * static_cast<std::size_t>(across_) + static_cast<std::size_t>(k)].push_back(at);
      }
    }
  }

  Box3 box_;
  int axis_;
  int across_;
  int u_ = 0;
  int v_ = 1;
  double step_u_ = 0;
  double step_v_ = 0;
};

// Inside after an odd number of crossings.
bool IsIn(const std::vector<double>& line, double at) {
  return (std::upper_bound(line.begin(), line.end(), at) - line.begin()) % 2 == 1;
}

struct Fields {
  std::vector<std::vector<double>> a;
  std::vector<std::vector<double>> b;
  std::vector<std::vector<std::vector<double>>> except;
};

void AddLine(const Fields& fields, std::size_t line, double from, double to, LineComparison& sum) {
  const std::vector<double>& a = fields.a[line];
  const std::vector<double>& b = fields.b[line];
  // A line that grazed an edge says nothing.
  if (a.size() % 2 != 0 || b.size() % 2 != 0) return;
  std::vector<double> stops = {from, to};
  const auto add = [&](const std::vector<double>& all) {
    for (const double at : all) {
      if (at > from && at < to) stops.push_back(at);
    }
  };
  add(a);
  add(b);
  for (const auto& field : fields.except) add(field[line]);
  std::sort(stops.begin(), stops.end());
  for (std::size_t i = 0; i + 1 < stops.size(); ++i) {
    const double middle = 0.5 * (stops[i] + stops[i + 1]);
    const auto hides = [&](const auto& field) { return IsIn(field[line], middle); };
    if (std::any_of(fields.except.begin(), fields.except.end(), hides)) continue;
    const bool in_a = IsIn(a, middle);
    const bool in_b = IsIn(b, middle);
    if (!in_a && !in_b) continue;
    (in_a && in_b ? sum.shared_mm3
     : in_a       ? sum.only_a_mm3
                  : sum.only_b_mm3) += stops[i + 1] - stops[i];
  }
}

}  // namespace

Result<SurfaceMesh> MakeSurfaceMesh(const Solid& solid, double chord_mm) {
  return Guard("mesh of a surface", [&]() -> Result<SurfaceMesh> {
    SurfaceMesh made;
    if (solid.empty()) return made;
    made.box = {Vec3::Constant(1e300), Vec3::Constant(-1e300)};
    const TopoDS_Shape copy = BRepBuilderAPI_Copy(ShapeOf(solid)).Shape();
    const BRepMesh_IncrementalMesh mesher(copy, chord_mm, false, kTurn_rad, false);
    for (TopExp_Explorer it(copy, TopAbs_FACE); it.More(); it.Next()) {
      TopLoc_Location place;
      const Handle(Poly_Triangulation) mesh =
          BRep_Tool::Triangulation(TopoDS::Face(it.Current()), place);
      if (mesh.IsNull())
        return Unexpected(KernelError("mesh of a surface", "a face has no triangles"));
      std::vector<Vec3> nodes;
      for (int i = 1; i <= mesh->NbNodes(); ++i) {
        nodes.push_back(ToVec(mesh->Node(i).Transformed(place.Transformation())));
        made.box.min_mm = made.box.min_mm.cwiseMin(nodes.back());
        made.box.max_mm = made.box.max_mm.cwiseMax(nodes.back());
      }
      const auto node = [&](int k) { return nodes[static_cast<std::size_t>(k - 1)]; };
      for (int i = 1; i <= mesh->NbTriangles(); ++i) {
        int a = 0;
        int b = 0;
        int c = 0;
        mesh->Triangle(i).Get(a, b, c);
        made.triangles.push_back({node(a), node(b), node(c)});
      }
    }
    return made;
  });
}

LineComparison CompareByLines(const SurfaceMesh& a, const SurfaceMesh& b, const Box3& box,
                              int across, const std::vector<SurfaceMesh>& except) {
  LineComparison whole;
  if (!(box.size_mm().minCoeff() > 0)) return whole;
  for (int axis = 0; axis < 3; ++axis) {
    const LineField field(box, axis, across);
    Fields fields{field.Meet(a), field.Meet(b), {}};
    for (const SurfaceMesh& mesh : except) fields.except.push_back(field.Meet(mesh));
    LineComparison sum;
    for (std::size_t line = 0; line < fields.a.size(); ++line)
      AddLine(fields, line, box.min_mm[axis], box.max_mm[axis], sum);
    const double share = field.cell_mm2() / 3;
    whole.only_a_mm3 += share * sum.only_a_mm3;
    whole.only_b_mm3 += share * sum.only_b_mm3;
    whole.shared_mm3 += share * sum.shared_mm3;
  }
  return whole;
}

bool CrossesBetween(const SurfaceMesh& mesh, const Vec3& from_mm, const Vec3& to_mm) {
  const Vec3 way = to_mm - from_mm;
  return std::any_of(mesh.triangles.begin(), mesh.triangles.end(),
                     [&](const std::array<Vec3, 3>& t) {
                       const Vec3 ab = t[1] - t[0];
                       const Vec3 ac = t[2] - t[0];
                       const Vec3 across = way.cross(ac);
                       const double turn = ab.dot(across);
                       if (std::abs(turn) < 1e-15) return false;
                       const Vec3 off = from_mm - t[0];
                       const double s = off.dot(across) / turn;
                       const Vec3 up = off.cross(ab);
                       const double r = way.dot(up) / turn;
                       const double at = ac.dot(up) / turn;
                       return s >= 0 && r >= 0 && s + r <= 1 && at >= 0 && at <= 1;
                     });
}

}  // namespace fitwright::solid
