#include "fitwright/planner/measure_share.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <vector>

#include "fitwright/planner/directions.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/trade/general_tolerance.h"

namespace fitwright::planner {
namespace {

constexpr double kSameWay = 1 - 1e-6;
constexpr double kAlike_mm = 0.02;

bool Along(const Vec3& a, const Vec3& b) { return std::abs(a.dot(b)) > kSameWay; }
bool Across(const Vec3& a, const Vec3& b) { return std::abs(a.dot(b)) < 1 - kSameWay; }

// Where a face, or an axis that lies across, stands along n_P.
std::optional<double> PlaceAlong(const Feature& feature, const Vec3& n_P) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) {
    if (!Along(face->normal_P, n_P)) return std::nullopt;
    return n_P.dot(face->normal_P) * face->at.middle_mm();
  }
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    if (!Across(hole->into_P, n_P) || hole->entries_P_mm.size() != 1) return std::nullopt;
    return n_P.dot(hole->entries_P_mm.front());
  }
  const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
  if (outer == nullptr || !Across(outer->axis_P.direction, n_P)) return std::nullopt;
  return n_P.dot(outer->axis_P.point_mm);
}

double FaceHalf_mm(const Feature& feature) {
  const auto* face = std::get_if<PlanarFace>(&feature.shape);
  if (face == nullptr || (IsAsSupplied(feature) && face->at.origin == LimitsOrigin::kGeneralTolerance)) return 0;
  return face->at.width_mm() / 2;
}

struct Edge {
  FeatureRef from;
  FeatureRef to;
  double play_mm = 0;  // either way
};

struct Link {
  PartId part;
  FeatureRef in;
  FeatureRef out;
  double a_mm = 0;  // along n in P
  double b_mm = 0;
  Vec3 n_P = Vec3::UnitZ();
  double own_mm = 0;  // half of the limits that it has anyway
  bool given = false;  // bought, or as supplied
};

struct Chain {
  std::vector<Link> links;
  double play_mm = 0;
};

Vec3 InPart(const Machine& machine, const PartId& part, const Vec3& v_W) {
  return machine.FindPlace(part).value_or(Pose::Identity()).linear().transpose() * v_W;
}

bool Places(const Machine& machine, const FeatureRef& ref, const Vec3& n_W) {
  const Feature* feature = machine.Find(ref);
  return feature != nullptr && PlaceAlong(*feature, InPart(machine, ref.part, n_W)).has_value();
}

std::vector<Edge> EdgesAlong(const Machine& machine, const Vec3& n_W) {
  std::vector<Edge> edges;
  const auto add = [&](const FeatureRef& a, const FeatureRef& b, double play_mm) {
    if (!Places(machine, a, n_W) || !Places(machine, b, n_W)) return;
    edges.push_back({a, b, play_mm});
    edges.push_back({b, a, play_mm});
  };
  for (const Joint& joint : machine.joints) {
    if (IsFaceJoint(joint.kind) || IsRoundJoint(joint.kind)) add(joint.fixed, joint.moving, 0);
  }
  for (const Requirement& r : machine.requirements) {
    if (r.kind != RequirementKind::kEndFloat) continue;
    for (const auto& [a, b] : r.gaps) add(a, b, r.upper.value_or(0) / 2);
  }
  return edges;
}

std::optional<Link> LinkOf(const Machine& machine, const FeatureRef& in, const FeatureRef& out, const Vec3& n_W) {
  const Part* part = machine.FindPart(in.part);
  const Feature* a = machine.Find(in);
  const Feature* b = machine.Find(out);
  if (part == nullptr || a == nullptr || b == nullptr) return std::nullopt;
  Link link;
  link.part = in.part;
  link.in = in;
  link.out = out;
  link.n_P = InPart(machine, in.part, n_W);
  const auto at_a = PlaceAlong(*a, link.n_P);
  const auto at_b = PlaceAlong(*b, link.n_P);
  if (!at_a || !at_b) return std::nullopt;
  link.a_mm = *at_a;
  link.b_mm = *at_b;
  link.given = machine.FindBought(SheetIdOf(in.part)) != nullptr || (IsAsSupplied(*a) && IsAsSupplied(*b));
  link.own_mm = FaceHalf_mm(*a) + FaceHalf_mm(*b);
  const auto general = trade::GeneralTolerance_mm(std::abs(link.a_mm - link.b_mm), part->general_tolerance);
  const bool faces = std::holds_alternative<PlanarFace>(a->shape) && std::holds_alternative<PlanarFace>(b->shape);
  if (!faces && general) link.own_mm = *general;
  return link;
}

// The shortest way from a to b; joints in the order of the file.
std::optional<Chain> ChainOf(const Machine& machine, const FeatureRef& a, const FeatureRef& b, const Vec3& n_W) {
  const std::vector<Edge> edges = EdgesAlong(machine, n_W);
  std::map<PartId, const Edge*> came;
  std::deque<PartId> open = {a.part};
  came[a.part] = nullptr;
  while (!open.empty() && !came.contains(b.part)) {
    const PartId at = open.front();
    open.pop_front();
    for (const Edge& edge : edges) {
      if (edge.from.part == at && came.emplace(edge.to.part, &edge).second) open.push_back(edge.to.part);
    }
  }
  if (!came.contains(b.part)) return std::nullopt;
  Chain chain;
  FeatureRef out = b;
  for (;;) {
    const Edge* edge = came.at(out.part);
    const auto link = LinkOf(machine, edge == nullptr ? a : edge->to, out, n_W);
    if (!link) return std::nullopt;
    if (std::abs(link->a_mm - link->b_mm) > kSame_mm) chain.links.push_back(*link);
    if (edge == nullptr) return chain;
    chain.play_mm = std::max(chain.play_mm, edge->play_mm);
    out = edge->from;
  }
}

// Squares add; what has closer limits keeps them.
double ShareIn_mm(const Chain& chain, double half_mm, int& made) {
  double left = half_mm * half_mm - chain.play_mm * chain.play_mm;
  std::vector<double> own;
  for (const Link& link : chain.links) {
    if (link.given) left -= link.own_mm * link.own_mm;
    if (!link.given) own.push_back(link.own_mm);
  }
  made = static_cast<int>(own.size());
  std::sort(own.begin(), own.end());
  for (std::size_t i = 0; i < own.size(); ++i) {
    const double share = left > 0 ? std::sqrt(left / static_cast<double>(own.size() - i)) : 0;
    if (own[i] >= share) return share;
    left -= own[i] * own[i];
  }
  return 0;  // each keeps closer limits: nothing to say
}

// Half the window about what is drawn, and the direction; nothing for other kinds.
struct Window {
  double half_mm = 0;
  Vec3 n_W = Vec3::UnitZ();
};
std::optional<Window> WindowOf(const Machine& machine, const Requirement& r) {
  if (r.kind != RequirementKind::kDistance && r.kind != RequirementKind::kProud) return std::nullopt;
  const Feature* a = machine.Find(r.a);
  const Feature* b = machine.Find(r.b);
  const auto* face = b == nullptr ? nullptr : std::get_if<PlanarFace>(&b->shape);
  const auto* other = a == nullptr ? nullptr : std::get_if<PlanarFace>(&a->shape);
  if (face == nullptr || other == nullptr || r.a.part == r.b.part) return std::nullopt;
  Window window;
  const auto place = [&](const FeatureRef& ref, const PlanarFace& f) {
    const Pose X_WP = machine.FindPlace(ref.part).value_or(Pose::Identity());
    return Vec3(X_WP * Vec3(f.normal_P * f.at.middle_mm()));
  };
  window.n_W = machine.FindPlace(r.b.part).value_or(Pose::Identity()).linear() * face->normal_P;
  const double drawn = window.n_W.dot(place(r.a, *other) - place(r.b, *face));
  window.half_mm = std::min(r.upper ? *r.upper - drawn : 1e9, r.lower ? drawn - *r.lower : 1e9);
  return window.half_mm > 0 && window.half_mm < 1e8 ? std::optional(window) : std::nullopt;
}

// takes: what the distance gets of a link between two levels, given its requirement and its share; nothing where it does
// not read the link.
template <typename Takes>
std::optional<DistanceShare> LeastShare(const Machine& machine, const Part& part, const Vec3& n_P, const Settled& settled, const Takes& takes) {
  std::optional<DistanceShare> least;
  for (const Requirement& r : machine.requirements) {
    const auto window = WindowOf(machine, r);
    if (!window || std::find(settled.begin(), settled.end(), r.name) != settled.end()) continue;
    const auto chain = ChainOf(machine, r.a, r.b, window->n_W);
    if (!chain) continue;
    for (const Link& link : chain->links) {
      if (SheetIdOf(link.part) != part.name || link.given || !Along(link.n_P, n_P)) continue;
      const double sense = link.n_P.dot(n_P) > 0 ? 1 : -1;
      int made = 0;
      const double whole = ShareIn_mm(*chain, window->half_mm, made);
      const std::optional<DistanceShare> share = takes(link, sense, DistanceShare{r.name, whole, made - 1, {}});
      if (share && share->half_mm > 0 && share->half_mm < link.own_mm && (!least || share->half_mm < least->half_mm)) least = share;
    }
  }
  return least;
}

// A level by the middle of its limits, or as drawn.
bool Same(double a, double b) { return std::abs(a - b) < kAlike_mm; }

}  // namespace

std::optional<DistanceShare> ShareOfDistance(const Machine& machine, const Part& part, const Vec3& n_P, double a_mm, double b_mm, const Settled& settled) {
  return LeastShare(machine, part, n_P, settled, [&](const Link& link, double sense, const DistanceShare& whole) {
    const double a = sense * link.a_mm;
    const double b = sense * link.b_mm;
    return (Same(a, a_mm) && Same(b, b_mm)) || (Same(a, b_mm) && Same(b, a_mm)) ? std::optional(whole) : std::nullopt;
  });
}

std::optional<DistanceShare> ShareOfDepth(const Machine& machine, const Part& part, const Vec3& n_P, double end_mm, double level_mm, const Settled& settled) {
  if (auto whole = ShareOfDistance(machine, part, n_P, end_mm, level_mm, settled)) return whole;
  return LeastShare(machine, part, n_P, settled, [&](const Link& link, double sense, const DistanceShare& whole) -> std::optional<DistanceShare> {
    const double a = sense * link.a_mm;
    const double b = sense * link.b_mm;
    const bool under = a < end_mm - kSame_mm && b < end_mm - kSame_mm;
    if (!under || (!Same(a, level_mm) && !Same(b, level_mm))) return std::nullopt;
    DistanceShare share = whole;
    share.half_mm *= std::sqrt(0.5);
    share.reads = ReadsBetween{Same(a, level_mm) ? link.out.feature : link.in.feature, std::abs(a - b), whole.half_mm};
    return share;
  });
}

std::vector<DistanceTerm> TermsOfDistance(const Machine& machine, const Requirement& requirement) {
  const auto window = WindowOf(machine, requirement);
  const auto chain = window ? ChainOf(machine, requirement.a, requirement.b, window->n_W) : std::nullopt;
  if (!chain) return {};
  std::vector<DistanceTerm> terms;
  for (auto link = chain->links.rbegin(); link != chain->links.rend(); ++link) terms.push_back({link->in, link->out, link->a_mm - link->b_mm, link->given});
  return terms;
}

std::optional<DistanceShare> ShareOfMeeting(const Machine& machine, const FeatureRef& bore, const Vec3& n_P) {
  for (const Requirement& r : machine.requirements) {
    if (r.kind != RequirementKind::kAxesMeet || !r.upper || r.a.part != r.b.part || (r.a != bore && r.b != bore)) continue;
    const Feature* a = machine.Find(r.a);
    const Feature* b = machine.Find(r.b);
    if (a == nullptr || b == nullptr) continue;
    if (PlaceAlong(*a, n_P) && PlaceAlong(*b, n_P))
      return DistanceShare{r.name, *r.upper / 2, 1, ReadsBetween{r.a == bore ? r.b.feature : r.a.feature, 0, *r.upper}};
  }
  return std::nullopt;
}

}  // namespace fitwright::planner
