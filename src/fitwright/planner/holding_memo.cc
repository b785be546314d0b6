#include "fitwright/planner/holding_memo.h"

#include <algorithm>

namespace fitwright::planner {

bool HoldingMemo::Standing::Is(const PieceState& piece) const {
  return part == piece.part->name && made == piece.made && box_P == piece.box_P && bands == piece.bands;
}

std::shared_ptr<const Holdings> HoldingMemo::In(const Shelf& shelf, const SetupSketch& asked,
                                                const std::vector<const PieceState*>& pieces) const {
  const auto list = entries_.find(shelf);
  if (list == entries_.end()) return nullptr;
  for (const Entry& entry : list->second) {
    const bool same = std::equal(entry.pieces.begin(), entry.pieces.end(), pieces.begin(), pieces.end(),
                                 [](const Standing& a, const PieceState* b) { return a.Is(*b); });
    if (same && entry.asked == asked) return entry.holdings;
  }
  return nullptr;
}

std::shared_ptr<const Holdings> HoldingMemo::Find(const SetupSketch& asked, const std::vector<const PieceState*>& pieces) const {
  const std::lock_guard lock(mutex_);
  return In({asked.part, pieces.front()->made.size()}, asked, pieces);
}

std::shared_ptr<const Holdings> HoldingMemo::Keep(const SetupSketch& asked, const std::vector<const PieceState*>& pieces, Holdings holdings) {
  const std::lock_guard lock(mutex_);
  const Shelf shelf{asked.part, pieces.front()->made.size()};
  if (auto known = In(shelf, asked, pieces)) return known;
  Entry entry{asked, {}, std::make_shared<const Holdings>(std::move(holdings))};
  for (const PieceState* piece : pieces) entry.pieces.push_back({piece->part->name, piece->box_P, piece->bands, piece->made});
  std::vector<Entry>& list = entries_[shelf];
  list.push_back(std::move(entry));
  return list.back().holdings;
}

std::shared_ptr<const Holdings> RecallVariants(HoldingMemo& memo, const SetupSketch& sketch, const PieceState& piece, const Shop& shop) {
  if (auto known = memo.Find(sketch, {&piece})) return known;
  return memo.Keep(sketch, {&piece}, {Variants(sketch, piece, shop)});
}

}  // namespace fitwright::planner
