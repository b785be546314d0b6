#include "fitwright/planner/setup_memo.h"

#include <algorithm>

namespace fitwright::planner {
namespace {

std::shared_ptr<const MadeSetup> In(const std::vector<std::pair<SetupSketch, std::shared_ptr<const MadeSetup>>>& list,
                                    const SetupSketch& sketch) {
  const auto found = std::find_if(list.begin(), list.end(), [&](const auto& entry) { return entry.first == sketch; });
  return found == list.end() ? nullptr : found->second;
}

const Setup* Held(const std::optional<Setup>& setup) { return setup ? &*setup : nullptr; }

}  // namespace

std::shared_ptr<const MadeSetup> SetupMemo::Find(const std::string& before, const SetupSketch& sketch) const {
  const std::lock_guard lock(mutex_);
  const auto found = entries_.find(before);
  return found == entries_.end() ? nullptr : In(found->second, sketch);
}

std::shared_ptr<const MadeSetup> SetupMemo::Keep(const std::string& before, const SetupSketch& sketch, MadeSetup made) {
  const std::lock_guard lock(mutex_);
  std::vector<Entry>& list = entries_[before];
  if (auto known = In(list, sketch)) return known;
  made.id = ++kept_;
  list.emplace_back(sketch, std::make_shared<const MadeSetup>(std::move(made)));
  return list.back().second;
}

const Setup* SetupMemo::WholeTrial(const Before& before, const std::function<std::optional<Setup>()>& make) {
  {
    const std::lock_guard lock(mutex_);
    if (const auto known = whole_trials_.find(before); known != whole_trials_.end()) return Held(known->second);
  }
  std::optional<Setup> made = make();
  const std::lock_guard lock(mutex_);
  return Held(whole_trials_.try_emplace(before, std::move(made)).first->second);
}

}  // namespace fitwright::planner
