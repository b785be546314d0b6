// Flats along the axis of turned work.
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

}  // namespace fitwright::recognize
