#include "fitwright/replay/bench_rules.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace fitwright::replay {
namespace {

bool Has(const std::vector<PartId>& parts, const PartId& part) {
  return std::find(parts.begin(), parts.end(), part) != parts.end();
}

class Bench {
 public:
  Bench(const Machine& machine, const Plan& plan, std::vector<std::vector<Finding>>& lists)
      : plan_(plan), lists_(lists) {
    for (const Joint& joint : machine.joints) {
      if (joint.kind == JointKind::kBonded) bonded_.push_back(&joint);
    }
  }

  void Run() {
    for (at_ = 0; at_ < plan_.setups.size(); ++at_) {
      const Setup& setup = plan_.setups[at_];
      for (const Step& step : setup.steps) {
        if (!step.path.empty()) CheckCut(setup, step);
        if (step.operation == Operation::kWash) washed_.insert(step.parts.begin(), step.parts.end());
        if (step.operation == Operation::kBond) CheckBond(step);
        if (step.operation == Operation::kCure) CheckCure(step);
        if (step.operation == Operation::kTrial) CheckTrial(step);
      }
    }
    CheckLeftWet();
  }

 private:
  void Say(const Step& step, Rule rule, std::string say) {
    const Setup& setup = plan_.setups[at_];
    const PartId part = setup.parts.empty() ? PartId() : setup.parts.front().part;
    lists_[at_].push_back({part, step.id, rule, std::move(say)});
  }

  void CheckCut(const Setup& setup, const Step& step) {
    for (const PartPose& pose : setup.parts) {
      washed_.erase(pose.part);
      for (const Joint* joint : bonded_) {
        const bool ends = joint->fixed.part == pose.part || joint->moving.part == pose.part;
        if (!ends || !wet_.contains(joint->name)) continue;
        Say(step, Rule::kCureMissing,
            fmt::format("{} is cut while {} has not cured", pose.part.text(), joint->name.text()));
      }
      if (looked_at_.contains(pose.part)) {
        Say(step, Rule::kTrialOutdated,
            fmt::format("{} is cut again after the machine was tried together", pose.part.text()));
      }
      for (const auto& [requirement, parts] : trials_) {
        if (!Has(parts, pose.part)) continue;
        Say(step, Rule::kTrialOutdated,
            fmt::format("{} is cut again after the trial for {} measured it", pose.part.text(),
                        requirement.text()));
      }
    }
    if (!step.aim || step.aim->closes.empty() || trials_.contains(step.aim->closes)) return;
    Say(step, Rule::kTrialMissing,
        fmt::format("a length is made to the trial for {}, which was not made before it",
                    step.aim->closes.text()));
  }

  void CheckBond(const Step& step) {
    for (const PartId& part : step.parts) {
      if (washed_.contains(part)) continue;
      Say(step, Rule::kWashMissing,
          fmt::format("{} is bonded without a wash after it was last cut", part.text()));
    }
    for (const JointId& joint : step.joints) wet_.insert(joint);
  }

  void CheckCure(const Step& step) {
    for (const JointId& id : step.joints) {
      const auto joint = std::find_if(bonded_.begin(), bonded_.end(),
                                      [&](const Joint* j) { return j->name == id; });
      if (!wet_.contains(id) || joint == bonded_.end()) {
        Say(step, Rule::kCureMissing, fmt::format("{} is let cure, but was not bonded", id.text()));
        continue;
      }
      if (step.wait_min <= 0 || step.wait_min < (*joint)->cure_min) {
        Say(step, Rule::kCureMissing,
            fmt::format("{} is given {:.0f} min to cure and takes {:.0f}", id.text(),
                        step.wait_min, (*joint)->cure_min));
        continue;
      }
      wet_.erase(id);
      cured_.insert(id);
    }
  }

  void CheckLeftWet() {
    for (at_ = 0; at_ < plan_.setups.size(); ++at_) {
      for (const Step& step : plan_.setups[at_].steps) {
        const bool left = step.operation == Operation::kBond &&
                          std::any_of(step.joints.begin(), step.joints.end(),
                                      [&](const JointId& joint) { return wet_.contains(joint); });
        if (left) Say(step, Rule::kCureMissing, "it is bonded and never let cure");
      }
    }
  }

  // What will be bonded stands otherwise before it is.
  void CheckTrial(const Step& step) {
    for (const Joint* joint : bonded_) {
      if (!Has(step.parts, joint->fixed.part) || !Has(step.parts, joint->moving.part)) continue;
      if (cured_.contains(joint->name)) continue;
      Say(step, Rule::kCureMissing,
          fmt::format("{} and {} are tried together before {} is bonded and cured",
                      joint->fixed.part.text(), joint->moving.part.text(), joint->name.text()));
    }
    if (step.aim && !step.aim->closes.empty()) {
      trials_[step.aim->closes] = step.parts;
    } else {
      looked_at_.insert(step.parts.begin(), step.parts.end());
    }
  }

  const Plan& plan_;
  std::vector<std::vector<Finding>>& lists_;
  std::vector<const Joint*> bonded_;
  std::set<PartId> washed_;  // since they were last cut
  std::set<JointId> wet_;
  std::set<JointId> cured_;
  std::map<RequirementId, std::vector<PartId>> trials_;
  std::set<PartId> looked_at_;  // in a trial of what is finished
  std::size_t at_ = 0;
};

}  // namespace

void CheckBench(const Machine& machine, const Plan& plan,
                std::vector<std::vector<Finding>>& lists) {
  Bench(machine, plan, lists).Run();
}

}  // namespace fitwright::replay
