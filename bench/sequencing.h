// Sequencing instances of bench/instances and what they charge.
//
// An order costs, over its operations, machine and tool (or time) each; between two that follow each other the
// machine's change, the tool's where tool or machine differ, the setup's where side or machine differ. The first setup
// is free. Operations named by one "either" are alternatives: one of them is done. Costs are kept in hundredths.
#pragma once

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/planner/sequence_search.h"

namespace fitwright::bench {

using planner::SequenceCost;
using planner::SequencePlace;

inline constexpr double kHundredths = 100;

// One operation of a record as it is written there.
struct WrittenOperation {
  std::string name;
  std::vector<std::string> machines, tools, sides, after;
  std::vector<SequenceCost> times;
};

struct SequencingCase {
  std::set<std::string> broken;  // machines and tools that are not there
  bool tool_costs = true;
  std::optional<SequenceCost> optimum;
  std::vector<std::string> plan;  // of that cost
  std::string name;
};

struct SequencingInstance {
  std::string name;
  SequenceCost machine_change = 0, tool_change = 0, setup_change = 0;
  std::map<std::string, SequenceCost> machines, tools;
  std::map<std::pair<std::string, std::string>, SequenceCost> between;  // machines; empty: machine_change
  std::vector<WrittenOperation> operations;
  std::vector<std::vector<std::string>> either;
  std::vector<SequencingCase> cases;
};

inline SequenceCost InHundredths(const std::string& text) { return std::llround(std::stod(text) * kHundredths); }

namespace reading {

inline void ReadChange(std::istringstream& words, SequencingInstance& instance) {
  std::string of;
  std::string cost;
  words >> of >> cost;
  (of == "machine" ? instance.machine_change : of == "tool" ? instance.tool_change : instance.setup_change) = InHundredths(cost);
}

inline void ReadCosts(std::istringstream& words, std::map<std::string, SequenceCost>& costs) {
  for (std::string name, cost; words >> name >> cost;) costs[name] = InHundredths(cost);
}

inline void ReadOperation(std::istringstream& words, SequencingInstance& instance) {
  WrittenOperation operation;
  words >> operation.name;
  std::map<std::string, std::vector<std::string>*> lists = {
      {"machines", &operation.machines}, {"tools", &operation.tools}, {"sides", &operation.sides}, {"after", &operation.after}};
  std::vector<std::string>* list = nullptr;
  for (std::string word; words >> word;) {
    if (word == "times") {
      list = nullptr;
    } else if (const auto named = lists.find(word); named != lists.end()) {
      list = named->second;
    } else if (list != nullptr) {
      list->push_back(word);
    } else {
      operation.times.push_back(InHundredths(word));
    }
  }
  instance.operations.push_back(operation);
}

inline void ReadCase(std::istringstream& words, SequencingInstance& instance) {
  SequencingCase read;
  std::string mode;
  for (std::string word; words >> word;) {
    if (word == "without" || word == "optimum" || word == "plan" || word == "all") {
      mode = word;
    } else if (word == "no_tool_costs") {
      read.tool_costs = false;
    } else if (mode == "without") {
      read.broken.insert(word);
    } else if (mode == "optimum") {
      read.optimum = InHundredths(word);
    } else {
      read.plan.push_back(word);
    }
  }
  read.name = instance.name;
  for (const std::string& broken : read.broken) read.name += " without " + broken;
  if (!read.tool_costs) read.name += ", tools free";
  instance.cases.push_back(read);
}

}  // namespace reading

inline SequencingInstance ReadInstance(const std::filesystem::path& file) {
  SequencingInstance instance;
  instance.name = file.stem().string();
  std::ifstream in(file);
  FW_CHECK(in.good(), file.string());
  for (std::string line; std::getline(in, line);) {
    std::istringstream words(line);
    std::string key;
    words >> key;
    if (key == "change") reading::ReadChange(words, instance);
    if (key == "machines") reading::ReadCosts(words, instance.machines);
    if (key == "tools") reading::ReadCosts(words, instance.tools);
    if (key == "operation") reading::ReadOperation(words, instance);
    if (key == "case") reading::ReadCase(words, instance);
    if (key == "from") {
      std::string from;
      words >> from;
      for (std::string to, cost; words >> to >> cost;) instance.between[{from, to}] = InHundredths(cost);
    }
    if (key == "either") instance.either.emplace_back(std::istream_iterator<std::string>(words), std::istream_iterator<std::string>());
  }
  return instance;
}

// The cost policy of one case. A place is 0 (nothing up yet) or a setting's number + 1.
class SequencingPolicy {
 public:
  SequencingPolicy(const SequencingInstance& instance, const SequencingCase& run) : instance_(instance), run_(run) {
    FindGroups();
    for (const WrittenOperation& operation : instance.operations) AddWays(operation);
    FillFees();
    CheckNoDetours();
  }

  std::size_t operations() const { return before_.size(); }
  const std::vector<std::size_t>& before(std::size_t o) const { return before_[o]; }
  std::size_t ways(std::size_t o) const { return ways_[o].size(); }
  SequenceCost Work(std::size_t o, std::size_t w) const { return ways_[o][w].work; }
  SequencePlace start() const { return 0; }
  SequencePlace After(SequencePlace, std::size_t o, std::size_t w) const { return ways_[o][w].setting + 1; }
  SequenceCost Change(SequencePlace from, SequencePlace to) const {
    if (from == 0 || from == to) return 0;
    if (to == 0) return kNever;
    const Setting& a = settings_[from - 1];
    const Setting& b = settings_[to - 1];
    if (a.machine != b.machine) return machine_changes_[a.machine * machines_.size() + b.machine] + tool_change_ + instance_.setup_change;
    return (a.tool != b.tool ? tool_change_ : 0) + (a.side != b.side ? instance_.setup_change : 0);
  }
  std::size_t resources() const { return fees_.size(); }
  SequenceCost Fee(std::uint32_t r) const { return fees_[r]; }
  const std::vector<std::uint32_t>& Uses(std::size_t o, std::size_t w) const { return settings_[ways_[o][w].setting].uses; }
  std::span<const std::uint32_t> Held(SequencePlace at) const {
    return at == 0 ? std::span<const std::uint32_t>() : std::span<const std::uint32_t>(settings_[at - 1].uses);
  }
  bool Keeps(std::size_t o, std::size_t w, std::uint32_t r) const { return std::find(Uses(o, w).begin(), Uses(o, w).end(), r) != Uses(o, w).end(); }
  SequenceCost Forgiven(SequencePlace at) const { return at == 0 ? first_free_ : 0; }

  // "o5/m2/t6/-z"
  std::string Words(std::size_t o, std::size_t w) const { return ways_[o][w].words; }
  // What an order written so costs; nothing when a way is not there.
  std::optional<SequenceCost> CostOf(const std::vector<std::string>& plan) const {
    SequencePlace at = start();
    SequenceCost cost = 0;
    for (const std::string& words : plan) {
      const auto found = named_.find(words);
      if (found == named_.end()) return std::nullopt;
      const auto [o, w] = found->second;
      cost += Change(at, After(at, o, w)) + Work(o, w);
      at = After(at, o, w);
    }
    return cost;
  }

 private:
  static constexpr SequenceCost kNever = 1'000'000'000;
  struct Setting {
    std::size_t machine = 0, tool = 0, side = 0;
    std::vector<std::uint32_t> uses = {};
  };
  struct Way {
    SequenceCost work = 0;
    std::size_t setting = 0;
    std::string words;
  };

  template <typename Key>
  static std::size_t Numbered(std::map<Key, std::size_t>& numbers, const Key& key) { return numbers.try_emplace(key, numbers.size()).first->second; }

  void FindGroups() {
    std::map<std::string, std::string> leader;
    for (const auto& group : instance_.either) {
      for (const std::string& name : group) leader[name] = group.front();
    }
    std::map<std::string, std::size_t> numbers;
    for (const WrittenOperation& o : instance_.operations) group_[o.name] = Numbered(numbers, leader.count(o.name) ? leader[o.name] : o.name);
    before_.resize(numbers.size());
    ways_.resize(numbers.size());
    std::vector<std::set<std::size_t>> before(numbers.size());
    for (const WrittenOperation& o : instance_.operations) {
      for (const std::string& after : o.after) before[group_.at(o.name)].insert(group_.at(after));
    }
    for (std::size_t i = 0; i < before.size(); ++i) before_[i].assign(before[i].begin(), before[i].end());
  }

  // Times are one a machine, or one a machine and tool.
  SequenceCost WorkOf(const WrittenOperation& operation, std::size_t m, std::size_t t) const {
    if (operation.times.empty()) return instance_.machines.at(operation.machines[m]) + (run_.tool_costs ? instance_.tools.at(operation.tools[t]) : 0);
    return operation.times.size() == operation.machines.size() ? operation.times[m] : operation.times[m * operation.tools.size() + t];
  }

  void AddWays(const WrittenOperation& operation) {
    const std::size_t group = group_.at(operation.name);
    for (std::size_t m = 0; m < operation.machines.size(); ++m) {
      for (std::size_t t = 0; t < operation.tools.size(); ++t) {
        if (run_.broken.contains(operation.machines[m]) || run_.broken.contains(operation.tools[t])) continue;
        for (const std::string& side : operation.sides) {
          const Setting setting{Numbered(machines_, operation.machines[m]), Numbered(tools_, operation.tools[t]), Numbered(sides_, side)};
          const std::tuple key{setting.machine, setting.tool, setting.side};
          const std::size_t number = Numbered(numbers_, key);
          if (number == settings_.size()) settings_.push_back(setting);
          const std::string words = operation.name + "/" + operation.machines[m] + "/" + operation.tools[t] + "/" + side;
          named_[words] = {group, ways_[group].size()};
          ways_[group].push_back({WorkOf(operation, m, t), number, words});
        }
      }
    }
  }

  SequenceCost BetweenMachines(const std::string& from, const std::string& to) const {
    return from == to ? 0 : instance_.between.empty() ? instance_.machine_change : instance_.between.at({from, to});
  }

  // A machine is a resource, a tool on it, a side up on it.
  void FillFees() {
    tool_change_ = run_.tool_costs ? instance_.tool_change : 0;
    machine_changes_.resize(machines_.size() * machines_.size());
    for (const auto& [from, f] : machines_) {
      for (const auto& [to, t] : machines_) machine_changes_[f * machines_.size() + t] = BetweenMachines(from, to);
    }
    std::map<std::tuple<int, std::size_t, std::size_t>, std::size_t> resources;
    for (Setting& s : settings_) {
      const std::tuple machine{0, s.machine, std::size_t{0}};
      const std::tuple tool{1, s.machine, s.tool};
      const std::tuple side{2, s.machine, s.side};
      for (const auto& [key, fee] : {std::pair(machine, LeastInto(s.machine)), std::pair(tool, tool_change_), std::pair(side, instance_.setup_change)}) {
        s.uses.push_back(static_cast<std::uint32_t>(Numbered(resources, key)));
        if (s.uses.back() == fees_.size()) fees_.push_back(fee);
      }
    }
    SequenceCost dearest = 0;
    for (const auto& [name, m] : machines_) dearest = std::max(dearest, LeastInto(m));
    first_free_ = dearest + tool_change_ + instance_.setup_change;
  }

  SequenceCost LeastInto(std::size_t machine) const {
    std::optional<SequenceCost> least;
    for (std::size_t from = 0; from < machines_.size(); ++from) {
      const SequenceCost cost = machine_changes_[from * machines_.size() + machine];
      if (from != machine && (!least || cost < *least)) least = cost;
    }
    return least.value_or(0);
  }

  // Going by way of a third machine never saves, with the tool's and the setup's change it costs twice.
  void CheckNoDetours() const {
    const std::size_t n = machines_.size();
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b < n; ++b) {
        for (std::size_t c = 0; c < n; ++c) {
          const SequenceCost by = machine_changes_[a * n + b] + machine_changes_[b * n + c] + tool_change_ + instance_.setup_change;
          FW_CHECK(a == b || b == c || machine_changes_[a * n + c] <= by, a, b, c);
        }
      }
    }
  }

  const SequencingInstance& instance_;
  const SequencingCase& run_;
  std::map<std::string, std::size_t> group_;
  std::map<std::string, std::size_t> machines_, tools_, sides_;
  std::map<std::tuple<std::size_t, std::size_t, std::size_t>, std::size_t> numbers_;
  std::map<std::string, std::pair<std::size_t, std::size_t>> named_;
  std::vector<std::vector<std::size_t>> before_;
  std::vector<std::vector<Way>> ways_;
  std::vector<Setting> settings_;
  std::vector<SequenceCost> machine_changes_;
  std::vector<SequenceCost> fees_;
  SequenceCost tool_change_ = 0;
  SequenceCost first_free_ = 0;
};

}  // namespace fitwright::bench
