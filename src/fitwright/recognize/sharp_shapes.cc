#include "fitwright/recognize/sharp_shapes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fitwright::recognize {
namespace {

struct Wall {
  Vec3 normal = Vec3::UnitZ();
  double at_mm = 0;
};

// Faces that hang together by inward bends.
std::vector<std::vector<std::size_t>> GroupInward(const PlacedGraph& graph) {
  std::vector<bool> seen(graph.faces.size(), false);
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (seen[f] || IsOutside(graph, graph.faces[f])) continue;
    std::vector<std::size_t> group = {f};
    seen[f] = true;
    for (std::size_t i = 0; i < group.size(); ++i) {
      for (const std::size_t e : graph.faces[group[i]].edges) {
        const std::size_t next = graph.edges[e].Other(group[i]);
        if (graph.edges[e].bend == solid::Bend::kConvex || seen[next] ||
            IsOutside(graph, graph.faces[next]))
          continue;
        seen[next] = true;
        group.push_back(next);
      }
    }
    groups.push_back(std::move(group));
  }
  return groups;
}

// The planes of a group, those that others split once.
std::vector<Wall> WallsOf(const PlacedGraph& graph, const std::vector<std::size_t>& group) {
  std::vector<Wall> walls;
  for (const std::size_t f : group) {
    const PlacedFace& face = graph.faces[f];
    const auto same = [&](const Wall& wall) {
      return wall.normal.dot(face.axis_P.direction) > 1 - kSameWay_rad &&
             IsSame(wall.at_mm, PlaceOf(face));
    };
    if (std::none_of(walls.begin(), walls.end(), same))
      walls.push_back({face.axis_P.direction, PlaceOf(face)});
  }
  return walls;
}

// How the walls stand to each other.
struct Stand {
  int walls = 0;
  int along = 0;      // that lie along the part's own axes
  int square = 0;     // pairs square to each other
  int opposed = 0;    // pairs that look at each other
  bool prism = true;  // all walls run along one way
};

Stand MeasureStand(const std::vector<Wall>& walls) {
  Stand stand;
  stand.walls = static_cast<int>(walls.size());
  std::optional<Vec3> way;
  for (std::size_t i = 0; i < walls.size(); ++i) {
    if (AlongAxis(walls[i].normal)) ++stand.along;
    for (std::size_t k = 0; k < i; ++k) {
      const Vec3 across = walls[i].normal.cross(walls[k].normal);
      if (IsSquareTo(walls[i].normal, walls[k].normal)) ++stand.square;
      if (walls[i].normal.dot(walls[k].normal) < -1 + kSameWay_rad) ++stand.opposed;
      if (!way && across.norm() > kSameWay_rad) way = across.normalized();
    }
  }
  for (const Wall& wall : walls) stand.prism &= way && IsSquareTo(wall.normal, *way);
  return stand;
}

// Corners of the part's outline, seen square to the floor, that lie beyond the wall.
int CountCornersBeyond(const Box3& box, const Wall& floor, const Wall& wall) {
  const int up = *AlongAxis(floor.normal);
  int beyond = 0;
  for (int corner = 0; corner < 4; ++corner) {
    Vec3 p = Vec3::Zero();
    p[(up + 1) % 3] = (corner & 1) != 0 ? box.max_mm[(up + 1) % 3] : box.min_mm[(up + 1) % 3];
    p[(up + 2) % 3] = (corner & 2) != 0 ? box.max_mm[(up + 2) % 3] : box.min_mm[(up + 2) % 3];
    if (wall.normal.dot(p) > wall.at_mm + kSamePlace_mm) ++beyond;
  }
  return beyond;
}

std::optional<SharpKind> KindOfTwo(const PlacedGraph& graph, const std::vector<Wall>& walls,
                                   const Stand& stand) {
  if (stand.square == 0) return SharpKind::kVee;
  if (stand.along == 2) return SharpKind::kStep;
  if (stand.along == 0) return std::nullopt;
  const bool first = AlongAxis(walls[0].normal).has_value();
  const int beyond = CountCornersBeyond(graph.box_P, walls[first ? 0 : 1], walls[first ? 1 : 0]);
  if (beyond == 1) return SharpKind::kCutCorner;
  if (beyond == 2) return SharpKind::kSlantingStep;
  return std::nullopt;
}

// Some way square to the one that all walls run along leads out past them: not walled in all round.
// If any does, so does one half way between two walls' normals or square to two that look at each
// other.
bool IsOpenAside(const std::vector<Wall>& walls) {
  std::vector<Vec3> ways;
  Vec3 along = Vec3::Zero();
  for (const Wall& a : walls) {
    for (const Wall& b : walls) {
      if (a.normal.cross(b.normal).norm() > along.norm()) along = a.normal.cross(b.normal);
      if ((a.normal + b.normal).norm() > kSameWay_rad)
        ways.push_back((a.normal + b.normal).normalized());
    }
  }
  for (const Wall& wall : walls) {
    const Vec3 aside = along.normalized().cross(wall.normal);
    ways.push_back(aside);
    ways.emplace_back(-aside);
  }
  return std::any_of(ways.begin(), ways.end(), [&](const Vec3& way) {
    return std::all_of(walls.begin(), walls.end(),
                       [&](const Wall& wall) { return way.dot(wall.normal) > -kSameWay_rad; });
  });
}

std::optional<SharpKind> KindOf(const PlacedGraph& graph, const std::vector<Wall>& walls) {
  const Stand stand = MeasureStand(walls);
  if (stand.walls == 1)
    return AlongAxis(walls[0].normal) ? std::nullopt : std::optional(SharpKind::kSlope);
  if (stand.walls == 2) return KindOfTwo(graph, walls, stand);
  if (stand.prism) {
    const bool channel = stand.walls == 3 && stand.opposed == 1 && stand.square == 2;
    if (channel) return SharpKind::kChannel;
    return IsOpenAside(walls) ? std::nullopt : std::optional(SharpKind::kPassage);
  }
  if (stand.walls == 3 && stand.square == 3) return SharpKind::kCornerStep;
  if (stand.walls == 3 && stand.square == 2) return SharpKind::kBentStep;
  if (stand.walls == 4 && stand.square == 5 && stand.opposed == 1) return SharpKind::kShortChannel;
  // A floor square to walls that close round it.
  for (const Wall& floor : walls) {
    std::vector<Wall> round;
    for (const Wall& wall : walls) {
      if (IsSquareTo(wall.normal, floor.normal)) round.push_back(wall);
    }
    if (round.size() + 1 == walls.size() && !IsOpenAside(round)) return SharpKind::kPocket;
  }
  return std::nullopt;
}

}  // namespace

bool IsOutside(const PlacedGraph& graph, const PlacedFace& face) {
  const std::optional<int> axis = AlongAxis(face.axis_P.direction);
  if (!IsPlane(face) || !axis) return false;
  const bool up = face.axis_P.direction[*axis] > 0;
  return IsSame(face.axis_P.point_mm[*axis],
                up ? graph.box_P.max_mm[*axis] : graph.box_P.min_mm[*axis]);
}

std::vector<SharpShape> FindSharpShapes(const PlacedGraph& graph) {
  std::vector<SharpShape> shapes;
  for (std::vector<std::size_t>& group : GroupInward(graph)) {
    if (!std::all_of(group.begin(), group.end(),
                     [&](std::size_t f) { return IsPlane(graph.faces[f]); }))
      continue;
    const std::vector<Wall> walls = WallsOf(graph, group);
    if (const auto kind = KindOf(graph, walls))
      shapes.push_back({*kind, static_cast<int>(walls.size()), std::move(group)});
  }
  return shapes;
}

std::string WordsOf(const SharpShape& shape) {
  const int round = shape.kind == SharpKind::kPocket ? shape.walls - 1 : shape.walls;
  const std::string sharp = fmt::format(
      " of {} walls with sharp inside corners: a round cutter leaves its own radius in them",
      round);
  switch (shape.kind) {
    case SharpKind::kSlope:
      return "a slope that no feature of a sheet fits";
    case SharpKind::kPassage:
      return "a passage" + sharp;
    case SharpKind::kPocket:
      return "a pocket" + sharp;
    case SharpKind::kVee:
      return "a vee channel";
    case SharpKind::kChannel:
      return "a channel right through";
    case SharpKind::kShortChannel:
      return "a channel with one end closed and sharp corners there";
    case SharpKind::kStep:
      return "a step";
    case SharpKind::kSlantingStep:
      return "a step whose wall slants across the part";
    case SharpKind::kBentStep:
      return "a step with two walls that meet bluntly";
    case SharpKind::kCornerStep:
      return "a step in a corner with two walls";
    case SharpKind::kCutCorner:
      return "a corner cut off down to a floor";
  }
  return "";
}

}  // namespace fitwright::recognize
