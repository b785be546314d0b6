// Seats for keys along bores: about the axis of turned work and about the holes of a block.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/recognize/outer_profile.h"

namespace fitwright::recognize {
namespace {

using solid::Bend;

struct Found {
  Keyway keyway;
  std::vector<std::size_t> faces;
};

// Each line about which a round hole was read, once; of turned work its own axis besides.
std::vector<Axis3> AxesOf(const Part& part) {
  std::vector<Axis3> axes;
  const auto add = [&](Vec3 point, int along) {
    point[along] = 0;
    const Axis3 axis{point, Vec3::Unit(along)};
    const auto same = [&](const Axis3& other) { return AreCoaxial(other, axis); };
    if (std::none_of(axes.begin(), axes.end(), same)) axes.push_back(axis);
  };
  if (part.envelope == EnvelopeKind::kTurned) add(Vec3::Zero(), 2);
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr) continue;
    for (const Vec3& entry : hole->entries_P_mm) add(entry, *AlongAxis(hole->into_P));
  }
  return axes;
}

// How far the plane stands along its normal from the axis.
double FromAxis(const PlacedFace& plane, const Axis3& axis) {
  return PlaceOf(plane) - axis.point_mm.dot(plane.axis_P.direction);
}

// Whether the wall ends at a round about the axis.
bool MeetsBore(const PlacedGraph& graph, std::size_t wall, const Axis3& axis) {
  return std::any_of(graph.faces[wall].edges.begin(), graph.faces[wall].edges.end(),
                     [&](std::size_t e) {
                       const PlacedFace& beside = graph.faces[graph.edges[e].Other(wall)];
                       const bool round = beside.kind == solid::SurfaceKind::kCylinder ||
                                          beside.kind == solid::SurfaceKind::kCone;
                       return round && beside.hollow && AreCoaxial(beside.axis_P, axis);
                     });
}

// The keyway on whose floor the face lies: the floor looks at the axis between two walls as far
// from it.
std::optional<Found> MakeHubKeyway(const Draft& draft, std::size_t f, const Axis3& axis) {
  const PlacedGraph& graph = draft.graph;
  const PlacedFace& floor = graph.faces[f];
  if (!draft.IsFree(f) || !IsPlane(floor) || !IsSquareTo(floor.axis_P.direction, axis.direction))
    return std::nullopt;
  if (FromAxis(floor, axis) >= -kSamePlace_mm) return std::nullopt;
  Found found;
  Keyway& keyway = found.keyway;
  keyway.internal = true;
  keyway.axis_P = axis;
  keyway.side_P = -floor.axis_P.direction;
  keyway.floor_mm = Tidy(-FromAxis(floor, axis));
  const Span span = *SpanAlong(graph, f, axis.direction);
  keyway.from_mm = Tidy(span.from_mm);
  keyway.to_mm = Tidy(span.to_mm);
  found.faces = {f};
  double least = 1e300;
  double most = 0;
  for (const std::size_t e : floor.edges) {
    const PlacedEdge& edge = graph.edges[e];
    const PlacedFace& wall = graph.faces[edge.Other(f)];
    if (edge.bend != Bend::kConcave) continue;
    const bool beside = IsPlane(wall) && IsSquareTo(wall.axis_P.direction, keyway.side_P) &&
                        IsSquareTo(wall.axis_P.direction, axis.direction);
    if (!beside || !MeetsBore(graph, edge.Other(f), axis)) return std::nullopt;
    least = std::min(least, -FromAxis(wall, axis));
    most = std::max(most, -FromAxis(wall, axis));
    found.faces.push_back(edge.Other(f));
  }
  if (found.faces.size() != 3 || least <= kSamePlace_mm || !IsSame(least, most))
    return std::nullopt;
  keyway.width = DrawnSize(least + most);
  return found;
}

// A recess of the bore parts one keyway in two.
bool GoOn(const Keyway& a, const Keyway& b) {
  return AreCoaxial(a.axis_P, b.axis_P) && IsSame(a.floor_mm, b.floor_mm) &&
         a.side_P.dot(b.side_P) > 1 - kSameWay_rad &&
         IsSame(a.width.nominal_mm, b.width.nominal_mm);
}

}  // namespace

void ReadHubKeyways(Draft& draft) {
  const std::vector<Axis3> axes = AxesOf(draft.part);
  std::vector<Found> all;
  for (std::size_t f = 0; f < draft.graph.faces.size(); ++f) {
    for (const Axis3& axis : axes) {
      const auto found = MakeHubKeyway(draft, f, axis);
      if (!found) continue;
      const auto same = std::find_if(all.begin(), all.end(), [&](const Found& other) {
        return GoOn(other.keyway, found->keyway);
      });
      if (same == all.end()) {
        all.push_back(*found);
      } else {
        same->keyway.from_mm = std::min(same->keyway.from_mm, found->keyway.from_mm);
        same->keyway.to_mm = std::max(same->keyway.to_mm, found->keyway.to_mm);
        same->faces.insert(same->faces.end(), found->faces.begin(), found->faces.end());
      }
      break;
    }
  }
  for (const Found& found : all) draft.Add("hub_keyway", found.keyway, found.faces);
}

}  // namespace fitwright::recognize
