#include "fitwright/recognize/threads.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/solid/measure.h"
#include "fitwright/trade/threads.h"

namespace fitwright::recognize {
namespace {

using solid::SurfaceKind;

// Flanks of one thread agree to this much, modelled by sweeping as they are.
constexpr double kAxisOff_mm = 0.02;
constexpr double kPitchOff = 0.02;  // of the pitch
// A thread's crest or root may be off the tables by this much of its pitch: flats and clearances
// differ between modellers (opinion).
constexpr double kSizeOff_pitches = 0.3;
constexpr double kRingRoom_mm = 0.05;

struct Group {
  Axis3 axis;
  double pitch_mm = 0;  // above 0 right-handed
  std::set<std::size_t> faces;
  Span radius;
  Span span;
};

bool IsHelical(const PlacedFace& face) { return face.kind == SurfaceKind::kHelical; }

std::vector<Vec3> PointsOf(const PlacedGraph& graph, std::size_t f) {
  std::vector<Vec3> points = {graph.faces[f].inner_P_mm};
  for (const std::size_t e : graph.faces[f].edges) {
    const PlacedEdge& edge = graph.edges[e];
    points.insert(points.end(), {edge.start_P_mm, edge.middle_P_mm, edge.end_P_mm});
  }
  return points;
}

Span AlongOf(const Axis3& axis, const std::vector<Vec3>& points) {
  Span span{1e300, -1e300};
  for (const Vec3& p : points) {
    const double at = axis.direction.dot(p - axis.point_mm);
    span = {std::min(span.from_mm, at), std::max(span.to_mm, at)};
  }
  return span;
}

// Coaxial helical faces of one pitch, no more than a turn apart.
std::vector<Group> GroupFlanks(const PlacedGraph& graph) {
  std::vector<Group> groups;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!IsHelical(face)) continue;
    Group* into = nullptr;
    for (Group& g : groups) {
      const Span span = AlongOf(g.axis, PointsOf(graph, f));
      const double pitch = std::abs(g.pitch_mm);
      const bool same = g.axis.direction.cross(face.axis_P.direction).norm() < 5e-3 &&
                        DistanceFromAxis(g.axis, face.inner_P_mm) < g.radius.to_mm + pitch &&
                        std::abs(DistanceFromAxis(g.axis, face.axis_P.point_mm)) <
                            kAxisOff_mm + 0.01 * g.radius.to_mm &&
                        std::abs(g.pitch_mm - face.pitch_mm) < kPitchOff * pitch &&
                        span.from_mm < g.span.to_mm + pitch && span.to_mm > g.span.from_mm - pitch;
      if (same && into == nullptr) into = &g;
    }
    if (into == nullptr) {
      groups.push_back({face.axis_P, face.pitch_mm, {}, {1e300, 0}, {1e300, -1e300}});
      into = &groups.back();
    }
    const Span span = AlongOf(into->axis, PointsOf(graph, f));
    into->faces.insert(f);
    into->radius = {std::min(into->radius.from_mm, face.radius_mm),
                    std::max(into->radius.to_mm, face.reach_mm)};
    into->span = {std::min(into->span.from_mm, span.from_mm),
                  std::max(into->span.to_mm, span.to_mm)};
  }
  return groups;
}

// Crests, roots, ends of turns: small faces beside the flanks that reach nowhere out of their ring.
bool LiesInRing(const PlacedGraph& graph, const Group& group, std::size_t f) {
  const PlacedFace& face = graph.faces[f];
  const double pitch = std::abs(group.pitch_mm);
  const std::vector<Vec3> points = PointsOf(graph, f);
  for (const Vec3& p : points) {
    const double out = DistanceFromAxis(group.axis, p);
    if (out < group.radius.from_mm - kAxisOff_mm || out > group.radius.to_mm + kAxisOff_mm)
      return false;
  }
  const Span span = AlongOf(group.axis, points);
  if (span.from_mm < group.span.from_mm - 0.6 * pitch ||
      span.to_mm > group.span.to_mm + 0.6 * pitch)
    return false;
  if (!IsPlane(face))
    return face.kind != SurfaceKind::kCylinder || AreCoaxial(group.axis, face.axis_P) ||
           face.area_mm2 < pitch * pitch;
  return face.area_mm2 < pitch * (pitch + group.radius.length_mm());
}

void Grow(const PlacedGraph& graph, Group& group) {
  std::vector<std::size_t> front(group.faces.begin(), group.faces.end());
  while (!front.empty()) {
    const std::size_t f = front.back();
    front.pop_back();
    for (const std::size_t e : graph.faces[f].edges) {
      const std::size_t beside = graph.edges[e].Other(f);
      if (group.faces.count(beside) != 0 || !LiesInRing(graph, group, beside)) continue;
      group.faces.insert(beside);
      front.push_back(beside);
      const Span span = AlongOf(group.axis, PointsOf(graph, beside));
      group.span = {std::min(group.span.from_mm, span.from_mm),
                    std::max(group.span.to_mm, span.to_mm)};
    }
  }
}

// The axis of P that nearly all of a thread's flanks agree on.
Axis3 SettleAxis(const PlacedGraph& graph, const Group& group) {
  for (const std::size_t f : group.faces) {
    const PlacedFace& face = graph.faces[f];
    const bool round = face.kind == SurfaceKind::kCylinder;
    if (round && DistanceFromAxis(group.axis, face.axis_P.point_mm) < kAxisOff_mm)
      return face.axis_P;
  }
  for (const PlacedFace& face : graph.faces) {
    const bool round = face.kind == SurfaceKind::kCylinder || face.kind == SurfaceKind::kCone;
    const bool near = DistanceFromAxis(group.axis, face.axis_P.point_mm) < kAxisOff_mm &&
                      face.axis_P.direction.cross(group.axis.direction).norm() < 5e-3;
    if (round && near) return face.axis_P;
  }
  return group.axis;
}

const trade::ThreadRow* FindRow(const ModelledThread& thread) {
  const trade::ThreadRow* best = nullptr;
  double least = kSizeOff_pitches * thread.pitch_mm;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    if (std::abs(row->pitch_mm - thread.pitch_mm) > kPitchOff * thread.pitch_mm) continue;
    const double off = std::abs(row->major_mm - 2 * thread.radius.to_mm);
    if (off >= least) continue;
    least = off;
    best = row;
  }
  return best;
}

double BearingRadius_mm(const ModelledThread& thread) {
  if (!thread.internal) return thread.radius.to_mm;
  const trade::ThreadRow* row = FindRow(thread);
  return row != nullptr ? 0.5 * row->tap_drill_mm : thread.radius.from_mm;
}

ModelledThread MakeThread(const solid::Solid& solid_P, const PlacedGraph& graph,
                          const Group& group) {
  ModelledThread thread;
  thread.axis_P = SettleAxis(graph, group);
  std::vector<Vec3> points;
  for (const std::size_t f : group.faces) {
    const std::vector<Vec3> more = PointsOf(graph, f);
    points.insert(points.end(), more.begin(), more.end());
  }
  thread.span = AlongOf(thread.axis_P, points);
  thread.radius = group.radius;
  thread.pitch_mm = std::abs(group.pitch_mm);
  thread.left_handed = group.pitch_mm < 0;
  const Vec3 d = thread.axis_P.direction;
  const Vec3 under = thread.axis_P.point_mm + thread.span.middle_mm() * d +
                     0.98 * thread.radius.from_mm * d.unitOrthogonal();
  thread.internal = !solid::IsInside(solid_P, under);
  thread.known = FindRow(thread) != nullptr;
  const double bearing = BearingRadius_mm(thread);
  thread.ring = {std::min(thread.radius.from_mm, bearing) - kRingRoom_mm,
                 std::max(thread.radius.to_mm, bearing) + kRingRoom_mm};
  return thread;
}

PlacedFace MakeCylinder(const PlacedGraph& graph, const Group& group,
                        const ModelledThread& thread) {
  PlacedFace face;
  face.kind = SurfaceKind::kCylinder;
  face.axis_P = thread.axis_P;
  face.radius_mm = BearingRadius_mm(thread);
  face.hollow = thread.internal;
  face.turn_share = 1;
  const Vec3 out = thread.axis_P.direction.unitOrthogonal();
  face.inner_P_mm = thread.axis_P.point_mm + thread.span.middle_mm() * thread.axis_P.direction +
                    face.radius_mm * out;
  face.normal_P = thread.internal ? Vec3(-out) : out;
  for (const std::size_t f : group.faces) {
    face.area_mm2 += graph.faces[f].area_mm2;
    for (const std::size_t e : graph.faces[f].edges) {
      if (group.faces.count(graph.edges[e].Other(f)) == 0) face.edges.push_back(e);
    }
  }
  std::sort(face.edges.begin(), face.edges.end());
  face.edges.erase(std::unique(face.edges.begin(), face.edges.end()), face.edges.end());
  return face;
}

// The groups' faces go; each group's cylinder stands last. Edges between faces of one group are
// left without a bearer.
void Replace(const std::vector<Group>& groups, const std::vector<PlacedFace>& cylinders,
             PlacedGraph& graph) {
  std::vector<std::size_t> now(graph.faces.size());
  PlacedGraph kept;
  kept.box_P = graph.box_P;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const bool gone = std::any_of(groups.begin(), groups.end(),
                                  [&](const Group& g) { return g.faces.count(f) != 0; });
    now[f] = kept.faces.size();
    if (gone) continue;
    kept.faces.push_back(std::move(graph.faces[f]));
    kept.sources.push_back(std::move(graph.sources[f]));
  }
  for (std::size_t k = 0; k < groups.size(); ++k) {
    std::vector<std::size_t> sources;
    for (const std::size_t f : groups[k].faces) {
      now[f] = kept.faces.size();
      sources.insert(sources.end(), graph.sources[f].begin(), graph.sources[f].end());
    }
    kept.faces.push_back(cylinders[k]);
    kept.sources.push_back(std::move(sources));
  }
  kept.edges = std::move(graph.edges);
  for (PlacedEdge& edge : kept.edges) {
    edge.face_a = now[edge.face_a];
    edge.face_b = now[edge.face_b];
  }
  graph = std::move(kept);
}

std::string SizeOf(const ModelledThread& thread) {
  return fmt::format("{}pitch {:.4g} mm, {:.4g} mm over its {}",
                     thread.left_handed ? "left-handed, " : "", thread.pitch_mm,
                     2 * thread.radius.to_mm, thread.internal ? "roots" : "crests");
}

Feature* BearerOf(Draft& draft, std::size_t face) {
  for (const auto& [name, faces] : draft.faces) {
    if (std::find(faces.begin(), faces.end(), face) == faces.end()) continue;
    for (Feature& feature : draft.part.features) {
      if (feature.name == name) return &feature;
    }
  }
  return nullptr;
}

void NameInside(const ModelledThread& thread, const trade::ThreadRow& row, Feature& bearer,
                Draft& draft) {
  Hole& hole = std::get<Hole>(bearer.shape);
  InternalThread cut;
  cut.designation = std::string(row.designation);
  cut.major_mm = row.major_mm;
  cut.pitch_mm = row.pitch_mm;
  cut.depth_mm = Tidy(std::min(thread.span.length_mm(), hole.depth_mm));
  hole.thread = cut;
  hole.use = HoleUse::kHole;
  draft.Say(
      bearer.name, "thread",
      fmt::format("Modelled turn by turn ({}): taken for {}.", SizeOf(thread), row.designation));
}

void NameOutside(const ModelledThread& thread, const trade::ThreadRow& row, const Feature& bearer,
                 Draft& draft) {
  const OuterDiameter& outer = std::get<OuterDiameter>(bearer.shape);
  // The span counts from the axis' own point, the diameter from its own.
  const double shift = outer.axis_P.direction.dot(thread.axis_P.point_mm - outer.axis_P.point_mm);
  const double sense = outer.axis_P.direction.dot(thread.axis_P.direction) > 0 ? 1 : -1;
  const double a = shift + sense * thread.span.from_mm;
  const double b = shift + sense * thread.span.to_mm;
  ExternalThread cut;
  cut.on = bearer.name;
  cut.at_start = std::abs(std::min(a, b) - outer.from_mm) <= std::abs(std::max(a, b) - outer.to_mm);
  cut.length_mm = Tidy(std::min(std::abs(b - a), outer.to_mm - outer.from_mm));
  cut.designation = std::string(row.designation);
  cut.major_mm = row.major_mm;
  cut.pitch_mm = row.pitch_mm;
  std::vector<std::size_t>& faces = draft.faces[bearer.name];
  if (faces.size() > 1) {  // else the diameter would be left with none
    std::erase(faces, thread.face);
    draft.taken[thread.face] = false;
  }
  const FeatureId name = draft.Add("thread", cut, {thread.face});
  draft.Say(
      name, "designation",
      fmt::format("Modelled turn by turn ({}): taken for {}.", SizeOf(thread), row.designation));
}

}  // namespace

std::vector<ModelledThread> TakeThreads(const solid::Solid& solid_P, PlacedGraph& graph) {
  std::vector<Group> groups = GroupFlanks(graph);
  for (Group& group : groups) Grow(graph, group);
  std::erase_if(groups, [](const Group& g) { return g.span.length_mm() < std::abs(g.pitch_mm); });
  std::vector<ModelledThread> threads;
  std::vector<PlacedFace> cylinders;
  for (const Group& group : groups) {
    threads.push_back(MakeThread(solid_P, graph, group));
    cylinders.push_back(MakeCylinder(graph, group, threads.back()));
  }
  if (groups.empty()) return threads;
  Replace(groups, cylinders, graph);
  for (std::size_t k = 0; k < threads.size(); ++k)
    threads[k].face = graph.faces.size() - threads.size() + k;
  return threads;
}

void NameThreads(const std::vector<ModelledThread>& threads, Draft& draft) {
  for (const ModelledThread& thread : threads) {
    Feature* bearer = BearerOf(draft, thread.face);
    const trade::ThreadRow* row = FindRow(thread);
    const bool inside = bearer != nullptr && std::holds_alternative<Hole>(bearer->shape);
    const bool outside = bearer != nullptr && std::holds_alternative<OuterDiameter>(bearer->shape);
    if (row == nullptr || (!inside && !outside)) {
      draft.why[thread.face] = fmt::format(
          "a thread modelled turn by turn, {}{}", SizeOf(thread),
          row == nullptr ? ": no table here has it" : ", on nothing that was understood");
      if (bearer != nullptr) std::erase(draft.faces[bearer->name], thread.face);
      draft.taken[thread.face] = false;
    } else if (inside) {
      NameInside(thread, *row, *bearer, draft);
    } else {
      NameOutside(thread, *row, *bearer, draft);
    }
    if (thread.left_handed && bearer != nullptr) bearer = BearerOf(draft, thread.face);
    if (thread.left_handed && bearer != nullptr) bearer->note = "left-hand thread";
  }
}

}  // namespace fitwright::recognize
