#include "fitwright/recognize/outline_reading.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

// A round over less of a turn than this breaks a corner.
constexpr double kLeastDisc = 0.26;

struct Border {
  int axis = 2;
  Outline outline;
  std::vector<std::size_t> faces;
};

Vec2 InPlane(const Outline& outline, const Vec3& p) { return {outline.u_P.dot(p), outline.v_P.dot(p)}; }

bool StandsAlong(const PlacedFace& face, int axis) {
  const Vec3 up = Vec3::Unit(axis);
  return IsPlane(face) ? IsSquareTo(face.axis_P.direction, up) : IsCylinder(face) && IsAlong(face.axis_P.direction, up);
}

// Of a full turn, all faces on the cylinder together: slots and flats part a disc's border.
double ShareOfTurn(const PlacedGraph& graph, const PlacedFace& round) {
  double share = 0;
  for (const PlacedFace& face : graph.faces) {
    const bool same = IsCylinder(face) && !face.hollow && AreCoaxial(face.axis_P, round.axis_P) && IsSame(face.radius_mm, round.radius_mm);
    if (same) share += face.turn_share;
  }
  return share;
}

void AddDiscs(const Draft& draft, Border& border) {
  const PlacedGraph& graph = draft.graph;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!IsCylinder(face) || face.hollow || !StandsAlong(face, border.axis)) continue;
    const Outline::Disc disc{Tidy(InPlane(border.outline, face.axis_P.point_mm).x()) * Vec2::UnitX() +
                                 Tidy(InPlane(border.outline, face.axis_P.point_mm).y()) * Vec2::UnitY(),
                             Tidy(2 * face.radius_mm)};
    const auto same = [&](const Outline::Disc& other) {
      return (other.centre_mm - disc.centre_mm).norm() <= kSamePlace_mm && IsSame(other.diameter_mm, disc.diameter_mm);
    };
    auto& discs = border.outline.discs;
    const bool known = std::any_of(discs.begin(), discs.end(), same);
    if (!known && ShareOfTurn(graph, face) < kLeastDisc) continue;
    if (!known) discs.push_back(disc);
    border.faces.push_back(f);
  }
}

// One radius for all hollow rounds that run smoothly on into the border.
bool AddInsideRadius(const Draft& draft, Border& border) {
  const PlacedGraph& graph = draft.graph;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!draft.IsFree(f) || !IsHollowCylinder(face) || !StandsAlong(face, border.axis) || face.turn_share > 0.5) continue;
    const auto on_border = [&](std::size_t e) {
      const std::size_t other = graph.edges[e].Other(f);
      return graph.edges[e].bend == solid::Bend::kTangent && std::find(border.faces.begin(), border.faces.end(), other) != border.faces.end();
    };
    if (std::none_of(face.edges.begin(), face.edges.end(), on_border)) continue;
    double& radius = border.outline.inside_radius_mm;
    if (radius > 0 && !IsSame(radius, face.radius_mm)) return false;
    radius = Tidy(face.radius_mm);
    border.faces.push_back(f);
  }
  return true;
}

// Where a square-ended bar with its middle line through `at` ends that way: at a plane that looks along it.
std::optional<double> SquareEnd(const Draft& draft, const Border& border, const Vec2& along, double sense, const Vec2& middle, double width,
                                std::vector<std::size_t>& faces) {
  const PlacedGraph& graph = draft.graph;
  const Vec2 across(-along.y(), along.x());
  const Vec3 across_P = across.x() * border.outline.u_P + across.y() * border.outline.v_P;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!IsPlane(face) || !StandsAlong(face, border.axis)) continue;
    if (InPlane(border.outline, face.axis_P.direction).dot(sense * along) < 1 - kSameWay_rad) continue;
    const auto reach = SpanAlong(graph, f, across_P);
    if (!reach || std::abs(reach->middle_mm() - across.dot(middle)) > 0.5 * width) continue;
    faces.push_back(f);
    return along.dot(InPlane(border.outline, face.axis_P.point_mm));
  }
  return std::nullopt;
}

struct SideOfBar {
  std::size_t face = 0;
  Vec2 normal = Vec2::UnitX();
  double at_mm = 0;
};

void AddBar(const Draft& draft, const SideOfBar& a, const SideOfBar& b, Border& border) {
  const double width = a.at_mm + b.at_mm;
  if (width <= kSamePlace_mm) return;
  const double middle_at = 0.5 * (a.at_mm - b.at_mm);
  const Vec2 along(-a.normal.y(), a.normal.x());
  std::vector<double> centres;
  for (const Outline::Disc& disc : border.outline.discs) {
    const bool on = IsSame(a.normal.dot(disc.centre_mm), middle_at) && disc.diameter_mm > width - kSamePlace_mm;
    if (on) centres.push_back(along.dot(disc.centre_mm));
  }
  if (centres.empty()) return;
  double from = *std::min_element(centres.begin(), centres.end());
  double to = *std::max_element(centres.begin(), centres.end());
  std::vector<std::size_t> faces = {a.face, b.face};
  if (to - from <= kSamePlace_mm) {
    const Vec2 middle = middle_at * a.normal;
    if (const auto end = SquareEnd(draft, border, along, 1, middle, width, faces)) to = *end;
    if (const auto end = SquareEnd(draft, border, along, -1, middle, width, faces)) from = *end;
  }
  if (to - from <= kSamePlace_mm) return;
  Outline::Bar bar;
  const Vec2 p = middle_at * a.normal + from * along;
  const Vec2 q = middle_at * a.normal + to * along;
  bar.a_mm = {Tidy(p.x()), Tidy(p.y())};
  bar.b_mm = {Tidy(q.x()), Tidy(q.y())};
  bar.width_mm = Tidy(width);
  border.outline.bars.push_back(bar);
  border.faces.insert(border.faces.end(), faces.begin(), faces.end());
}

void AddBars(const Draft& draft, Border& border) {
  const PlacedGraph& graph = draft.graph;
  std::vector<SideOfBar> sides;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!IsPlane(face) || !StandsAlong(face, border.axis)) continue;
    const SideOfBar side{f, InPlane(border.outline, face.axis_P.direction), PlaceOf(face)};
    const auto same = [&](const SideOfBar& other) {
      return side.normal.dot(other.normal) > 1 - kSameWay_rad && IsSame(side.at_mm, other.at_mm);
    };
    const auto known = std::find_if(sides.begin(), sides.end(), same);
    if (known == sides.end()) sides.push_back(side);
  }
  for (std::size_t i = 0; i < sides.size(); ++i) {
    for (std::size_t k = i + 1; k < sides.size(); ++k) {
      if (sides[i].normal.dot(sides[k].normal) < -1 + kSameWay_rad) AddBar(draft, sides[i], sides[k], border);
    }
  }
}

// Planes on the lines of bars that other faces of the border were split from.
void AddPiecesOfBars(const Draft& draft, Border& border) {
  const PlacedGraph& graph = draft.graph;
  std::vector<std::size_t> more;
  for (const std::size_t known : border.faces) {
    for (std::size_t f = 0; f < graph.faces.size(); ++f) {
      const PlacedFace& face = graph.faces[f];
      const PlacedFace& other = graph.faces[known];
      const bool same = IsPlane(face) && IsPlane(other) && face.axis_P.direction.dot(other.axis_P.direction) > 1 - kSameWay_rad &&
                        IsSame(PlaceOf(face), PlaceOf(other));
      if (same) more.push_back(f);
    }
  }
  border.faces.insert(border.faces.end(), more.begin(), more.end());
}

}  // namespace

void ReadOutline(Draft& draft, const TakesOnlyAir& takes_only_air) {
  for (const int axis : {2, 1, 0}) {
    Border border;
    border.axis = axis;
    border.outline.into_P = -Vec3::Unit(axis);
    // A sheet counts the two other coordinates in the order x y z; from above they turn right-handed.
    border.outline.u_P = Vec3::Unit((axis + 1) % 3);
    border.outline.v_P = Vec3::Unit((axis + 2) % 3);
    AddDiscs(draft, border);
    if (border.outline.discs.empty()) continue;
    AddBars(draft, border);
    if (!AddInsideRadius(draft, border)) continue;
    AddPiecesOfBars(draft, border);
    Feature feature;
    feature.name = FeatureId("outline");
    feature.shape = border.outline;
    if (!takes_only_air(draft.part, feature)) continue;
    draft.Add("outline", border.outline, border.faces);
    return;
  }
}

}  // namespace fitwright::recognize
