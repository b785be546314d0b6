#include "fitwright/recognize/rebuild_check.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

using solid::Solid;

// Share of the volume up to which two solids are one.
constexpr double kSameShare = 1e-6;
// How far off its place a face of the rebuilt solid may lie.
constexpr double kFaceOff_mm = 0.01;

struct Rebuilt {
  Solid solid;
  double difference_mm3 = 0;
};

std::optional<Rebuilt> Rebuild(const Part& part, const Solid& solid_P) {
  const Result<Solid> built = solid::MakeDesign(part);
  if (!built) return std::nullopt;
  if (solid::HaveSameBoundary(*built, solid_P)) return Rebuilt{*built, 0};
  const Result<double> difference = solid::CalcSymmetricDifference_mm3(*built, solid_P);
  if (!difference) return std::nullopt;
  return Rebuilt{*built, *difference};
}

bool Removes(const Feature& feature) {
  return !std::holds_alternative<PlanarFace>(feature.shape) && !std::holds_alternative<OuterDiameter>(feature.shape);
}

void Drop(Draft& draft, const FeatureId& name) {
  for (const std::size_t f : draft.faces[name]) draft.taken[f] = false;
  draft.faces.erase(name);
  std::erase_if(draft.part.features, [&](const Feature& f) { return f.name == name; });
  std::erase_if(draft.inferred, [&](const Inference& i) { return i.where.starts_with("features." + name.text() + "."); });
}

// Breaks of a hole's edge go with the hole.
void DropWithBreaks(Draft& draft, const FeatureId& name) {
  std::vector<FeatureId> breaks;
  for (const Feature& feature : draft.part.features) {
    const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape);
    if (chamfer != nullptr && chamfer->on == name) breaks.push_back(feature.name);
  }
  for (const FeatureId& b : breaks) Drop(draft, b);
  Drop(draft, name);
}

void DropWhatCutsMetal(Draft& draft, const TakesOnlyAir& takes_only_air) {
  std::vector<FeatureId> wrong;
  for (const Feature& feature : draft.part.features) {
    if (Removes(feature) && !takes_only_air(draft.part, feature)) wrong.push_back(feature.name);
  }
  for (const FeatureId& name : wrong) {
    if (draft.part.Find(name) != nullptr) DropWithBreaks(draft, name);
  }
}

// Whether the solid's boundary passes within kFaceOff_mm of the middle of the face, looking its way.
bool HasFace(const Solid& rebuilt, const PlacedFace& face) {
  const Vec3 off = kFaceOff_mm * face.normal_P;
  return solid::IsInside(rebuilt, face.inner_P_mm - off) && !solid::IsInside(rebuilt, face.inner_P_mm + off);
}

void ReleaseMissing(Draft& draft, const Solid& rebuilt) {
  for (auto& [name, faces] : draft.faces) {
    std::erase_if(faces, [&](std::size_t f) {
      if (HasFace(rebuilt, draft.graph.faces[f])) return false;
      draft.taken[f] = false;
      return true;
    });
  }
}

Box3 BoxOf(const PlacedGraph& graph, const std::vector<std::size_t>& faces) {
  Box3 box{Vec3::Constant(1e300), Vec3::Constant(-1e300)};
  for (const std::size_t f : faces) {
    for (int axis = 0; axis < 3; ++axis) {
      const auto span = SpanAlong(graph, f, Vec3::Unit(axis));
      const double inner = graph.faces[f].inner_P_mm[axis];
      box.min_mm[axis] = std::min(box.min_mm[axis], span ? span->from_mm : inner);
      box.max_mm[axis] = std::max(box.max_mm[axis], span ? span->to_mm : inner);
    }
  }
  return box;
}

double Apart(const Box3& a, const Box3& b) {
  const Vec3 gap = (a.min_mm - b.max_mm).cwiseMax(b.min_mm - a.max_mm).cwiseMax(0);
  return gap.norm();
}

// Free faces that touch each other make one region.
std::vector<UnreadRegion> GroupUnread(const Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  std::vector<bool> seen = draft.taken;
  std::vector<UnreadRegion> regions;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (seen[f]) continue;
    UnreadRegion region;
    region.faces = {f};
    seen[f] = true;
    for (std::size_t i = 0; i < region.faces.size(); ++i) {
      for (const std::size_t e : graph.faces[region.faces[i]].edges) {
        const std::size_t next = graph.edges[e].Other(region.faces[i]);
        if (seen[next]) continue;
        seen[next] = true;
        region.faces.push_back(next);
      }
    }
    for (const std::size_t face : region.faces) region.area_mm2 += graph.faces[face].area_mm2;
    region.why = "no feature of a sheet fits these faces";
    regions.push_back(std::move(region));
  }
  return regions;
}

// Each piece of the difference counts for the region that it lies nearest to.
void ShareOut(const PlacedGraph& graph, const Solid& rest, std::vector<UnreadRegion>& regions) {
  const Result<std::vector<Solid>> pieces = solid::SplitPieces(rest);
  if (!pieces) return;
  for (const Solid& piece : *pieces) {
    const double volume = solid::CalcVolume_mm3(piece);
    const Box3 box = solid::CalcBox(piece);
    UnreadRegion* nearest = nullptr;
    double least = 1e300;
    for (UnreadRegion& region : regions) {
      const double apart = Apart(box, BoxOf(graph, region.faces));
      if (apart >= least) continue;
      least = apart;
      nearest = &region;
    }
    if (nearest != nullptr) nearest->volume_mm3 += volume;
  }
}

void MeasureUnread(const PlacedGraph& graph, const Solid& solid_P, const std::optional<Rebuilt>& rebuilt,
                   std::vector<UnreadRegion>& regions) {
  if (!rebuilt || regions.empty()) return;
  const Result<Solid> more = solid::Cut(rebuilt->solid, {solid_P});
  const Result<Solid> less = solid::Cut(solid_P, {rebuilt->solid});
  if (more && !more->empty()) ShareOut(graph, *more, regions);
  if (less && !less->empty()) ShareOut(graph, *less, regions);
}

}  // namespace

Status ProveReading(Draft& draft, const Solid& solid_P, const TakesOnlyAir& takes_only_air,
                    PartReading& reading) {
  const double same_mm3 = kSameShare * solid::CalcVolume_mm3(solid_P);
  std::optional<Rebuilt> rebuilt = Rebuild(draft.part, solid_P);
  if (!rebuilt || rebuilt->difference_mm3 > same_mm3) {
    DropWhatCutsMetal(draft, takes_only_air);
    rebuilt = Rebuild(draft.part, solid_P);
  }
  const bool whole = rebuilt && rebuilt->difference_mm3 <= same_mm3;
  if (rebuilt && !whole) ReleaseMissing(draft, rebuilt->solid);
  reading.unread = GroupUnread(draft);
  if (!rebuilt) {
    for (UnreadRegion& region : reading.unread) region.why = "no sound solid comes of what was read";
  }
  if (!whole) MeasureUnread(draft.graph, solid_P, rebuilt, reading.unread);
  reading.part = draft.part;
  reading.inferred = draft.inferred;
  const auto& sources = draft.graph.sources;
  for (const auto& [name, faces] : draft.faces) {
    for (const std::size_t f : faces) reading.faces[name].push_back(sources[f]);
  }
  for (UnreadRegion& region : reading.unread) {
    for (std::size_t& f : region.faces) f = sources[f];
  }
  return Ok{};
}

}  // namespace fitwright::recognize
