// What is measured beside the size that each cut works to: depths and shoulders, gaps, grooves, lengths
// left by parting off, a bore's distance from the faces that matter. Frames P and S as in process.h.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/measure_share.h"

namespace fitwright::planner {

// One measurement of a part, to be taken once all of `needs` have their final form.
struct Wanted {
  FeatureId feature;
  std::vector<FeatureId> needs;
  std::string words;                   // "Measure the depth from deck down to floor"; no full stop
  std::vector<InstrumentKind> kinds;   // in the order of choice; empty: by trying, no instrument
  double size_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
  Vec3 open_P = Vec3::Zero();          // outward side that it is reached from; zero: out of the machine
  bool all_round = false;              // turned work that is reached from beside, whichever end faces out
  std::string after;                   // said after the instrument: ", at three places"
  bool finely = false;                 // as well as the shop can
  // Said after it, where a requirement reads it less the distance to another feature: by whether that one is cut yet.
  struct Beside {
    FeatureId other;
    std::string cut_already;
    std::string cut_later;
  };
  std::optional<Beside> beside = {};
  std::string place = {};              // of those with the same one only the first that can be taken counts
};

// All that may be measured on the part beside what its cuts measure themselves; distances that a requirement
// reads to the share that it leaves them (measure_share.h).
std::vector<Wanted> WantedMeasures(const Machine& machine, const Part& part, const Settled& settled = {});

using WantedOfParts = std::map<PartId, std::vector<Wanted>>;

// Adds measuring steps to a setup whose cuts stand: each right after the step that gives it its last
// feature where the piece is open to it as held, else at the end, when the piece is out. `pieces`: as they
// are after the cuts; `wanted`: of every part of the setup; `finely`: features that something is made to
// suit, measured as well as the shop can.
void AddMeasuring(const Shop& shop, const PieceStates& pieces, const WantedOfParts& wanted,
                  const std::vector<FeatureRef>& finely, Setup& setup);

}  // namespace fitwright::planner
