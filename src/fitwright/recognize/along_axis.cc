// What runs along the axis of turned work without being round: flats and a hub's keyway.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/model/shapes.h"
#include "fitwright/recognize/outer_profile.h"

namespace fitwright::recognize {
namespace {

using solid::Bend;

const Axis3 kAxis{Vec3::Zero(), Vec3::UnitZ()};

struct Flat {
  Vec3 normal = Vec3::UnitX();
  double distance_mm = 0;
  Span span;
  std::vector<std::size_t> faces;
};

// A plane along the axis, outside of it, that bends inward nowhere but at shoulders square to the axis.
std::optional<Flat> MakeFlat(const Draft& draft, std::size_t f) {
  const PlacedGraph& graph = draft.graph;
  const PlacedFace& face = graph.faces[f];
  if (!draft.IsFree(f) || !IsPlane(face) || !IsSquareTo(face.axis_P.direction, Vec3::UnitZ())) return std::nullopt;
  Flat flat;
  flat.normal = face.axis_P.direction;
  flat.distance_mm = PlaceOf(face);
  if (flat.distance_mm <= kSamePlace_mm) return std::nullopt;
  flat.span = *SpanAlong(graph, f, Vec3::UnitZ());
  flat.faces = {f};
  for (const std::size_t e : face.edges) {
    const PlacedEdge& edge = graph.edges[e];
    if (edge.bend == Bend::kConvex) continue;
    const PlacedFace& beside = graph.faces[edge.Other(f)];
    const bool shoulder = IsPlane(beside) && IsAlong(beside.axis_P.direction, Vec3::UnitZ());
    if (!shoulder || edge.bend == Bend::kTangent) return std::nullopt;
    flat.faces.push_back(edge.Other(f));
  }
  return flat;
}

bool Alike(const Flat& a, const Flat& b) {
  return IsSame(a.distance_mm, b.distance_mm) && IsSame(a.span.from_mm, b.span.from_mm) && IsSame(a.span.to_mm, b.span.to_mm);
}

double AngleOf(const Flat& flat) {
  const double angle = std::atan2(flat.normal.y(), flat.normal.x());
  return angle < -kSameWay_rad ? angle + 2 * kPi : std::max(angle, 0.0);
}

bool AreEven(const std::vector<Flat>& flats) {
  const std::size_t count = flats.size();
  if (count > 6 || count == 5) return false;
  const double step = 2 * kPi / static_cast<double>(count);
  for (std::size_t i = 1; i < count; ++i) {
    const double off = AngleOf(flats[i]) - AngleOf(flats[0]) - step * static_cast<double>(i);
    if (std::abs(off) > kSameWay_rad) return false;
  }
  return true;
}

void AddFlats(Draft& draft, const std::vector<Flat>& group) {
  Flats flats;
  const Flat& first = group.front();
  flats.axis_P = kAxis;
  flats.from_mm = Tidy(first.span.from_mm);
  flats.to_mm = Tidy(first.span.to_mm);
  flats.first_normal_P = first.normal;
  // A sheet names the side that one of them looks to.
  for (const Flat& flat : group) {
    if (AlongAxis(flat.normal) && !AlongAxis(flats.first_normal_P)) flats.first_normal_P = flat.normal;
  }
  flats.count = static_cast<int>(group.size());
  const bool odd = flats.count == 1 || flats.count == 3;
  const double outside = CoveringDiameter(draft.part, kAxis, flats.from_mm, flats.to_mm);
  flats.across = DrawnSize(odd ? first.distance_mm + 0.5 * outside : 2 * first.distance_mm);
  std::vector<std::size_t> faces;
  for (const Flat& flat : group) faces.insert(faces.end(), flat.faces.begin(), flat.faces.end());
  draft.Add("flats", flats, faces);
}

// The keyway on whose floor the face lies: the floor looks at the axis between two walls.
std::optional<Keyway> MakeHubKeyway(const Draft& draft, std::size_t f, std::vector<std::size_t>& faces) {
  const PlacedGraph& graph = draft.graph;
  const PlacedFace& floor = graph.faces[f];
  if (!draft.IsFree(f) || !IsPlane(floor) || !IsSquareTo(floor.axis_P.direction, Vec3::UnitZ())) return std::nullopt;
  if (PlaceOf(floor) >= -kSamePlace_mm) return std::nullopt;
  Keyway keyway;
  keyway.internal = true;
  keyway.axis_P = kAxis;
  keyway.side_P = -floor.axis_P.direction;
  keyway.floor_mm = Tidy(-PlaceOf(floor));
  const Span span = *SpanAlong(graph, f, Vec3::UnitZ());
  keyway.from_mm = Tidy(span.from_mm);
  keyway.to_mm = Tidy(span.to_mm);
  faces = {f};
  double width = 0;
  for (const std::size_t e : floor.edges) {
    const PlacedEdge& edge = graph.edges[e];
    const PlacedFace& wall = graph.faces[edge.Other(f)];
    if (edge.bend != Bend::kConcave) continue;
    if (!IsPlane(wall) || !IsSquareTo(wall.axis_P.direction, keyway.side_P) || !IsSquareTo(wall.axis_P.direction, Vec3::UnitZ())) return std::nullopt;
    width += std::abs(PlaceOf(wall));
    faces.push_back(edge.Other(f));
  }
  if (faces.size() != 3) return std::nullopt;
  keyway.width = DrawnSize(width);
  return keyway;
}

}  // namespace

void ReadFlats(Draft& draft) {
  std::vector<std::vector<Flat>> groups;
  for (std::size_t f = 0; f < draft.graph.faces.size(); ++f) {
    const auto flat = MakeFlat(draft, f);
    if (!flat) continue;
    auto group = std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return Alike(g.front(), *flat); });
    if (group == groups.end()) group = groups.insert(groups.end(), std::vector<Flat>{});
    group->push_back(*flat);
  }
  std::stable_sort(groups.begin(), groups.end(), [](const auto& a, const auto& b) {
    return a.front().span.middle_mm() < b.front().span.middle_mm();
  });
  for (std::vector<Flat>& group : groups) {
    std::stable_sort(group.begin(), group.end(), [](const Flat& a, const Flat& b) { return AngleOf(a) < AngleOf(b); });
    if (AreEven(group)) {
      AddFlats(draft, group);
    } else {
      for (const Flat& flat : group) AddFlats(draft, {flat});
    }
  }
}

void ReadHubKeyways(Draft& draft) {
  struct Found {
    Keyway keyway;
    std::vector<std::size_t> faces;
  };
  std::vector<Found> all;
  for (std::size_t f = 0; f < draft.graph.faces.size(); ++f) {
    std::vector<std::size_t> faces;
    const auto keyway = MakeHubKeyway(draft, f, faces);
    if (!keyway) continue;
    // A recess of the bore parts one keyway in two.
    auto same = std::find_if(all.begin(), all.end(), [&](const Found& other) {
      return IsSame(other.keyway.floor_mm, keyway->floor_mm) && other.keyway.side_P.dot(keyway->side_P) > 1 - kSameWay_rad &&
             IsSame(other.keyway.width.nominal_mm, keyway->width.nominal_mm);
    });
    if (same == all.end()) {
      all.push_back({*keyway, faces});
      continue;
    }
    same->keyway.from_mm = std::min(same->keyway.from_mm, keyway->from_mm);
    same->keyway.to_mm = std::max(same->keyway.to_mm, keyway->to_mm);
    same->faces.insert(same->faces.end(), faces.begin(), faces.end());
  }
  for (const Found& found : all) draft.Add("hub_keyway", found.keyway, found.faces);
}

}  // namespace fitwright::recognize
