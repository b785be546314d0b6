#include "fitwright/review/carried.h"

#include <algorithm>
#include <cmath>

#include "fitwright/review/bores.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/threads.h"

namespace fitwright::review {
namespace {

constexpr double kKey_mm = 60;  // a key or driver and the hand that turns it, straight over the head; opinion

// One holds the other whichever is placed on which.
bool HoldsBothWays(JointKind kind) {
  return kind != JointKind::kBearingOnShaft && kind != JointKind::kRunningFit && kind != JointKind::kSliderInBore &&
         kind != JointKind::kBelt;
}


// Metal of the piece on a line out of the head's middle or its rim.
bool StandsOver(const Piece& piece, const Vec3& seat_W, const Vec3& out_W, double across_mm) {
  constexpr int kRim = 8;
  Vec3 u;
  Vec3 v;
  MakeSquare(out_W, u, v);
  const Pose X_PW = piece.X_WP.inverse();
  for (int i = 0; i <= kRim; ++i) {
    const double angle = 2 * kPi * i / kRim;
    const Vec3 p_W = i == kRim ? seat_W : Vec3(seat_W + 0.5 * across_mm * (std::cos(angle) * u + std::sin(angle) * v));
    for (const Stretch& s : MetalAlong(*piece.part, X_PW * p_W, X_PW.linear() * out_W)) {
      if (s.to_mm > kTouch_mm && s.from_mm < kKey_mm) return true;
    }
  }
  return false;
}

}  // namespace

std::optional<int> AxisAcross(const Box3& a, const Box3& b) {
  const Vec3 gap = (a.min_mm - b.max_mm).cwiseMax(b.min_mm - a.max_mm);
  int across = 0;
  const double most = gap.maxCoeff(&across);
  for (int k = 0; k < 3; ++k) {
    if (k != across && gap[k] > -kTouch_mm) return std::nullopt;
  }
  return std::abs(most) < kTouch_mm ? std::optional<int>(across) : std::nullopt;
}

Carried::Carried(const Machine& machine, const std::vector<Piece>& pieces)
    : pieces_(pieces), carries_(pieces.size()), bench_(pieces.size()), unjoined_(pieces.size(), true), never_(pieces.size(), false) {
  for (const Joint& joint : machine.joints) AddJoint(machine, joint);
  for (std::size_t p = 0; p < pieces_.size(); ++p) {
    for (std::size_t q = 0; q < pieces_.size(); ++q) {
      if (p == q || !Springs(machine, pieces_[p], pieces_[q])) continue;
      unjoined_[p] = false;
      for (std::vector<Indices>* ways : {&carries_, &bench_}) {
        (*ways)[p].push_back(q);
        (*ways)[q].push_back(p);
      }
    }
  }
  Indices all(pieces_.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  for (const std::size_t p : Loose(all, false)) never_[p] = true;
}

std::size_t Carried::IndexOf(const PartId& id) const {
  std::size_t at = 0;
  while (at < pieces_.size() && pieces_[at].id != id) ++at;
  return at;
}

void Carried::AddJoint(const Machine& machine, const Joint& joint) {
  const std::size_t fixed = IndexOf(joint.fixed.part);
  const std::size_t moving = IndexOf(joint.moving.part);
  if (fixed == pieces_.size() || moving == pieces_.size() || joint.kind == JointKind::kBelt) return;
  unjoined_[fixed] = false;
  unjoined_[moving] = false;
  carries_[fixed].push_back(moving);
  bench_[fixed].push_back(moving);
  bench_[moving].push_back(fixed);
  if (HoldsBothWays(joint.kind)) carries_[moving].push_back(fixed);
  if (joint.kind == JointKind::kScrewedPattern && joint.screw) AddScrews(machine, joint, fixed, moving);
}

void Carried::AddScrews(const Machine& machine, const Joint& joint, std::size_t a, std::size_t b) {
  const auto* fixed = std::get_if<Hole>(&machine.Find(joint.fixed)->shape);
  const auto* moving = std::get_if<Hole>(&machine.Find(joint.moving)->shape);
  if (fixed == nullptr || moving == nullptr) return;
  const bool on_moving = fixed->thread.has_value();
  const Hole& clear = on_moving ? *moving : *fixed;
  const Pose& X_WC = pieces_[on_moving ? b : a].X_WP;
  const trade::ThreadRow* row = trade::FindThread(joint.screw->thread);
  const trade::ScrewHead* head = row == nullptr ? nullptr : trade::FindScrewHead(trade::HeadKind::kSocketCap, *row);
  const double across_mm = head == nullptr ? 1.7 * joint.screw->major_mm : head->diameter_mm;
  Screwed screwed{a, b, {}};
  for (std::size_t p = 0; p < pieces_.size(); ++p) {
    if (p == a || p == b) continue;
    const bool over = std::any_of(clear.entries_P_mm.begin(), clear.entries_P_mm.end(), [&](const Vec3& entry) {
      return StandsOver(pieces_[p], X_WC * entry, X_WC.linear() * Vec3(-clear.into_P), across_mm);
    });
    if (over) screwed.over.push_back(p);
  }
  screws_.push_back(screwed);
}

Indices Carried::Reached(const Indices& left, const std::vector<Indices>& ways) const {
  Indices reached = {left.front()};
  for (std::size_t i = 0; i < reached.size(); ++i) {
    for (const std::size_t q : ways[reached[i]]) {
      if (Has(left, q) && !Has(reached, q)) reached.push_back(q);
    }
  }
  return reached;
}

Indices Carried::Loose(const Indices& left, bool on_bench) const {
  if (left.empty()) return {};
  const Indices reached = Reached(left, on_bench ? bench_ : carries_);
  Indices loose;
  for (const std::size_t p : left) {
    if (!Has(reached, p) && !never_[p]) loose.push_back(p);
  }
  return loose;
}

Indices Carried::OverScrews(const Indices& group, const Indices& rest) const {
  Indices over;
  for (const Screwed& s : screws_) {
    const bool parted = (Has(group, s.a) && Has(rest, s.b)) || (Has(group, s.b) && Has(rest, s.a));
    if (parted) over.insert(over.end(), s.over.begin(), s.over.end());
  }
  return over;
}

bool Carried::KeepsScrewsShut(const Indices& group, const Indices& rest) const {
  const Indices over = OverScrews(group, rest);
  return std::any_of(over.begin(), over.end(), [&](std::size_t p) { return Has(group, p) || Has(rest, p); });
}

bool Carried::GoesOnto(std::size_t piece, std::size_t other) const {
  if (Has(bench_[piece], other)) return true;
  return (unjoined_[piece] || unjoined_[other]) && AxisAcross(pieces_[piece].box_W, pieces_[other].box_W).has_value();
}

}  // namespace fitwright::review
