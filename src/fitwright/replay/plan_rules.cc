#include "fitwright/replay/plan_rules.h"

#include <fmt/format.h>

#include <map>
#include <set>

namespace fitwright::replay {
namespace {

using Lists = std::vector<std::vector<Finding>>;

// Turned by less than this the piece stands as it stood: 1e-6 rad is 0.0001 mm over 100.
constexpr double kSameTurn = 1e-6;

Finding OfSetup(const Setup& setup, Rule rule, std::string say) {
  const PartId part = setup.parts.empty() ? PartId() : setup.parts.front().part;
  return {part, StepId(setup.id.text()), rule, std::move(say)};
}

void CheckNames(const Plan& plan, Lists& lists) {
  std::set<SetupId> setups;
  std::set<StepId> steps;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    const Setup& setup = plan.setups[i];
    if (!setups.insert(setup.id).second) {
      lists[i].push_back(OfSetup(setup, Rule::kSetupIdDuplicate,
                                 fmt::format("a second setup is called {}", setup.id.text())));
    }
    for (const Step& step : setup.steps) {
      if (steps.insert(step.id).second) continue;
      Finding finding = OfSetup(setup, Rule::kStepIdDuplicate,
                                fmt::format("a second step is called {}", step.id.text()));
      finding.step = step.id;
      lists[i].push_back(finding);
    }
  }
}

void CheckOrder(const Plan& plan, Lists& lists) {
  std::set<SetupId> done;
  int last = 0;
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    const Setup& setup = plan.setups[i];
    for (const SetupId& before : setup.waits_for) {
      if (done.contains(before)) continue;
      lists[i].push_back(OfSetup(setup, Rule::kOrderViolation,
                                 fmt::format("{} waits for {}, which is not done before it",
                                             setup.id.text(), before.text())));
    }
    if (setup.number <= last) {
      lists[i].push_back(
          OfSetup(setup, Rule::kOrderViolation,
                  fmt::format("setup number {} comes after number {}", setup.number, last)));
    }
    last = setup.number;
    done.insert(setup.id);
  }
}

const Setup* LastWith(const Plan& plan, std::size_t before, const PartId& part, std::size_t* at) {
  for (std::size_t i = before; i-- > 0;) {
    for (const PartPose& pose : plan.setups[i].parts) {
      if (pose.part == part) {
        *at = i;
        return &plan.setups[i];
      }
    }
  }
  return nullptr;
}

void CheckKept(const Plan& plan, const Shop& shop, std::size_t i, std::vector<Finding>& list) {
  const Setup& setup = plan.setups[i];
  const PartPose& held = setup.parts.front();
  std::size_t at = 0;
  const Setup* before = LastWith(plan, i, held.part, &at);
  if (before == nullptr) {
    list.push_back(OfSetup(setup, Rule::kDeviceOccupied,
                           fmt::format("{} is said to stay in {}, but was not in it before",
                                       held.part.text(), setup.device.text())));
    return;
  }
  if (before->device != setup.device || before->machine != setup.machine) {
    list.push_back(
        OfSetup(setup, Rule::kDeviceOccupied,
                fmt::format("{} is said to stay in {}, but {} held it in {}", held.part.text(),
                            setup.device.text(), before->id.text(), before->device.text())));
    return;
  }
  for (const PartPose& pose : before->parts) {
    if (pose.part != held.part) continue;
    const Eigen::Matrix3d turn = pose.X_PS.linear().transpose() * held.X_PS.linear();
    if ((turn - Eigen::Matrix3d::Identity()).norm() < kSameTurn) continue;
    list.push_back(OfSetup(setup, Rule::kDeviceOccupied,
                           fmt::format("{} is said to stay as it was in {}, but is turned",
                                       held.part.text(), before->id.text())));
  }
  const MachineTool* machine = shop.Find(setup.machine);
  const bool whole_machine = machine != nullptr && machine->kind == MachineToolKind::kLathe;
  for (std::size_t k = at + 1; k < i; ++k) {
    const Setup& other = plan.setups[k];
    const bool same = whole_machine ? other.machine == setup.machine : other.device == setup.device;
    if (!same) continue;
    list.push_back(OfSetup(
        setup, Rule::kDeviceOccupied,
        fmt::format("{} must stay in {} from {} on, but {} uses {} meanwhile", held.part.text(),
                    setup.device.text(), before->id.text(), other.id.text(),
                    whole_machine ? setup.machine.text() : setup.device.text())));
  }
}

}  // namespace

Lists CheckPlanList(const Plan& plan, const Shop& shop) {
  Lists lists(plan.setups.size());
  CheckNames(plan, lists);
  CheckOrder(plan, lists);
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    const Setup& setup = plan.setups[i];
    if (setup.keeps_chucking && !setup.parts.empty()) CheckKept(plan, shop, i, lists[i]);
  }
  return lists;
}

}  // namespace fitwright::replay
