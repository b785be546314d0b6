// Changes of a plan that did not better it, so that they are not judged again before something that
// bears on them has changed. Private to search*.cc.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "fitwright/planner/strategy.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {

// Requirements that hang on how a part is made, places in the machine's list.
using Concerns = std::map<PartId, std::set<std::size_t>>;

// How one strategy differs from another.
struct Change {
  std::string key;            // equal keys, equal new decisions
  std::set<PartId> parts;     // made otherwise
  bool same_devices = true;   // each part is held in the same ones as before, in whatever order
  bool routes_only = true;    // no technique is another
};
Change ChangeOf(const Subjects& subjects, const Strategy& from, const Strategy& to);

// Expected minutes are a sum over parts' own minutes, requirements' remedies and changes of device. So a
// change that lost may win later only by as much as the remedies of the requirements that its parts concern
// have moved since, or by changes of device, which hang on what stands on the machine before and after.
class Tried {
 public:
  // Minutes to put a device up.
  explicit Tried(double device_change_min) : device_change_min_(device_change_min) {}

  // The plan has been changed so.
  void Took(const Change& change);
  // The change cost `by_min` more (infinite: it makes no plan) than the plan without it, which had these
  // remedies of each requirement.
  void Lost(const Change& change, double by_min, const std::vector<double>& remedies_min);
  bool Knows(const Change& change) const { return lost_.contains(change.key); }
  // It lost before, and nothing has come since that could make it win.
  bool LosesAgain(const Change& change, const Concerns& concerns, const std::vector<double>& remedies_min) const;

 private:
  struct Loss {
    double by_min = 0;
    bool makes_no_odds = false;  // nothing reads the difference
    int devices_turn = 0;
    std::vector<double> remedies_min = {};
  };
  double device_change_min_ = 0;
  int devices_turn_ = 0;  // changes of devices so far
  std::map<std::string, Loss> lost_;
};

}  // namespace fitwright::planner
