// What is looked at while the machine is put together: each requirement between parts as soon as it shows and while
// it can still be reached.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/review/assembly_order.h"

namespace fitwright::planner {

class AssemblyLooks {
 public:
  AssemblyLooks(const Machine& machine, const Shop& shop);

  // What goes in before `way` shuts it off: wire in a gap between faces. `joined`: what is one piece after it.
  std::vector<Step> Before(const review::AssemblyStep& way, const std::set<PartId>& joined);
  // What can be read now that `joined` are one piece. A face that another part's face is to meet stands for
  // it where that part is not on yet. A part that screws draw down is where it stays when they are tight.
  std::vector<Step> After(const std::set<PartId>& joined);
  // What none of it showed.
  std::vector<Step> Left();

 private:
  struct Open {
    const Requirement* requirement = nullptr;
    std::set<PartId> parts;      // that it is between
    std::set<PartId> drawn_by;   // and that draw these down
    std::vector<PartId> over;    // shut in: what went on since the wire was laid
    bool laid = false;
  };
  std::optional<Step> Read(const Open& open, const std::set<PartId>& joined) const;

  const Machine& machine_;
  const Shop& shop_;
  std::vector<Open> open_;
};

// Bearings between a shoulder and a circlip move with the shaft by what the circlip leaves.
bool RingsShift(const Machine& machine);
// The look at the float itself with all in place, for a length that was made to a trial.
Step FloatStep(const Machine& machine, const Shop& shop, const Requirement& requirement, const std::set<PartId>& joined);

}  // namespace fitwright::planner
