#include "fitwright/recognize/alike.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"

namespace fitwright::recognize {
namespace {

// A feature as numbers that do not move and things that do: points, directions, lines without a
// sense and planes, each with a number of its own.
struct Mark {
  enum class Kind { kPoint, kDirection, kLine, kPlane } kind = Kind::kPoint;
  Vec3 v = Vec3::Zero();  // plane: the normal
  double own = 0;
  double at_mm = 0;  // plane: normal . p
};
struct Trace {
  std::size_t kind = 0;  // place in FeatureShape
  std::vector<double> numbers;
  std::vector<Mark> marks;
};

using MarkKind = Mark::Kind;

Vec3 AlongOf(const Axis3& axis, double mm) { return axis.point_mm + mm * axis.direction; }

struct Tracer {
  const Part& part;
  Trace trace = {};

  void Point(const Vec3& p, double own = 0) {
    trace.marks.push_back({MarkKind::kPoint, p, own, 0});
  }
  void Direction(const Vec3& d, double own = 0) {
    trace.marks.push_back({MarkKind::kDirection, d, own, 0});
  }
  void Line(const Vec3& d) { trace.marks.push_back({MarkKind::kLine, d, 0, 0}); }
  void Ends(const Axis3& axis, double from_mm, double to_mm, double at_from = 0, double at_to = 0) {
    Point(AlongOf(axis, from_mm), at_from);
    Point(AlongOf(axis, to_mm), at_to);
  }
  void Plane(const PlanarFace& face, double own = 0) {
    trace.marks.push_back({MarkKind::kPlane, face.normal_P, own, face.at.middle_mm()});
  }
  void Add(std::initializer_list<double> numbers) {
    trace.numbers.insert(trace.numbers.end(), numbers);
  }

  void operator()(const PlanarFace& f) { Plane(f); }
  void operator()(const Hole& h) {
    Add({h.diameter.middle_mm(), h.depth_mm, h.through ? -1.0 : static_cast<double>(h.bottom),
         h.thread ? h.thread->major_mm : 0, h.thread ? h.thread->pitch_mm : 0,
         h.thread ? h.thread->depth_mm : 0});
    for (const Vec3& entry : h.entries_P_mm) Point(entry);
    Direction(h.into_P);
  }
  void operator()(const OuterDiameter& o) {
    Add({o.diameter.middle_mm()});
    Ends(o.axis_P, o.from_mm, o.to_mm);
  }
  void operator()(const Slot& s) {
    Add({s.length_mm, s.width.middle_mm(), s.depth_mm});
    Point(s.centre_P_mm);
    Direction(s.into_P);
    Line(s.along_P);
  }
  void operator()(const Pocket& p) {
    Add({p.corner_radius_mm, p.depth_mm});
    const Vec3 across = p.into_P.cross(p.along_P);
    for (const double u : {-0.5, 0.5}) {
      for (const double v : {-0.5, 0.5})
        Point(p.centre_P_mm + u * p.length_mm * p.along_P + v * p.width_mm * across);
    }
    Direction(p.into_P);
  }
  void operator()(const StepCut& s) {
    for (int corner = 0; corner < 8; ++corner) {
      Vec3 p = s.removed_P.min_mm;
      for (int k = 0; k < 3; ++k) {
        if ((corner >> k & 1) != 0) p[k] = s.removed_P.max_mm[k];
      }
      Point(p);
    }
  }
  void operator()(const EdgeChamfer& c) {
    Add({c.rounded ? 1.0 : 0.0});
    for (const auto& [name, leg_mm] :
         {std::pair{c.face_a, c.leg_a_mm}, std::pair{c.face_b, c.leg_b_mm}}) {
      const Feature* face = part.Find(name);
      if (face != nullptr && std::holds_alternative<PlanarFace>(face->shape))
        Plane(std::get<PlanarFace>(face->shape), leg_mm);
    }
  }
  // The rims of a hole or of an outer diameter at one end.
  void Rims(const FeatureId& on, bool at_start) {
    const Feature* feature = part.Find(on);
    if (feature == nullptr) return;
    if (const auto* hole = std::get_if<Hole>(&feature->shape)) {
      for (const Vec3& entry : hole->entries_P_mm)
        Point(at_start ? entry : Vec3(entry + hole->depth_mm * hole->into_P));
    } else if (const auto* outer = std::get_if<OuterDiameter>(&feature->shape)) {
      Point(AlongOf(outer->axis_P, at_start ? outer->from_mm : outer->to_mm));
    }
  }
  void operator()(const RoundChamfer& c) {
    Add({c.axial_mm, c.radial_mm, c.rounded ? 1.0 : 0.0});
    Rims(c.on, c.at_start);
  }
  void operator()(const Groove& g) {
    Add({g.internal ? 1.0 : 0.0, g.diameter.middle_mm(), static_cast<double>(g.profile),
         g.vee_deg});
    Ends(g.axis_P, g.from_mm, g.to_mm);
  }
  void operator()(const Flats& f) {
    Add({f.across.middle_mm(), static_cast<double>(f.count)});
    Ends(f.axis_P, f.from_mm, f.to_mm);
    for (int i = 0; i < f.count; ++i) Direction(FlatNormal(f, i));
  }
  void operator()(const Taper& t) {
    Add({t.internal ? 1.0 : 0.0});
    Ends(t.axis_P, t.from_mm, t.to_mm, t.start_diameter.middle_mm(), t.end_diameter.middle_mm());
  }
  void operator()(const ExternalThread& t) {
    Add({t.length_mm, t.major_mm, t.pitch_mm});
    Rims(t.on, t.at_start);
  }
  void operator()(const Keyway& k) {
    Add({k.internal ? 1.0 : 0.0, k.width.middle_mm(), k.floor_mm});
    Ends(k.axis_P, k.from_mm, k.to_mm);
    Direction(k.side_P);
  }
  void operator()(const Knurl& k) {
    Add({k.pitch_mm, static_cast<double>(k.pattern)});
    const Feature* on = part.Find(k.on);
    const auto* outer = on == nullptr ? nullptr : std::get_if<OuterDiameter>(&on->shape);
    if (outer != nullptr) Ends(outer->axis_P, k.from_mm, k.to_mm);
  }
  void operator()(const Marking& m) {
    Add({m.height_mm, m.depth_mm, static_cast<double>(m.text.size())});
    Point(m.at_P_mm);
    Direction(m.into_P);
  }
  void operator()(const Outline& o) {
    Add({o.inside_radius_mm});
    const auto place = [&](const Vec2& p) {
      return Vec3(o.origin_P_mm + p.x() * o.u_P + p.y() * o.v_P);
    };
    for (const auto& disc : o.discs) Point(place(disc.centre_mm), disc.diameter_mm);
    for (const auto& bar : o.bars) {
      Point(place(bar.a_mm), -bar.width_mm);
      Point(place(bar.b_mm), -bar.width_mm);
    }
    Add({o.depth_mm, o.within ? 1.0 : 0.0});
    for (std::size_t i = 0; i < o.line.size(); ++i) {
      Point(place(o.line[i].at_mm), 0);
      Point(place(MiddleOf(o.line, i)), 1);
    }
    Line(o.into_P);
  }
};

std::vector<Trace> TracesOf(const Part& part) {
  std::vector<Trace> traces;
  for (const Feature& feature : part.features) {
    Tracer tracer{part};
    std::visit(tracer, feature.shape);
    tracer.trace.kind = feature.shape.index();
    traces.push_back(std::move(tracer.trace));
  }
  for (const UnreadRegion& region : part.unread) {
    traces.push_back({std::variant_size_v<FeatureShape>, {region.area_mm2, region.volume_mm3}, {}});
  }
  return traces;
}

struct Motion {
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();  // may mirror
  Vec3 shift = Vec3::Zero();
};

Mark Moved(const Mark& mark, const Motion& motion) {
  Mark moved = mark;
  moved.v = motion.turn * mark.v;
  if (mark.kind == MarkKind::kPoint) moved.v += motion.shift;
  if (mark.kind == MarkKind::kPlane) moved.at_mm += moved.v.dot(motion.shift);
  return moved;
}

bool Near(double a, double b) { return std::abs(a - b) < kDrawnAlike_mm; }

bool SameMark(const Mark& a, const Mark& b) {
  if (a.kind != b.kind || !Near(a.own, b.own) || !Near(a.at_mm, b.at_mm)) return false;
  if ((a.v - b.v).norm() < kDrawnAlike_mm) return true;
  return a.kind == MarkKind::kLine && (a.v + b.v).norm() < kDrawnAlike_mm;
}

bool SameTrace(const Trace& a, const Trace& b, const Motion& motion) {
  if (a.kind != b.kind || a.numbers.size() != b.numbers.size() || a.marks.size() != b.marks.size())
    return false;
  if (!std::equal(a.numbers.begin(), a.numbers.end(), b.numbers.begin(), Near)) return false;
  std::vector<bool> taken(b.marks.size(), false);
  return std::all_of(a.marks.begin(), a.marks.end(), [&](const Mark& mark) {
    const Mark moved = Moved(mark, motion);
    for (std::size_t i = 0; i < b.marks.size(); ++i) {
      if (taken[i] || !SameMark(moved, b.marks[i])) continue;
      taken[i] = true;
      return true;
    }
    return false;
  });
}

bool Matches(const std::vector<Trace>& a, const std::vector<Trace>& b, const Motion& motion) {
  std::vector<bool> taken(b.size(), false);
  return std::all_of(a.begin(), a.end(), [&](const Trace& trace) {
    for (std::size_t i = 0; i < b.size(); ++i) {
      if (taken[i] || !SameTrace(trace, b[i], motion)) continue;
      taken[i] = true;
      return true;
    }
    return false;
  });
}

// The 48 ways to lay x, y and z along themselves; those that turn least come first.
std::vector<Eigen::Matrix3d> Ways(bool mirrored) {
  std::vector<Eigen::Matrix3d> ways;
  std::array<int, 3> order{0, 1, 2};
  do {
    for (int signs = 0; signs < 8; ++signs) {
      Eigen::Matrix3d way = Eigen::Matrix3d::Zero();
      for (int k = 0; k < 3; ++k)
        way(order[static_cast<std::size_t>(k)], k) = (signs >> k & 1) != 0 ? -1 : 1;
      if ((way.determinant() < 0) == mirrored) ways.push_back(way);
    }
  } while (std::next_permutation(order.begin(), order.end()));
  std::stable_sort(ways.begin(), ways.end(),
                   [](const auto& a, const auto& b) { return a.trace() > b.trace(); });
  return ways;
}

std::optional<Motion> FindWay(const Part& a, const Part& b, bool mirrored) {
  if (a.features.size() != b.features.size() || a.unread.size() != b.unread.size())
    return std::nullopt;
  const Box3 box_a = CalcEnvelope(a);
  const Box3 box_b = CalcEnvelope(b);
  const auto traces_a = TracesOf(a);
  const auto traces_b = TracesOf(b);
  for (const Eigen::Matrix3d& way : Ways(mirrored)) {
    if (((way * box_a.size_mm()).cwiseAbs() - box_b.size_mm()).norm() > kDrawnAlike_mm) continue;
    const Motion motion{way, box_b.centre_mm() - way * box_a.centre_mm()};
    if (Matches(traces_a, traces_b, motion)) return motion;
  }
  return std::nullopt;
}

// What lies between each mark of `a` and the nearest of `b` that is left; nothing where one looks
// another way.
std::optional<double> BetweenMarks_mm(const std::vector<Mark>& a, std::vector<Mark> b) {
  double sum_mm = 0;
  for (const Mark& mark : a) {
    std::optional<std::size_t> nearest;
    double least_mm = 0;
    for (std::size_t i = 0; i < b.size(); ++i) {
      if (b[i].kind != mark.kind) continue;
      const bool point = mark.kind == MarkKind::kPoint;
      const bool turned = (b[i].v - mark.v).norm() > kDrawnAlike_mm &&
                          !(mark.kind == MarkKind::kLine && (b[i].v + mark.v).norm() < kDrawnAlike_mm);
      if (!point && turned) continue;
      const double mm = std::abs(b[i].own - mark.own) + std::abs(b[i].at_mm - mark.at_mm) +
                        (point ? (b[i].v - mark.v).norm() : 0);
      if (nearest && mm >= least_mm) continue;
      nearest = i;
      least_mm = mm;
    }
    if (!nearest) return std::nullopt;
    sum_mm += least_mm;
    b.erase(b.begin() + static_cast<std::ptrdiff_t>(*nearest));
  }
  return sum_mm;
}

Trace TraceWithoutThread(const Part& part, Feature feature) {
  if (auto* hole = std::get_if<Hole>(&feature.shape)) hole->thread.reset();
  Tracer tracer{part};
  std::visit(tracer, feature.shape);
  tracer.trace.kind = feature.shape.index();
  return tracer.trace;
}

}  // namespace

std::optional<FeatureDistance> FindDistance(const Part& a, const Feature& of_a, const Part& b,
                                            const Feature& of_b) {
  const Trace one = TraceWithoutThread(a, of_a);
  const Trace two = TraceWithoutThread(b, of_b);
  if (one.kind != two.kind || one.numbers.size() != two.numbers.size() ||
      one.marks.size() != two.marks.size())
    return std::nullopt;
  FeatureDistance distance;
  for (std::size_t i = 0; i < one.numbers.size(); ++i)
    distance.sizes_mm += std::abs(one.numbers[i] - two.numbers[i]);
  const auto places_mm = BetweenMarks_mm(one.marks, two.marks);
  if (!places_mm) return std::nullopt;
  distance.places_mm = *places_mm;
  return distance;
}

std::optional<Pose> FindMotion(const Part& a, const Part& b) {
  const auto way = FindWay(a, b, false);
  if (!way) return std::nullopt;
  Pose pose = Pose::Identity();
  pose.linear() = way->turn;
  pose.translation() = way->shift;
  return pose;
}

std::optional<MirrorMotion> FindMirror(const Part& a, const Part& b) {
  if (FindWay(a, b, false)) return std::nullopt;
  const auto way = FindWay(a, b, true);
  if (!way) return std::nullopt;
  // The plane whose mirror image then turns least.
  MirrorMotion best;
  double most = -10;
  for (int axis = 0; axis < 3; ++axis) {
    Eigen::Matrix3d mirror = Eigen::Matrix3d::Identity();
    mirror(axis, axis) = -1;
    const Eigen::Matrix3d turn = way->turn * mirror;
    if (turn.trace() <= most + 1e-9) continue;
    most = turn.trace();
    best.axis = axis;
    best.X_BM.linear() = turn;
    best.X_BM.translation() = way->shift;
  }
  return best;
}

}  // namespace fitwright::recognize
