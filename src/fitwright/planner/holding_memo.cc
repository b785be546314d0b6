#include "fitwright/planner/holding_memo.h"

#include <algorithm>

namespace fitwright::planner {
namespace {

bool SamePiece(const PieceState& a, const PieceState& b) {
  return a.part->name == b.part->name && a.made == b.made && a.box_P == b.box_P && a.bands == b.bands;
}

}  // namespace

std::shared_ptr<const Holdings> HoldingMemo::In(const Shelf& shelf, const SetupSketch& asked,
                                                const std::vector<const PieceState*>& pieces) const {
  const auto list = entries_.find(shelf);
  if (list == entries_.end()) return nullptr;
  for (const Entry& entry : list->second) {
    const bool same = std::equal(entry.pieces.begin(), entry.pieces.end(), pieces.begin(), pieces.end(),
                                 [](const PieceState& a, const PieceState* b) { return SamePiece(a, *b); });
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
  for (const PieceState* piece : pieces) entry.pieces.push_back(*piece);
  std::vector<Entry>& list = entries_[shelf];
  list.push_back(std::move(entry));
  return list.back().holdings;
}

std::shared_ptr<const Holdings> RecallVariants(HoldingMemo& memo, const SetupSketch& sketch, const PieceState& piece, const Shop& shop) {
  if (auto known = memo.Find(sketch, {&piece})) return known;
  return memo.Keep(sketch, {&piece}, {Variants(sketch, piece, shop)});
}

}  // namespace fitwright::planner
