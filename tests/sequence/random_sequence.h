// A made-up order of operations: machines, tools and sides with ways, waits and costs drawn from a seed.
#pragma once

#include <set>
#include <vector>

#include "fitwright/planner/sequence_search.h"
#include "fitwright/stats/random.h"

namespace fitwright::planner {

class RandomSequence {
 public:
  RandomSequence(std::uint64_t seed, std::size_t operations) : key_(stats::StreamKey(seed, 0)) {
    const SequenceCost machine_fee = Draw(0, 60);
    const SequenceCost tool_fee = Draw(0, 20);
    fees_ = {machine_fee, machine_fee, machine_fee, tool_fee, tool_fee, tool_fee, tool_fee, tool_fee, tool_fee};
    for (std::size_t o = 0; o < operations; ++o) {
      ways_.emplace_back();
      std::set<std::uint32_t> settings;
      for (SequenceCost i = Draw(1, 4); i > 0; --i) settings.insert(static_cast<std::uint32_t>(Draw(0, kSettings - 1)));
      for (const std::uint32_t setting : settings) ways_.back().push_back({Draw(1, 15), setting});
      before_.emplace_back();
      for (std::size_t b = 0; b < o; ++b) {
        if (Draw(0, 4) == 0) before_.back().push_back(b);
      }
    }
    for (std::uint32_t s = 0; s < kSettings; ++s) uses_.push_back({s / 2, 3 + s});
  }

  std::size_t operations() const { return ways_.size(); }
  const std::vector<std::size_t>& before(std::size_t o) const { return before_[o]; }
  std::size_t ways(std::size_t o) const { return ways_[o].size(); }
  SequenceCost Work(std::size_t o, std::size_t w) const { return ways_[o][w].work; }
  SequencePlace start() const { return 0; }
  SequencePlace After(SequencePlace, std::size_t o, std::size_t w) const { return ways_[o][w].setting + 1; }
  SequenceCost Change(SequencePlace from, SequencePlace to) const {
    if (from == 0 || from == to) return 0;
    if (to == 0) return 1'000'000;
    return (uses_[from - 1][0] == uses_[to - 1][0] ? 0 : fees_[0]) + fees_[3];
  }
  std::size_t resources() const { return fees_.size(); }
  SequenceCost Fee(std::uint32_t r) const { return fees_[r]; }
  const std::vector<std::uint32_t>& Uses(std::size_t o, std::size_t w) const { return uses_[ways_[o][w].setting]; }
  std::span<const std::uint32_t> Held(SequencePlace at) const {
    return at == 0 ? std::span<const std::uint32_t>() : std::span<const std::uint32_t>(uses_[at - 1]);
  }
  bool Keeps(std::size_t o, std::size_t w, std::uint32_t r) const { return Uses(o, w)[0] == r || Uses(o, w)[1] == r; }
  SequenceCost Forgiven(SequencePlace at) const { return at == 0 ? fees_[0] + fees_[3] : 0; }

  void WaitFor(std::size_t o, std::size_t b) { before_[o].push_back(b); }

 private:
  static constexpr SequenceCost kSettings = 6;  // two tools on each of three machines
  struct Way {
    SequenceCost work = 0;
    std::uint32_t setting = 0;
  };
  SequenceCost Draw(SequenceCost least, SequenceCost most) {
    const double span = static_cast<double>(most - least + 1);
    return std::min(most, least + static_cast<SequenceCost>(span * stats::Uniform(key_, drawn_++)));
  }

  std::uint64_t key_;
  std::uint64_t drawn_ = 0;
  std::vector<SequenceCost> fees_;
  std::vector<std::vector<Way>> ways_;
  std::vector<std::vector<std::size_t>> before_;
  std::vector<std::vector<std::uint32_t>> uses_;
};

}  // namespace fitwright::planner
