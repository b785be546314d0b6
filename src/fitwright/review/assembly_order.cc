#include "fitwright/review/assembly_order.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/review/bores.h"
#include "fitwright/review/metal.h"

namespace fitwright::review {
namespace {

constexpr double kPitch_mm = 1.5;
// Off the round figures that drawn edges stand on.
constexpr double kOffsetU_mm = 0.3719;
constexpr double kOffsetV_mm = 0.6143;
constexpr int kLinesThatBlock = 2;
// Parts that touch may be drawn this far inside each other.
constexpr double kTouch_mm = 0.1;
constexpr double kSameDirection = 1e-6;

using Indices = std::vector<std::size_t>;

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

bool Joins(const Joint& joint, const PartId& a, const PartId& b) {
  return (joint.fixed.part == a && joint.moving.part == b) ||
         (joint.fixed.part == b && joint.moving.part == a);
}

// A piston ring or a circlip, and the part in whose groove it sits.
bool Springs(const Machine& machine, const Piece& ring, const Piece& holder) {
  if (ring.bought != nullptr && ring.bought->kind == BoughtKind::kCirclip) {
    return SitsInGroove(ring, holder);
  }
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kRingInGroove && j.moving.part == ring.id &&
           j.fixed.part == holder.id;
  });
}

// Made into one before they go in.
bool StayTogether(const Machine& machine, const Piece& a, const Piece& b) {
  if (Springs(machine, a, b) || Springs(machine, b, a)) return true;
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return Joins(j, a.id, b.id) && (j.kind == JointKind::kBonded || j.kind == JointKind::kPressFit);
  });
}

// Which piece stands in the way of which, for each way.
class Blocking {
 public:
  Blocking(const Machine& machine, const std::vector<Piece>& pieces)
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
  }

  const std::vector<Vec3>& ways() const { return ways_; }
  // What `start` takes along when it moves, of those that are `left`; ascending. whole: and what
  // was bonded, pressed or sprung together beforehand.
  Indices Closure(std::size_t start, std::size_t way, const std::vector<bool>& left,
                  bool whole) const {
    std::vector<bool> in(count_, false);
    Indices open = {start};
    in[start] = true;
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

 private:
  struct Span {
    std::size_t piece = 0;
    Vec2 low = Vec2::Zero();
    Vec2 high = Vec2::Zero();
  };

  void Look(std::size_t way) {
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

  std::vector<Span> SpansAcross(const Vec3& u, const Vec3& v) const {
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

  void LookAlong(const Vec3& way, const Vec3& p_W, double b, const std::vector<Span>& near,
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

  const std::vector<Piece>& pieces_;
  std::vector<Vec3> ways_;
  std::size_t count_;
  std::vector<std::vector<Indices>> ahead_;  // way, piece: what it would run into
  std::vector<Indices> together_;
};

struct Removal {
  Indices group;
  std::size_t way = 0;
  Indices left;  // after it
};

class TakingApart {
 public:
  TakingApart(const Machine& machine, const std::vector<Piece>& pieces, const Blocking& blocking)
      : machine_(machine), pieces_(pieces), blocking_(blocking) {}

  // False when some of the set cannot be taken apart; `locked` then says which.
  bool Run(Indices set, std::vector<Removal>& removals, Indices& locked) const {
    while (set.size() > 1) {
      std::vector<bool> left(pieces_.size(), false);
      for (const std::size_t p : set) left[p] = true;
      const auto removal = Smallest(set, left);
      if (!removal) {
        locked = set;
        return false;
      }
      std::erase_if(set, [&](std::size_t p) {
        return std::binary_search(removal->group.begin(), removal->group.end(), p);
      });
      removals.push_back(*removal);
      removals.back().left = set;
      if (!Run(removal->group, removals, locked)) return false;
    }
    return true;
  }

 private:
  // Never with the set's first piece in it. Faces are lifted off each other rather than slid, and
  // what was put together beforehand stays so, while there is a way; of equal groups the one later
  // in the file.
  std::optional<Removal> Smallest(const Indices& set, const std::vector<bool>& left) const {
    for (const auto& [whole, may_slide] : {std::pair(true, false), std::pair(true, true),
                                           std::pair(false, false), std::pair(false, true)}) {
      std::optional<Removal> best;
      for (auto p = set.rbegin(); p + 1 != set.rend(); ++p) {
        for (std::size_t way = 0; way < blocking_.ways().size(); ++way) {
          Indices group = blocking_.Closure(*p, way, left, whole);
          if (group.front() == set.front()) continue;
          if (best && group.size() >= best->group.size()) continue;
          if (!may_slide && Slides(group, blocking_.ways()[way], left)) continue;
          best = Removal{std::move(group), way, {}};
        }
      }
      if (best) return best;
    }
    return std::nullopt;
  }

  // Along a face that touches one of what is left.
  bool Slides(const Indices& group, const Vec3& way, const std::vector<bool>& left) const {
    const auto moves = [&](const PartId& id) {
      return std::any_of(group.begin(), group.end(),
                         [&](std::size_t p) { return pieces_[p].id == id; });
    };
    const auto stays = [&](const PartId& id) {
      for (std::size_t p = 0; p < pieces_.size(); ++p) {
        if (pieces_[p].id == id) return left[p] && !moves(id);
      }
      return false;
    };
    return std::any_of(machine_.joints.begin(), machine_.joints.end(), [&](const Joint& j) {
      if (!IsFaceJoint(j.kind)) return false;
      const bool parts = (moves(j.fixed.part) && stays(j.moving.part)) ||
                         (moves(j.moving.part) && stays(j.fixed.part));
      const Feature* feature = parts ? machine_.Find(j.fixed) : nullptr;
      const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
      const auto X_WP = machine_.FindPlace(j.fixed.part);
      if (face == nullptr || !X_WP) return false;
      return std::abs(way.dot(X_WP->linear() * face->normal_P)) < 1 - kSameDirection;
    });
  }

  const Machine& machine_;
  const std::vector<Piece>& pieces_;
  const Blocking& blocking_;
};

bool BoxesTouch(const Box3& a, const Box3& b) {
  return (a.min_mm.array() < b.max_mm.array() + kTouch_mm).all() &&
         (b.min_mm.array() < a.max_mm.array() + kTouch_mm).all();
}

std::vector<PartId> OntoWhat(const Machine& machine, const std::vector<Piece>& pieces,
                             const Removal& removal) {
  std::vector<PartId> onto;
  for (const std::size_t q : removal.left) {
    const bool joined =
        std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
          return std::any_of(removal.group.begin(), removal.group.end(),
                             [&](std::size_t p) { return Joins(j, pieces[p].id, pieces[q].id); });
        });
    if (joined) onto.push_back(pieces[q].id);
  }
  if (!onto.empty()) return onto;
  for (const std::size_t q : removal.left) {
    const bool touches =
        std::any_of(removal.group.begin(), removal.group.end(),
                    [&](std::size_t p) { return BoxesTouch(pieces[p].box_W, pieces[q].box_W); });
    if (touches) onto.push_back(pieces[q].id);
  }
  return onto;
}

}  // namespace

AssemblyOrder FindAssemblyOrder(const Machine& machine) {
  AssemblyOrder order;
  const std::vector<Piece> pieces = PiecesOf(machine);
  if (pieces.empty()) return order;
  const Blocking blocking(machine, pieces);
  Indices all(pieces.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  std::vector<Removal> removals;
  Indices locked;
  order.first = {pieces.front().id};
  if (!TakingApart(machine, pieces, blocking).Run(all, removals, locked)) {
    for (const std::size_t p : locked) order.locked.push_back(pieces[p].id);
    return order;
  }
  for (auto removal = removals.rbegin(); removal != removals.rend(); ++removal) {
    AssemblyStep step;
    for (const std::size_t p : removal->group) step.parts.push_back(pieces[p].id);
    step.direction_W = -blocking.ways()[removal->way];
    step.onto = OntoWhat(machine, pieces, *removal);
    order.steps.push_back(std::move(step));
  }
  return order;
}

}  // namespace fitwright::review
