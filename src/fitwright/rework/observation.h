// A reading as an equation on the plan's errors: what the instrument shows of a feature, as a form
// over the same sources that everything else is a form over.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::rework {

// One size read at one step of the plan.
struct ReadingTaken {
  FeatureRef feature;            // of several pieces alike the piece: "ring#2.outside"
  const Setup* setup = nullptr;  // of the plan
  const Step* step = nullptr;
  double value_mm = 0;
  double digit_mm = 0;      // the last place that was written down; 0: not known
  InstrumentId instrument;  // empty: not said
  friend bool operator==(const ReadingTaken&, const ReadingTaken&) = default;
};

struct Observation {
  ReadingTaken taken;
  variation::Form shown;  // what the instrument shows, mm, its own error included
  variation::Form real;   // the same quantity without the instrument
  bool is_size = false;   // a diameter or width, not a length between two features
};

// Observations of an analysis, to which their instruments' sources are added.
struct Observed {
  std::vector<Observation> observations;
  // Sources that a reading settles otherwise, as what they are by it: the last cut of a size that
  // was worked to this very reading (whether that reading was inside is known now), and the
  // reading of a mate that something is made to suit.
  std::map<variation::SourceIndex, variation::Form> settled;
  // Places in the readings given that say nothing of the plan's errors: a size that is cut again
  // later, words without figures. Not those that a later one at their step stands for.
  std::vector<std::size_t> unread;
};

// A reading counts where its feature has its final form by then: a diameter or width within reach
// of its step's figures, else the one length between two of the part's features that the figures
// fit. Of several readings at one step the last counts. Reading errors are those of the
// instrument's kind; what was written down with few places adds its own.
Observed Observe(const Machine& machine, const Shop& shop, const Plan& plan,
                 const std::vector<ReadingTaken>& readings, variation::Analysis& analysis);

// Where a step stands in the order of work. nullopt: not of this plan.
std::optional<std::size_t> TurnOf(const Plan& plan, const Step* step);

// The last cut of the size that the feature was worked to, if it was.
std::optional<variation::SourceIndex> LastCutOf(const variation::Analysis& analysis,
                                                const FeatureRef& feature);

// A worked size given the reading that ended its cutting, before that reading is used: value and
// reading error as independent normals. `seen` from the aim.
struct WorkedPrior {
  double mean = 0;
  double variance = 0;
};
WorkedPrior PriorOfWorked(const variation::WorkedSize& worked, double unit,
                          const variation::Figures& figures, double seen);

}  // namespace fitwright::rework
