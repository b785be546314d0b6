#include "fitwright/recognize/rebuild_check.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/solid/believed_cut.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/inside_probe.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

using solid::Solid;

// How far off its place a face of the rebuilt solid may lie.
constexpr double kFaceOff_mm = 0.01;

struct Rebuilt {
  Solid solid;
  bool whole = false;  // the file's solid
};

std::optional<Rebuilt> Rebuild(const Part& part, const Witness& witness) {
  // Where the faces agree, nothing else is asked of the cut.
  bool same = false;
  const Result<Solid> built = solid::MakeDesign(
      part, [&](const Solid& left) { return same = witness.HasBoundaryOf(left); });
  if (!built) return std::nullopt;
  if (same) return Rebuilt{*built, true};
  const auto difference = witness.Compare(*built, {});
  if (!difference) return std::nullopt;
  return Rebuilt{*built, difference->whole_mm3 <= difference->same_mm3};
}

bool Removes(const Feature& feature) {
  return !std::holds_alternative<PlanarFace>(feature.shape) &&
         !std::holds_alternative<OuterDiameter>(feature.shape);
}

// Whether any did.
bool DropWhatCutsMetal(Draft& draft, Witness& witness) {
  std::vector<FeatureId> wrong;
  for (const Feature& feature : draft.part.features) {
    if (!Removes(feature)) continue;
    const bool cuts = witness.spent() ? witness.IsSeenInMetal(draft.part, feature)
                                      : !witness.TakesOnlyAir(draft.part, feature);
    if (cuts) wrong.push_back(feature.name);
  }
  for (const FeatureId& name : wrong) {
    draft.Drop(name, "");
  }
  return !wrong.empty();
}

// Whether the solid's boundary passes within kFaceOff_mm of the middle of the face, looking its
// way.
bool HasFace(const solid::InsideProbe& rebuilt, const PlacedFace& face) {
  const Vec3 off = kFaceOff_mm * face.normal_P;
  return rebuilt.IsInside(face.inner_P_mm - off) && !rebuilt.IsInside(face.inner_P_mm + off);
}

void ReleaseMissing(Draft& draft, const Solid& rebuilt_P) {
  const solid::InsideProbe rebuilt(rebuilt_P);
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

std::string WhyOf(const Draft& draft, const std::vector<std::size_t>& faces) {
  for (const std::size_t f : faces) {
    const auto known = draft.why.find(f);
    if (known != draft.why.end()) return known->second;
  }
  return "no feature of a sheet fits these faces";
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
    region.why = WhyOf(draft, region.faces);
    regions.push_back(std::move(region));
  }
  return regions;
}

void MeasureUnread(const PlacedGraph& graph, const Witness& witness, const Rebuilt& rebuilt,
                   std::vector<UnreadRegion>& regions) {
  if (regions.empty()) return;
  std::vector<Box3> boxes;
  for (const UnreadRegion& region : regions) boxes.push_back(BoxOf(graph, region.faces));
  const auto difference = witness.Compare(rebuilt.solid, boxes);
  for (std::size_t i = 0; difference && i < regions.size(); ++i)
    regions[i].volume_mm3 = difference->regions_mm3[i];
}

void AddSources(const PlacedGraph& graph, const std::vector<std::size_t>& faces,
                std::vector<std::size_t>& sources) {
  for (const std::size_t f : faces)
    sources.insert(sources.end(), graph.sources[f].begin(), graph.sources[f].end());
}

}  // namespace

Status ProveReading(Draft& draft, Witness& witness, PartReading& reading) {
  std::optional<Rebuilt> rebuilt = Rebuild(draft.part, witness);
  if (!rebuilt || !rebuilt->whole) {
    if (DropWhatCutsMetal(draft, witness)) rebuilt = Rebuild(draft.part, witness);
  }
  const bool whole = rebuilt && rebuilt->whole;
  if (rebuilt && !whole) ReleaseMissing(draft, rebuilt->solid);
  reading.unread = GroupUnread(draft);
  if (!rebuilt) {
    for (UnreadRegion& region : reading.unread)
      region.why = "no sound solid comes of what was read";
  }
  if (rebuilt && !whole) MeasureUnread(draft.graph, witness, *rebuilt, reading.unread);
  reading.part = draft.part;
  reading.inferred = draft.inferred;
  for (const auto& [name, faces] : draft.faces) AddSources(draft.graph, faces, reading.faces[name]);
  for (UnreadRegion& region : reading.unread) {
    std::vector<std::size_t> sources;
    AddSources(draft.graph, region.faces, sources);
    region.faces = std::move(sources);
  }
  return Ok{};
}

}  // namespace fitwright::recognize
