#include "fitwright/review/assembly_order.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/review/carried.h"

namespace fitwright::review {
namespace {

struct Removal {
  Indices group;
  std::size_t way = 0;
  Indices left;                 // after it
  std::vector<Removal> within;  // how the group itself comes apart, first off first
};

// What a removal keeps to; the first that leaves a way is taken.
struct Manners {
  bool carried = true;  // nothing is left lying loose, and no screw is drawn through another part
  bool whole = true;    // what was put together beforehand stays so
  bool slide = false;   // faces that touch may slide on each other
};

Indices Without(const Indices& set, const Indices& group) {
  Indices rest;
  std::set_difference(set.begin(), set.end(), group.begin(), group.end(), std::back_inserter(rest));
  return rest;
}

bool BoxesTouch(const Box3& a, const Box3& b) {
  return (a.min_mm.array() < b.max_mm.array() + kTouch_mm).all() &&
         (b.min_mm.array() < a.max_mm.array() + kTouch_mm).all();
}

class TakingApart {
 public:
  TakingApart(const Machine& machine, const std::vector<Piece>& pieces, const Blocking& blocking,
              const Carried& carried)
      : machine_(machine), pieces_(pieces), blocking_(blocking), carried_(carried) {}

  // False when some of the set cannot be taken apart; `locked` then says which.
  bool Run(Indices set, bool on_bench, std::vector<Removal>& removals, Indices& locked) const {
    while (set.size() > 1) {
      auto removal = Smallest(set, on_bench);
      if (!removal) {
        locked = set;
        return false;
      }
      set = Without(set, removal->group);
      removal->left = set;
      if (!Run(removal->group, true, removal->within, locked)) return false;
      removals.push_back(*std::move(removal));
    }
    return true;
  }

 private:
  // Never with the set's first piece in it; of equal groups the one later in the file.
  std::optional<Removal> Smallest(const Indices& set, bool on_bench) const {
    for (const bool carried : {true, false}) {
      for (const bool whole : {true, false}) {
        for (const bool slide : {false, true}) {
          if (auto best = Smallest(set, on_bench, {carried, whole, slide})) return best;
        }
      }
    }
    return std::nullopt;
  }

  std::optional<Removal> Smallest(const Indices& set, bool on_bench, const Manners& manners) const {
    std::optional<Removal> best;
    for (auto p = set.rbegin(); p + 1 != set.rend(); ++p) {
      for (std::size_t way = 0; way < blocking_.ways().size(); ++way) {
        Indices group = GroupOf(*p, way, set, on_bench, manners);
        if (group.front() == set.front()) continue;
        if (best && group.size() >= best->group.size()) continue;
        if (!manners.slide && Slides(group, blocking_.ways()[way], set)) continue;
        if (manners.carried && carried_.KeepsScrewsShut(group, Without(set, group))) continue;
        best = Removal{std::move(group), way, {}, {}};
      }
    }
    return best;
  }

  // With what it runs into and, by the manners, with what would lie loose behind it.
  Indices GroupOf(std::size_t piece, std::size_t way, const Indices& set, bool on_bench,
                  const Manners& manners) const {
    std::vector<bool> left(pieces_.size(), false);
    for (const std::size_t p : set) left[p] = true;
    Indices group = blocking_.Closure({piece}, way, left, manners.whole);
    while (manners.carried && group.front() != set.front()) {
      const Indices loose = carried_.Loose(Without(set, group), on_bench);
      if (loose.empty()) break;
      group.insert(group.end(), loose.begin(), loose.end());
      group = blocking_.Closure(group, way, left, manners.whole);
    }
    return group;
  }

  // Along a face that touches one of what is left.
  bool Slides(const Indices& group, const Vec3& way, const Indices& set) const {
    const auto find = [&](const PartId& id) {
      return std::find_if(set.begin(), set.end(), [&](std::size_t p) { return pieces_[p].id == id; });
    };
    const bool by_joint = std::any_of(machine_.joints.begin(), machine_.joints.end(), [&](const Joint& j) {
      if (!IsFaceJoint(j.kind)) return false;
      const auto a = find(j.fixed.part);
      const auto b = find(j.moving.part);
      if (a == set.end() || b == set.end() || Has(group, *a) == Has(group, *b)) return false;
      const Feature* feature = machine_.Find(j.fixed);
      const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
      if (face == nullptr) return false;
      return std::abs(way.dot(pieces_[*a].X_WP.linear() * face->normal_P)) < 1 - kSameDirection;
    });
    return by_joint || std::any_of(group.begin(), group.end(), [&](std::size_t p) {
      return carried_.IsUnjoined(p) && std::any_of(set.begin(), set.end(), [&](std::size_t q) {
        const auto across = Has(group, q) ? std::nullopt : AxisAcross(pieces_[p].box_W, pieces_[q].box_W);
        return across && std::abs(way[*across]) < 0.5;
      });
    });
  }

  const Machine& machine_;
  const std::vector<Piece>& pieces_;
  const Blocking& blocking_;
  const Carried& carried_;
};

// The order in which the groups of one level go on: what shows whether a requirement holds as early as it
// can, so that what is wrong is found while little is in the way; else as they came off, backwards.
class PuttingTogether {
 public:
  PuttingTogether(const Machine& machine, const std::vector<Piece>& pieces, const Blocking& blocking,
                  const Carried& carried)
      : pieces_(pieces), blocking_(blocking), carried_(carried) {
    for (const Requirement& r : machine.requirements) AddWanted(r);
  }

  void Run(const Indices& base, std::vector<Removal> removals, AssemblyOrder& order) const {
    Indices there = base;
    while (!removals.empty()) {
      const std::size_t next = Next(there, removals);
      const Removal removal = std::move(removals[next]);
      removals.erase(removals.begin() + static_cast<std::ptrdiff_t>(next));
      Run({removal.group.front()}, removal.within, order);
      AssemblyStep step;
      for (const std::size_t p : removal.group) step.parts.push_back(pieces_[p].id);
      step.direction_W = -blocking_.ways()[removal.way];
      step.onto = OntoWhat(removal.group, there);
      order.steps.push_back(std::move(step));
      there.insert(there.end(), removal.group.begin(), removal.group.end());
      std::sort(there.begin(), there.end());
    }
  }

 private:
  void AddWanted(const Requirement& r) {
    using K = RequirementKind;
    const bool seen = r.kind == K::kFlush || r.kind == K::kDistance || r.kind == K::kProud || r.kind == K::kEndFloat ||
                      r.kind == K::kRunOut || r.kind == K::kInLine || r.kind == K::kParallel;
    if (r.derived || !seen) return;
    Indices wanted;
    const auto add = [&](const PartId& id) {
      for (std::size_t p = 0; p < pieces_.size(); ++p) {
        if (pieces_[p].id == id && std::find(wanted.begin(), wanted.end(), p) == wanted.end()) wanted.push_back(p);
      }
    };
    for (const FeatureRef& ref : {r.a, r.b}) add(ref.part);
    for (const auto& [a, b] : r.gaps) {
      add(a.part);
      add(b.part);
    }
    if (wanted.size() > 1) wanted_.push_back(wanted);
  }

  std::size_t Next(const Indices& there, const std::vector<Removal>& removals) const {
    std::optional<std::size_t> first;
    std::optional<std::size_t> any;  // goes onto nothing that is there
    for (std::size_t i = removals.size(); i-- > 0;) {
      const bool waits = std::any_of(removals.begin() + static_cast<std::ptrdiff_t>(i) + 1, removals.end(),
                                     [&](const Removal& later) { return Waits(removals[i], later); });
      if (waits) continue;
      if (Completes(there, removals[i])) return i;
      const bool stands = !OntoWhat(removals[i].group, there).empty();
      if (stands && !first) first = i;
      if (!any) any = i;
    }
    return first ? *first : *any;
  }

  // `late` came off first. It goes on only after `early` where it would stand in its way or over its screws, or
  // where it goes onto it.
  bool Waits(const Removal& late, const Removal& early) const {
    const Indices over = carried_.OverScrews(early.group, early.left);
    return std::any_of(late.group.begin(), late.group.end(), [&](std::size_t q) {
      if (std::find(over.begin(), over.end(), q) != over.end()) return true;
      return std::any_of(early.group.begin(), early.group.end(), [&](std::size_t p) {
        const Indices& ahead = blocking_.Ahead(early.way, p);
        return std::find(ahead.begin(), ahead.end(), q) != ahead.end() || carried_.GoesOnto(q, p);
      });
    });
  }

  bool Completes(const Indices& there, const Removal& removal) const {
    return std::any_of(wanted_.begin(), wanted_.end(), [&](const Indices& wanted) {
      const auto comes = [&](std::size_t p) { return Has(removal.group, p); };
      return std::any_of(wanted.begin(), wanted.end(), comes) && !std::all_of(wanted.begin(), wanted.end(), comes) &&
             std::all_of(wanted.begin(), wanted.end(), [&](std::size_t p) { return comes(p) || Has(there, p); });
    });
  }

  std::vector<PartId> OntoWhat(const Indices& group, const Indices& there) const {
    std::vector<PartId> onto;
    for (const std::size_t q : there) {
      const bool goes = std::any_of(group.begin(), group.end(), [&](std::size_t p) { return carried_.GoesOnto(p, q); });
      if (goes) onto.push_back(pieces_[q].id);
    }
    if (!onto.empty()) return onto;
    for (const std::size_t q : there) {
      const bool touches = std::any_of(group.begin(), group.end(), [&](std::size_t p) { return BoxesTouch(pieces_[p].box_W, pieces_[q].box_W); });
      if (touches) onto.push_back(pieces_[q].id);
    }
    return onto;
  }

  const std::vector<Piece>& pieces_;
  const Blocking& blocking_;
  const Carried& carried_;
  std::vector<Indices> wanted_;  // pieces that a requirement is between
};

}  // namespace

AssemblyOrder FindAssemblyOrder(const Machine& machine) {
  AssemblyOrder order;
  const std::vector<Piece> pieces = PiecesOf(machine);
  if (pieces.empty()) return order;
  const Blocking blocking(machine, pieces);
  const Carried carried(machine, pieces);
  Indices all(pieces.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  std::vector<Removal> removals;
  Indices locked;
  order.first = {pieces.front().id};
  if (!TakingApart(machine, pieces, blocking, carried).Run(all, false, removals, locked)) {
    for (const std::size_t p : locked) order.locked.push_back(pieces[p].id);
    return order;
  }
  PuttingTogether(machine, pieces, blocking, carried).Run({0}, removals, order);
  return order;
}

}  // namespace fitwright::review
