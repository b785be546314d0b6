// One setup with what it needs of the shop looked up and its holding device as solids.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/replay/floor.h"
#include "fitwright/replay/rules.h"
#include "fitwright/solid/solid.h"

namespace fitwright::replay {

inline constexpr double kMade_mm = 0.01;  // sizes of holding solids against the device's own

struct Fixture {
  const FixtureSolid* spec = nullptr;
  solid::Solid solid;
  Box3 box;
};

// Everything pointed at outlives the view.
struct SetupView {
  const Shop* shop = nullptr;
  const Setup* setup = nullptr;
  const MachineTool* machine = nullptr;
  const HoldingDevice* device = nullptr;  // null on the bench
  std::vector<Fixture> fixtures;
  const PartId& first() const { return setup->parts.front().part; }
  bool on_lathe() const { return machine->kind == MachineToolKind::kLathe; }
  bool on_bench() const { return machine->kind == MachineToolKind::kBench; }
};

// Collects findings of one setup; those without a part go to the setup's first.
class Findings {
 public:
  explicit Findings(const SetupView& view) : view_(view) {}
  void Add(const StepId& step, Rule rule, std::string say) {
    Add(view_.first(), step, rule, std::move(say));
  }
  // The same thing is said once (three jaws alike).
  void Add(const PartId& part, const StepId& step, Rule rule, std::string say) {
    for (const Finding& f : list_) {
      if (f.part == part && f.step == step && f.rule == rule && f.say == say) return;
    }
    list_.push_back({part, step, rule, std::move(say)});
  }
  // About the setup itself: stands under the setup's id.
  void AddToSetup(Rule rule, std::string say) {
    Add(StepId(view_.setup->id.text()), rule, std::move(say));
  }
  const std::vector<Finding>& list() const { return list_; }
  std::vector<Finding> Take() { return std::move(list_); }

 private:
  const SetupView& view_;
  std::vector<Finding> list_;
};

// Looks up machine and device. What is missing becomes findings and leaves `ok` false: the setup
// cannot be replayed. Errors: kKernel.
struct ViewMade {
  SetupView view;
  std::vector<Finding> findings;
  bool ok = false;
};
Result<ViewMade> MakeSetupView(const Shop& shop, const Setup& setup);

// What a bore is set to or the tool's own diameter.
double DiameterOf(const Tool& tool, const PathPiece& piece);
// Boring heads, hones and bars whose cutting diameter is set within diameter_min_mm..diameter_mm.
bool SetsItsDiameter(const Tool& tool);
// Least and greatest z of the path's points.
std::pair<double, double> HeightsOf(const PathPiece& piece);
// For messages: three decimals at most, no trailing zeros.
std::string Millimetres(double value);

}  // namespace fitwright::replay
