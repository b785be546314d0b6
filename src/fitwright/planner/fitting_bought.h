// Fitting what is bought and has no place of its own: screws, nuts, pins, belts; the rest of the list at the end.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// Where a bought screw or nut goes: a thread of its size that no screwed joint takes, and what stands over the thread
// with a hole or a slot on its axis, from the head down.
struct ThreadPlace {
  FeatureRef thread;
  std::vector<FeatureRef> passes;
  int count = 1;
};
// Of each bought screw without a place of its own. Where several threads would do, the one whose parts' names its own words
// have; as many as it is bought for, and none where that does not settle it.
std::map<PartId, std::vector<ThreadPlace>> FindThreadPlaces(const Machine& machine);

class FittingBought {
 public:
  // pinned: joints whose pins were driven before.
  FittingBought(const Machine& machine, const Shop& shop, const std::set<JointId>& pinned);

  // What is fitted now that `joined` are one piece; each once, in the file's order, pins first.
  std::vector<Step> Fit(const std::set<PartId>& joined);
  // What the list has and no thread or joint tells the place of.
  std::vector<Step> Left();
  // Belts over what is in `there`.
  std::vector<Step> Belts(const std::set<PartId>& there);
  // Where a belt runs and no part is a guard: that one is wanted.
  std::vector<Step> Guards() const;

 private:
  bool IsPin(const BoughtPart& bought) const;
  void FitPins(const std::set<PartId>& joined, std::vector<Step>& steps);
  void FitNamed(const std::set<PartId>& joined, std::vector<Step>& steps);

  const Machine& machine_;
  const Shop& shop_;
  std::map<PartId, std::vector<ThreadPlace>> places_;  // not filled yet
  std::set<PartId> placed_;                             // has places, or is fitted
  std::set<JointId> joined_;                            // pinned or belted
};

// The pin of a pinned joint as it is bought: "slotted spring pin 3 x 18"; "pin 3 mm" where no list has it.
std::string PinWords(const Machine& machine, const Joint& joint);

}  // namespace fitwright::planner
