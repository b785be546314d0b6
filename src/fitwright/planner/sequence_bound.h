// What is left of an order of operations costs at least so much, whatever order is chosen.
//
// Every operation is done in one of its ways; a way costs work and needs resources to be at hand (this machine, this
// tool on it, this side up). A resource that is not at hand costs its fee each time that it is brought. Which ways are
// the cheapest together is a location problem with shared fees; its linear relaxation's dual, raised operation by
// operation (D. Erlenkotter, "A dual-based procedure for uncapacitated facility location", Operations Research 26(6),
// 1978), bounds it from below: each operation pays toward the fees of the ways that it could be done in, and what all
// have paid is the bound.
//
// Two operations cannot share one bringing of a resource where a third that takes it away must come between them.
// Money for a fee is therefore spent again by operations that are all apart from each other in that sense: what those
// of one bringing pay together never exceeds the fee.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <vector>

namespace fitwright::planner {

using SequenceCost = std::int64_t;  // in whole units of the cost policy
using OperationSet = std::vector<std::uint64_t>;  // one bit an operation

inline bool Contains(std::span<const std::uint64_t> set, std::size_t operation) {
  return (set[operation / 64] >> (operation % 64) & 1U) != 0;
}
inline void Insert(std::span<std::uint64_t> set, std::size_t operation) { set[operation / 64] |= std::uint64_t{1} << (operation % 64); }

class SequenceBound {
 public:
  static constexpr std::size_t kMostUsed = 4;  // resources of one way
  struct Way {
    SequenceCost work = 0;
    std::size_t resources = 0;
    std::array<std::uint32_t, kMostUsed> resource = {};
    std::span<const std::uint32_t> uses() const { return {resource.data(), resources}; }
  };

  // The ways of each operation, what each waits for, the fee of each resource, and which operations take it away
  // however they are done.
  SequenceBound(std::vector<std::vector<Way>> ways, const std::vector<OperationSet>& before, std::vector<SequenceCost> fees,
                std::vector<OperationSet> takers);

  // Least cost of the operations that are not in `done`, with `held` at hand. Deterministic.
  SequenceCost Calc(std::span<const std::uint64_t> done, std::span<const std::uint32_t> held);

 private:
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
  // Money for one bringing of a resource.
  struct Purse {
    SequenceCost amount = 0;
    bool at_hand = false;        // brought already: only who must come back to it can spend this
    std::uint32_t next = kNone;  // of the same resource
  };

  void CloseBefore(const std::vector<OperationSet>& before);
  void FindUsers();
  void FindApart();
  SequenceCost Raise(std::size_t operation);
  SequenceCost CountMoney(std::size_t operation, std::uint32_t resource);
  void Spend(std::size_t operation, std::uint32_t resource, SequenceCost amount);
  bool MaySpend(std::size_t operation, std::uint32_t resource, std::uint32_t purse) const;
  void AddPurse(std::uint32_t resource, SequenceCost amount, bool at_hand);
  bool Cover(std::size_t operation, SequenceCost level, SequenceCost* step);
  std::uint32_t PayerOf(const Way& way) const;
  std::span<const std::uint64_t> Apart(std::size_t operation, std::uint32_t resource) const {
    return {&apart_[(resource * ways_.size() + operation) * words_], words_};
  }

  std::vector<std::vector<Way>> ways_;  // of each operation, least work first
  std::vector<SequenceCost> fees_;
  std::size_t words_ = 0;
  std::vector<OperationSet> before_;    // all that come before, not only the last
  std::vector<OperationSet> takers_;    // of each resource
  std::vector<std::vector<std::uint32_t>> used_;  // resources of each operation
  std::vector<std::size_t> users_;      // how many operations may use it
  std::vector<std::uint64_t> apart_;    // of each resource and operation: those that it never shares a bringing with
  std::vector<std::size_t> order_;      // fewest ways first
  // Of one calculation.
  std::span<const std::uint64_t> done_;
  std::vector<Purse> purses_;
  std::vector<std::uint64_t> spent_;    // who has spent from each purse, words_ each
  std::vector<std::uint32_t> first_;    // purse of each resource
  std::vector<SequenceCost> left_;      // what the operation at hand can pay toward each fee
  std::vector<SequenceCost> paid_;      // and has
  std::vector<SequenceCost> thresholds_;  // work and what is paid toward each of its ways
  std::vector<std::size_t> sharing_;    // its ways at the level that use each resource
  std::vector<std::uint32_t> chosen_;
};

}  // namespace fitwright::planner
