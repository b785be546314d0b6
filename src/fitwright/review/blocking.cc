#include "fitwright/review/blocking.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/review/bores.h"

namespace fitwright::review {
namespace {

constexpr double kPitch_mm = 1.5;
// Off the round figures that drawn edges stand on.
constexpr double kOffsetU_mm = 0.3719;
constexpr double kOffsetV_mm = 0.6143;
constexpr int kLinesThatBlock = 2;

// ways[2 k] is a direction and ways[2 k + 1] its opposite.
std::vector<Vec3> WaysOf(const Machine& machine) {
  std::vector<Vec3> ways;
  const auto add = [&](const Vec3& way) {
    const bool known = std::any_of(ways.begin(), ways.end(), [&](const Vec3& w) {
      return w.cross(way).norm() < kSameDirection;
    });
    if (known) return;
    ways.push_back(way);
    ways.push_back(-way);
  };
  for (const Vec3& axis : {Vec3(Vec3::UnitZ()), Vec3(Vec3::UnitX()), Vec3(Vec3::UnitY())})
    add(axis);
  for (const Joint& joint : machine.joints) {
    const Feature* feature = machine.Find(joint.moving);
    const auto X_WP = machine.FindPlace(joint.moving.part);
    if (feature == nullptr || !X_WP) continue;
    if (const auto* face = std::get_if<PlanarFace>(&feature->shape))
      add(X_WP->linear() * face->normal_P);
    if (const auto* hole = std::get_if<Hole>(&feature->shape)) add(X_WP->linear() * hole->into_P);
    if (const auto* outer = std::get_if<OuterDiameter>(&feature->shape)) {
      add(X_WP->linear() * outer->axis_P.direction);
    }
  }
  return ways;
}

}  // namespace

bool Joins(const Joint& joint, const PartId& a, const PartId& b) {
  return (joint.fixed.part == a && joint.moving.part == b) ||
         (joint.fixed.part == b && joint.moving.part == a);
}

bool Springs(const Machine& machine, const Piece& ring, const Piece& holder) {
  if (ring.bought != nullptr && ring.bought->kind == BoughtKind::kCirclip) {
    return SitsInGroove(ring, holder);
  }
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kRingInGroove && j.moving.part == ring.id &&
           j.fixed.part == holder.id;
  });
}

namespace {

// Made into one before they go in.
bool StayTogether(const Machine& machine, const Piece& a, const Piece& b) {
  if (Springs(machine, a, b) || Springs(machine, b, a)) return true;
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return Joins(j, a.id, b.id) && (j.kind == JointKind::kBonded || j.kind == JointKind::kPressFit);
  });
}

// Out of the bore at its one end with a lead; nothing where neither or both have one.
std::optional<Vec3> LeadOut_W(const Machine& machine, const Joint& slide) {
  for (const FeatureRef& ref : {slide.fixed, slide.moving}) {
    const Part* part = machine.FindPart(ref.part);
    const Feature* feature = machine.Find(ref);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    const auto X_WP = machine.FindPlace(ref.part);
    if (part == nullptr || hole == nullptr || !X_WP) continue;
    bool at_start = false;
    bool at_end = false;
    for (const Feature& f : part->features) {
      const auto* chamfer = std::get_if<RoundChamfer>(&f.shape);
      if (chamfer != nullptr && chamfer->on == ref.feature) (chamfer->at_start ? at_start : at_end) = true;
    }
    if (at_start != at_end) return X_WP->linear() * (at_start ? Vec3(-hole->into_P) : hole->into_P);
  }
  return std::nullopt;
}

}  // namespace

Blocking::Blocking(const Machine& machine, const std::vector<Piece>& pieces)
    : pieces_(pieces), ways_(WaysOf(machine)), count_(pieces.size()) {
  ahead_.assign(ways_.size(), std::vector<Indices>(count_));
  together_.assign(count_, {});
  for (std::size_t p = 0; p < count_; ++p) {
    for (std::size_t q = 0; q < count_; ++q) {
      if (p != q && StayTogether(machine, pieces_[p], pieces_[q])) together_[p].push_back(q);
    }
  }
  for (std::size_t w = 0; w < ways_.size(); w += 2) Look(w);
  for (auto& way : ahead_) {
    for (std::size_t p = 0; p < count_; ++p) {
      std::erase_if(way[p], [&](std::size_t q) {
        return Springs(machine, pieces_[p], pieces_[q]) ||
               Springs(machine, pieces_[q], pieces_[p]);
      });
    }
  }
  KeepToTheLead(machine);
  KeepToTheNearEnd(machine);
}

Indices Blocking::Closure(const Indices& start, std::size_t way, const std::vector<bool>& left,
                          bool whole) const {
  std::vector<bool> in(count_, false);
  Indices open = start;
  for (const std::size_t p : start) in[p] = true;
  const auto take = [&](const Indices& others) {
    for (const std::size_t q : others) {
      if (!left[q] || in[q]) continue;
      in[q] = true;
      open.push_back(q);
    }
  };
  for (std::size_t i = 0; i < open.size(); ++i) {
    const std::size_t p = open[i];
    take(ahead_[way][p]);
    if (whole) take(together_[p]);
  }
  std::sort(open.begin(), open.end());
  return open;
}

void Blocking::Look(std::size_t way) {
  Vec3 u;
  Vec3 v;
  MakeSquare(ways_[way], u, v);
  const std::vector<Span> spans = SpansAcross(u, v);
  std::vector<int> lines(count_ * count_, 0);
  Vec2 low = Vec2::Constant(1e9);
  Vec2 high = Vec2::Constant(-1e9);
  for (const Span& s : spans) {
    low = low.cwiseMin(s.low);
    high = high.cwiseMax(s.high);
  }
  for (double a = low.x() + kOffsetU_mm; a < high.x(); a += kPitch_mm) {
    std::vector<Span> near;
    std::copy_if(spans.begin(), spans.end(), std::back_inserter(near),
                 [&](const Span& s) { return s.low.x() < a && a < s.high.x(); });
    if (near.size() < 2) continue;
    for (double b = low.y() + kOffsetV_mm; b < high.y(); b += kPitch_mm) {
      LookAlong(ways_[way], a * u + b * v, b, near, lines);
    }
  }
  for (std::size_t p = 0; p < count_; ++p) {
    for (std::size_t q = 0; q < count_; ++q) {
      if (lines[p * count_ + q] < kLinesThatBlock) continue;
      ahead_[way][p].push_back(q);
      ahead_[way + 1][q].push_back(p);
    }
  }
}

std::vector<Blocking::Span> Blocking::SpansAcross(const Vec3& u, const Vec3& v) const {
  std::vector<Span> spans;
  for (std::size_t p = 0; p < count_; ++p) {
    const Vec3 middle = pieces_[p].box_W.centre_mm();
    const Vec3 half = 0.5 * pieces_[p].box_W.size_mm();
    const Vec2 at(u.dot(middle), v.dot(middle));
    const Vec2 reach(u.cwiseAbs().dot(half), v.cwiseAbs().dot(half));
    spans.push_back({p, at - reach, at + reach});
  }
  return spans;
}

void Blocking::LookAlong(const Vec3& way, const Vec3& p_W, double b, const std::vector<Span>& near,
               std::vector<int>& lines) const {
  std::vector<std::pair<std::size_t, std::vector<Stretch>>> met;
  Indices here;
  for (const Span& s : near) {
    if (s.low.y() < b && b < s.high.y()) here.push_back(s.piece);
  }
  if (here.size() < 2) return;
  for (const std::size_t piece : here) {
    const Pose X_PW = pieces_[piece].X_WP.inverse();
    auto metal = MetalAlong(*pieces_[piece].part, X_PW * p_W, X_PW.linear() * way);
    if (!metal.empty()) met.emplace_back(piece, std::move(metal));
  }
  for (const auto& [p, mine] : met) {
    for (const auto& [q, other] : met) {
      if (p == q) continue;
      const bool ahead =
          std::any_of(other.begin(), other.end(), [&, &own = mine](const Stretch& o) {
            return std::any_of(own.begin(), own.end(),
                               [&](const Stretch& s) { return o.from_mm > s.to_mm - kTouch_mm; });
          });
      if (ahead) ++lines[p * count_ + q];
    }
  }
}

// A ring is closed by the lead of the bore that it runs in: it comes and goes by that end alone, where only one has
// a lead.
void Blocking::KeepToTheLead(const Machine& machine) {
  for (const Joint& slide : machine.joints) {
    if (slide.kind != JointKind::kSliderInBore) continue;
    const auto out_W = LeadOut_W(machine, slide);
    if (!out_W) continue;
    for (const Joint& groove : machine.joints) {
      const PartId& holder = groove.fixed.part;
      if (groove.kind != JointKind::kRingInGroove || (slide.fixed.part != holder && slide.moving.part != holder)) continue;
      const std::size_t ring = IndexOf(groove.moving.part);
      const std::size_t barrel = IndexOf(slide.fixed.part == holder ? slide.moving.part : slide.fixed.part);
      if (ring == count_ || barrel == count_) continue;
      for (std::size_t way = 0; way < ways_.size(); ++way) {
        if (ways_[way].dot(*out_W) > kSameDirection - 1) continue;
        ahead_[way][ring].push_back(barrel);
        ahead_[way ^ 1U][barrel].push_back(ring);
      }
    }
  }
}

std::size_t Blocking::IndexOf(const PartId& id) const {
  std::size_t at = 0;
  while (at < count_ && pieces_[at].id != id) ++at;
  return at;
}

// A ring is spread over the end of its holder that is nearer, past as few grooves as can be.
void Blocking::KeepToTheNearEnd(const Machine& machine) {
  for (const Joint& joint : machine.joints) {
    const Feature* feature = joint.kind == JointKind::kRingInGroove ? machine.Find(joint.fixed) : nullptr;
    const auto* groove = feature == nullptr ? nullptr : std::get_if<Groove>(&feature->shape);
    const std::size_t ring = IndexOf(joint.moving.part);
    const std::size_t holder = IndexOf(joint.fixed.part);
    if (groove == nullptr || groove->internal || ring == count_ || holder == count_) continue;
    const Vec3& axis = groove->axis_P.direction;
    const Box3 box = CalcEnvelope(*pieces_[holder].part);
    const double middle = groove->axis_P.point_mm.dot(axis) + 0.5 * (groove->from_mm + groove->to_mm);
    const bool near_high = box.centre_mm().dot(axis) < middle;
    const Vec3 far_W = pieces_[holder].X_WP.linear() * (near_high ? Vec3(-axis) : axis);
    for (std::size_t way = 0; way < ways_.size(); ++way) {
      if (ways_[way].dot(far_W) > kSameDirection - 1) ahead_[way][ring].push_back(holder);
    }
  }
}

}  // namespace fitwright::review
