// A plan read as cuts: every deviation of every feature, part and requirement as a form over named
// sources. Odds, causes and tests all start from here.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/units/expression.h"
#include "fitwright/variation/assembly.h"
#include "fitwright/variation/feature_forms.h"
#include "fitwright/variation/setup_readings.h"
#include "fitwright/variation/source.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::variation {

// What is tested for one requirement.
//   kLinear: every form of `linear` within lower..upper; reported: the one furthest from the
//   middle, where there is only a lower limit the least. kMagnitude: every |(a, b)| of `vectors`,
//   each with the form of `linear` beside it added where there is one, within upper. kClearance:
//   every form of `linear` <= upper, and less the tilt |vectors[0]| * tilt_length >= lower.
//   kScrews: one move of each part that the screws pass brings every screw in. kFormula: the value
//   of `formula` within lower..upper, its names' values those of `linear`, in the order of its
//   names.
enum class TestKind : std::uint8_t { kLinear, kMagnitude, kClearance, kScrews, kFormula };

inline constexpr double kUnlimited = 1e299;  // a limit beyond this is none

struct RequirementForms {
  RequirementId name;
  RequirementKind kind = RequirementKind::kClearance;
  TestKind test = TestKind::kLinear;
  std::vector<Form> linear;
  std::vector<std::array<Form, 2>> vectors;
  double tilt_length_mm = 0;
  double lower = -1e300;
  double upper = 1e300;
  FloatLimits screws;                 // kScrews
  std::vector<FloatLimits> stack;     // kScrews: of each part that the screws pass on their way
  std::optional<Expression> formula;  // kFormula
  std::string formula_text = {};      // kFormula: as written
  std::string unit = {};              // kFormula: of the value, in words; kScrews: "pin" where pins go in
  std::vector<PartId> parts;          // concerned
  std::vector<SourceIndex> worked;    // worked sizes read, whose spoiling is charged by itself
  double remake_min = 0;              // the cheapest part concerned made again
  std::optional<double> mend_min;     // of the remedy that the shop has for it ...
  double mends = 0;                   // ... which mends this share; the rest remake the part
};

// A length that closes the stack of a requirement (stack_fit.h). `length` stands for it in every form until
// ResolveStacks has put in its place what it is made to.
struct StackFit {
  RequirementId requirement;
  SourceIndex length = 0;      // how much longer than drawn, mm
  Form error;                  // of the length itself: last cut and its reading
  Form reading;                // of the measured value of the requirement
  double aim = 0;              // of that value
  SourceIndex known_before = 0;  // sources before this one were there to be measured
};

// Expected minutes of the cheapest way to mend one failure. A part made again the same way fails as often as it
// did: it takes 1 / odds times, at most kMostRemakes (opinion: by then it is done another way).
inline constexpr double kMostRemakes = 10;
double RemedyMinutes(const RequirementForms& r, double odds);

struct PartMinutes {
  PartId part;
  double minutes = 0;  // of all setups in which it is the part held
};

struct Analysis {
  SourceTable sources;
  Figures figures{};
  FeatureMap features;            // as finished, in their parts' frames
  std::map<PartId, Form6> seats;  // last setup displacement of each part, in P (for tests)
  PlacedMap placed_W;             // as put together at the end
  std::vector<Play> plays;        // in the order in which they are drawn
  std::vector<RequirementForms> requirements;  // in the machine's order
  std::vector<PartMinutes> parts;
  std::vector<StackFit> fits;  // in the order of work; resolved
  double setting_min = 0;  // expected, of what looks find to be set right
  double blunders_expected = 0;
  std::vector<std::string> assumed;
};

// Reads the plan. Errors: kNoPlan with setup or step: a setup located by fewer than five
// independent contacts, or five that leave a cut free to move; over-determined contacts that
// nothing adjusts; a requirement on a feature that is never made. kUnknownFeature, kUnknownPart,
// kWrongFeatureKind. Deterministic; cost a few microseconds a step. `known` may be null; else what it remembers of setups is
// not read again, and the answer is the same but for `assumed` and blunders_expected, which are left out.
Result<Analysis> Analyse(const Machine& machine, const Shop& shop, const Plan& plan, const KnownSetups* known = nullptr);

}  // namespace fitwright::variation
