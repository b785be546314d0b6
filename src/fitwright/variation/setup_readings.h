// What reading a setup of a plan left behind, kept for other plans that have the same setup after the same history.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/variation/feature_forms.h"
#include "fitwright/variation/source.h"

namespace fitwright::variation {

// Sources in every form here are places in `sources`.
struct SetupReading {
  struct Named {
    Source source;
    std::optional<WorkedSize> worked = {};  // its `part` holds no longer: `part` below does
    PartId part = {};
    bool brought_in = false;  // by this setup; else by one before it
  };
  std::vector<Named> sources;
  std::vector<std::pair<FeatureRef, FeatureForms>> features;  // as they are left
  std::shared_ptr<const Form6> seat_P;
  std::uint64_t setup_key = 0;
  std::vector<std::uint64_t> seats;   // counted once more
  std::vector<std::uint64_t> visits;  // the same
  double setting_min = 0;
};

// Belongs to one shop and one set of sheets; for many threads.
class SetupReadings {
 public:
  // Null where it is not kept; `worth_keeping` then says whether it has been asked for before.
  std::shared_ptr<const SetupReading> Find(std::uint64_t key, bool& worth_keeping);
  void Keep(std::uint64_t key, SetupReading reading);

 private:
  std::mutex mutex_;
  std::unordered_map<std::uint64_t, std::shared_ptr<const SetupReading>> kept_;  // null: asked for once
};

struct KnownSetup {
  std::uint64_t history = 0;      // alike where the same setup comes after the same setups of its part; 0: nothing is known
  const Setup* whole = nullptr;   // where the plan has its outline only: no steps, no contacts
};

// Of a plan's setups, one each.
struct KnownSetups {
  SetupReadings* readings = nullptr;
  std::span<const KnownSetup> setups;
};

// The setup of the plan with its steps. `known` may be null.
inline const Setup& WholeSetup(const Plan& plan, const KnownSetups* known, std::size_t i) {
  const bool outline = known != nullptr && i < known->setups.size() && known->setups[i].whole != nullptr;
  return outline ? *known->setups[i].whole : plan.setups[i];
}

// Calls `change` with each form of the feature but those of its base; its base is handed to `change_base`.
template <typename Change, typename ChangeBase>
void EachForm(FeatureForms& forms, Change&& change, ChangeBase&& change_base) {
  const auto of_pose = [&](PoseForms& pose) {
    change_base(pose.base);
    for (Form& form : pose.own.w) change(form);
    for (Form& form : pose.own.d) change(form);
  };
  of_pose(forms.pose);
  for (Form* form : {&forms.size, &forms.form, &forms.taper, &forms.dishing, &forms.lobes}) change(*form);
  for (HoleForms& hole : forms.holes) {
    of_pose(hole.pose);
    change(hole.size);
    for (Form& form : hole.run_off) change(form);
    for (Form& form : hole.thread_lean) change(form);
  }
}

}  // namespace fitwright::variation
