// "What if": a plan, its shop and its machine with some numbers changed by name.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/units/size.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

struct Project;

// What there is already of the machine that is being made.
struct Made {
  // The analysis of a plan like the project's, by what was read; none: nothing was.
  std::function<Analysis(const Project& project, Analysis analysis)> known;
  std::set<StepId> done;  // on every piece
};

// All that odds are made of.
struct Project {
  Machine machine;
  Shop shop;
  Plan plan;
  std::map<JointId, double>
      eased_mm = {};  // clearance holes of screwed joints: wider than planned by so much
  Made made = {};
};

// The feature is cut by a step that is done.
bool IsCut(const Project& project, const FeatureRef& feature);

// The plan read, its clearance holes eased, by what is known of the machine. Errors as Analyse.
Result<Analysis> AnalyseProject(const Project& project);

// A number that may be asked about, by name.
struct Knob {
  std::string key;
  std::string words;
  std::string unit;  // "mm", "mrad", a spread's own
  double now = 0;
  double least = -1e300;
  std::function<void(Project& project, double value)> set;
};

// In this order: every spread of the shop (`SPREAD`, and `SPREAD.mean` where the row has one),
// limits of requirements
// (`REQUIREMENT.lower`, `.upper`), clearance of holes round screws (`JOINT.clearance`, on the
// diameter), sizes aimed at that are not cut yet (`PART.FEATURE.aim`; where the size is made to a
// measured mate, the clearance aimed at).
std::vector<Knob> KnobsOf(const Project& project);

// One change as said and done, in the knob's unit.
struct Change {
  std::string key;
  std::string words;
  std::string unit;
  double from = 0;
  double to = 0;
};

// "KEY=VALUE". VALUE: a number in the knob's unit (a bare length of limits, clearances and aims in
// `bare`; a length may carry its unit), "x0.5" for so many times what it is, "half", "double".
// Errors: kUsage, with every key and its value now where the key is not known, or what VALUE may
// be.
Result<Change> ApplyWhatIf(std::string_view text, LengthUnit bare, Project& project);

}  // namespace fitwright::variation
