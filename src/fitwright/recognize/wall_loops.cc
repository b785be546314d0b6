#include "fitwright/recognize/wall_loops.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace fitwright::recognize {
namespace {

// An upright edge at the level.
struct Post {
  std::size_t edge = 0;
  Vec2 at = Vec2::Zero();
  double order = 0;  // along the wall's way, or the angle about its axis
};

struct Joint {
  WallStretch stretch;
  std::size_t end_edge = 0;
};
using Joints = std::map<std::size_t, Joint>;  // by the edge where they begin

bool IsUpright(const PlacedEdge& edge, int axis) {
  const Vec3 way = edge.end_P_mm - edge.start_P_mm;
  return edge.kind == solid::CurveKind::kLine && way.norm() > kSamePlace_mm &&
         IsAlong(way.normalized(), Vec3::Unit(axis));
}

bool Reaches(const PlacedEdge& edge, int axis, double level) {
  const double a = edge.start_P_mm[axis];
  const double b = edge.end_P_mm[axis];
  return level > std::min(a, b) && level < std::max(a, b);
}

std::vector<Post> PostsOf(const PlacedGraph& graph, std::size_t f, int axis, double level) {
  std::vector<Post> posts;
  for (const std::size_t e : graph.faces[f].edges) {
    const PlacedEdge& edge = graph.edges[e];
    if (!IsUpright(edge, axis) || !Reaches(edge, axis, level)) continue;
    posts.push_back({e, Across(edge.start_P_mm, axis), 0});
  }
  return posts;
}

void SortPosts(std::vector<Post>& posts) {
  std::sort(posts.begin(), posts.end(),
            [](const Post& a, const Post& b) { return a.order < b.order; });
}

void AddPlane(const PlacedGraph& graph, std::size_t f, int axis, std::vector<Post> posts,
              Joints& joints) {
  const Vec2 normal = Across(graph.faces[f].axis_P.direction, axis);
  const Vec2 way(-normal.y(), normal.x());
  for (Post& post : posts) post.order = way.dot(post.at);
  SortPosts(posts);
  for (std::size_t i = 0; i + 1 < posts.size(); i += 2) {
    joints[posts[i].edge] = {{f, posts[i].at, posts[i + 1].at, 0}, posts[i + 1].edge};
  }
}

double Angle(const Vec2& v) { return std::atan2(v.y(), v.x()); }
double Positive(double angle) { return angle < 0 ? angle + 2 * kPi : angle; }

// Gaps between the posts are wall and air in turn; the face's own inner point tells which.
void AddCylinder(const PlacedGraph& graph, std::size_t f, int axis, std::vector<Post> posts,
                 Joints& joints) {
  const PlacedFace& face = graph.faces[f];
  const Vec2 centre = Across(face.axis_P.point_mm, axis);
  for (Post& post : posts) post.order = Positive(Angle(post.at - centre));
  SortPosts(posts);
  const double inner = Positive(Angle(Across(face.inner_P_mm, axis) - centre));
  const std::size_t count = posts.size();
  const auto turn_of = [&](std::size_t i) {
    return Positive(posts[(i + 1) % count].order - posts[i].order);
  };
  std::size_t first = count;
  for (std::size_t i = 0; i < count; ++i) {
    if (Positive(inner - posts[i].order) < turn_of(i)) first = i;
  }
  if (first == count) return;
  for (std::size_t k = 0; k < count; k += 2) {
    const std::size_t i = (first + k) % count;
    const Post& a = posts[i];
    const Post& b = posts[(i + 1) % count];
    if (face.hollow)
      joints[b.edge] = {{f, b.at, a.at, -turn_of(i)}, a.edge};
    else
      joints[a.edge] = {{f, a.at, b.at, turn_of(i)}, b.edge};
  }
}

}  // namespace

Vec2 Across(const Vec3& p, int axis) { return {p[(axis + 1) % 3], p[(axis + 2) % 3]}; }

bool StandsAlong(const PlacedFace& face, int axis) {
  const Vec3 up = Vec3::Unit(axis);
  return IsPlane(face) ? IsSquareTo(face.axis_P.direction, up)
                       : IsCylinder(face) && IsAlong(face.axis_P.direction, up);
}

std::vector<WallLoop> FindWallLoops(const PlacedGraph& graph, int axis, double level_mm) {
  Joints joints;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (!StandsAlong(graph.faces[f], axis)) continue;
    std::vector<Post> posts = PostsOf(graph, f, axis, level_mm);
    if (posts.empty() || posts.size() % 2 != 0) continue;
    if (IsPlane(graph.faces[f]))
      AddPlane(graph, f, axis, std::move(posts), joints);
    else
      AddCylinder(graph, f, axis, std::move(posts), joints);
  }
  std::vector<WallLoop> loops;
  while (!joints.empty()) {
    const std::size_t start = joints.begin()->first;
    std::size_t at = start;
    WallLoop loop;
    do {
      const auto next = joints.find(at);
      if (next == joints.end()) break;
      loop.push_back(next->second.stretch);
      at = next->second.end_edge;
      joints.erase(next);
    } while (at != start);
    if (at == start && loop.size() > 1) loops.push_back(std::move(loop));
  }
  return loops;
}

std::vector<double> ChooseLevels(const PlacedGraph& graph, int axis, std::size_t most) {
  std::vector<double> ends;
  for (const PlacedEdge& edge : graph.edges) {
    if (!IsUpright(edge, axis)) continue;
    ends.push_back(edge.start_P_mm[axis]);
    ends.push_back(edge.end_P_mm[axis]);
  }
  std::sort(ends.begin(), ends.end());
  std::vector<Span> gaps;
  for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
    if (ends[i + 1] - ends[i] > 10 * kSamePlace_mm) gaps.push_back({ends[i], ends[i + 1]});
  }
  std::stable_sort(gaps.begin(), gaps.end(), [](const Span& a, const Span& b) {
    return a.length_mm() > b.length_mm() + kSamePlace_mm;
  });
  if (gaps.size() > most) gaps.resize(most);
  std::vector<double> levels;
  for (const Span& gap : gaps) levels.push_back(gap.middle_mm());
  return levels;
}

}  // namespace fitwright::recognize
