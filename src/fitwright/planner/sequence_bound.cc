#include "fitwright/planner/sequence_bound.h"

#include <algorithm>
#include <numeric>

namespace fitwright::planner {
namespace {

bool Holds(const SequenceBound::Way& way, std::uint32_t resource) {
  return std::find(way.uses().begin(), way.uses().end(), resource) != way.uses().end();
}

bool Meet(std::span<const std::uint64_t> a, std::span<const std::uint64_t> b, std::span<const std::uint64_t> c) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    if ((a[i] & b[i] & c[i]) != 0) return true;
  }
  return false;
}

}  // namespace

// Who has few ways to choose from pays first: what it pays for, nobody gets round.
SequenceBound::SequenceBound(std::vector<std::vector<Way>> ways, const std::vector<OperationSet>& before, std::vector<SequenceCost> fees,
                             std::vector<OperationSet> takers)
    : ways_(std::move(ways)), fees_(std::move(fees)), words_((ways_.size() + 63) / 64), takers_(std::move(takers)) {
  for (auto& own : ways_) std::stable_sort(own.begin(), own.end(), [](const Way& a, const Way& b) { return a.work < b.work; });
  CloseBefore(before);
  FindUsers();
  FindApart();
  order_.resize(ways_.size());
  std::iota(order_.begin(), order_.end(), std::size_t{0});
  std::stable_sort(order_.begin(), order_.end(), [&](std::size_t a, std::size_t b) { return ways_[a].size() < ways_[b].size(); });
  paid_.assign(fees_.size(), 0);
  left_.assign(fees_.size(), 0);
  sharing_.assign(fees_.size(), 0);
}

void SequenceBound::CloseBefore(const std::vector<OperationSet>& before) {
  before_ = before;
  for (std::size_t middle = 0; middle < before_.size(); ++middle) {
    for (OperationSet& set : before_) {
      if (!Contains(set, middle)) continue;
      for (std::size_t i = 0; i < words_; ++i) set[i] |= before_[middle][i];
    }
  }
}

void SequenceBound::FindUsers() {
  used_.resize(ways_.size());
  users_.assign(fees_.size(), 0);
  for (std::size_t o = 0; o < ways_.size(); ++o) {
    for (const Way& way : ways_[o]) used_[o].insert(used_[o].end(), way.uses().begin(), way.uses().end());
    std::sort(used_[o].begin(), used_[o].end());
    used_[o].erase(std::unique(used_[o].begin(), used_[o].end()), used_[o].end());
    for (const std::uint32_t r : used_[o]) ++users_[r];
  }
}

void SequenceBound::FindApart() {
  const std::size_t n = ways_.size();
  std::vector<OperationSet> after(n, OperationSet(words_, 0));
  for (std::size_t late = 0; late < n; ++late) {
    for (std::size_t early = 0; early < n; ++early) {
      if (Contains(before_[late], early)) Insert(after[early], late);
    }
  }
  apart_.assign(fees_.size() * n * words_, 0);
  const auto set_of = [&](std::size_t o, std::uint32_t r) { return std::span(&apart_[(r * n + o) * words_], words_); };
  for (std::size_t late = 0; late < n; ++late) {
    for (const std::uint32_t r : used_[late]) {
      for (std::size_t early = 0; early < n; ++early) {
        const bool both = Contains(before_[late], early) && std::binary_search(used_[early].begin(), used_[early].end(), r);
        if (!both || !Meet(after[early], before_[late], takers_[r])) continue;
        Insert(set_of(late, r), early);
        Insert(set_of(early, r), late);
      }
    }
  }
}

SequenceCost SequenceBound::Calc(std::span<const std::uint64_t> done, std::span<const std::uint32_t> held) {
  done_ = done;
  purses_.clear();
  spent_.clear();
  first_.assign(fees_.size(), kNone);
  for (const std::uint32_t r : held) AddPurse(r, fees_[r], true);
  SequenceCost sum = 0;
  for (const std::size_t o : order_) {
    if (!Contains(done, o)) sum += Raise(o);
  }
  return sum;
}

void SequenceBound::AddPurse(std::uint32_t resource, SequenceCost amount, bool at_hand) {
  purses_.push_back({amount, at_hand, first_[resource]});
  spent_.resize(spent_.size() + words_, 0);
  first_[resource] = static_cast<std::uint32_t>(purses_.size() - 1);
}

bool SequenceBound::MaySpend(std::size_t operation, std::uint32_t resource, std::uint32_t purse) const {
  if (purses_[purse].at_hand) {
    bool taken = false;  // before it is done
    for (std::size_t i = 0; i < words_; ++i) taken |= (before_[operation][i] & ~done_[i] & takers_[resource][i]) != 0;
    if (!taken) return false;
  }
  const auto apart = Apart(operation, resource);
  for (std::size_t i = 0; i < words_; ++i) {
    if ((spent_[purse * words_ + i] & ~apart[i]) != 0) return false;
  }
  return true;
}

SequenceCost SequenceBound::CountMoney(std::size_t operation, std::uint32_t resource) {
  if (first_[resource] == kNone) AddPurse(resource, fees_[resource], false);
  SequenceCost sum = 0;
  for (std::uint32_t p = first_[resource]; p != kNone; p = purses_[p].next) {
    if (MaySpend(operation, resource, p)) sum += purses_[p].amount;
  }
  return sum;
}

// Of a purse that is not spent altogether the rest stays as it was.
void SequenceBound::Spend(std::size_t operation, std::uint32_t resource, SequenceCost amount) {
  for (std::uint32_t p = first_[resource]; amount > 0; p = purses_[p].next) {
    if (!MaySpend(operation, resource, p)) continue;
    const SequenceCost rest = purses_[p].amount - amount;
    if (rest > 0) {
      AddPurse(resource, rest, purses_[p].at_hand);
      for (std::size_t i = 0; i < words_; ++i) spent_[(purses_.size() - 1) * words_ + i] = spent_[p * words_ + i];
      purses_[p].amount = amount;
    }
    Insert(std::span(&spent_[p * words_], words_), operation);
    amount -= purses_[p].amount;
  }
}

// What the operation can pay before one of its ways is paid for altogether.
SequenceCost SequenceBound::Raise(std::size_t operation) {
  const std::vector<Way>& ways = ways_[operation];
  for (const std::uint32_t r : used_[operation]) left_[r] = CountMoney(operation, r);
  thresholds_.clear();
  for (const Way& way : ways) thresholds_.push_back(way.work);
  SequenceCost level = ways.front().work;
  for (SequenceCost step = 0; Cover(operation, level, &step); level += step) {
    for (const std::uint32_t r : chosen_) {
      left_[r] -= step;
      paid_[r] += step;
    }
    for (std::size_t w = 0; w < ways.size() && ways[w].work <= level; ++w) {
      for (const std::uint32_t r : chosen_) thresholds_[w] += Holds(ways[w], r) ? step : 0;
    }
  }
  for (const std::uint32_t r : used_[operation]) {
    if (paid_[r] > 0) Spend(operation, r, paid_[r]);
    paid_[r] = 0;
  }
  return level;
}

// The fees to pay toward so that every way at the level rises with it, and by how much; false when one cannot.
bool SequenceBound::Cover(std::size_t operation, SequenceCost level, SequenceCost* step) {
  const std::vector<Way>& ways = ways_[operation];
  chosen_.clear();
  for (const std::uint32_t r : used_[operation]) sharing_[r] = 0;
  std::size_t within = 0;
  for (; within < ways.size() && ways[within].work <= level; ++within) {
    if (thresholds_[within] > level) continue;
    for (const std::uint32_t r : ways[within].uses()) ++sharing_[r];
  }
  *step = within < ways.size() ? ways[within].work - level : std::numeric_limits<SequenceCost>::max();
  for (std::size_t w = 0; w < within; ++w) {
    if (thresholds_[w] > level) {
      *step = std::min(*step, thresholds_[w] - level);
      continue;
    }
    if (std::any_of(chosen_.begin(), chosen_.end(), [&](std::uint32_t r) { return Holds(ways[w], r); })) continue;
    const std::uint32_t payer = PayerOf(ways[w]);
    if (payer == kNone) return false;
    chosen_.push_back(payer);
    *step = std::min(*step, left_[payer]);
  }
  return true;
}

// Of the way's fees not paid yet the one that most ways at the level share, then the one that fewest others could
// pay for.
std::uint32_t SequenceBound::PayerOf(const Way& way) const {
  std::uint32_t best = kNone;
  for (const std::uint32_t r : way.uses()) {
    if (left_[r] == 0) continue;
    if (best == kNone || std::pair(sharing_[r], users_[best]) > std::pair(sharing_[best], users_[r])) best = r;
  }
  return best;
}

}  // namespace fitwright::planner
