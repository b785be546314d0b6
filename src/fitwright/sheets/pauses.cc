#include "fitwright/sheets/pauses.h"

#include <algorithm>
#include <map>
#include <set>

namespace fitwright::sheets {
namespace {

// A boundary behind a step, in the order of work.
struct Boundary {
  const Setup* setup;
  const Step* step;
  bool piece_out;
  double at_min;  // worked since the first setup began
  std::vector<FeatureRef> half_done;
};

// Features begun by the steps up to `last` and finished by a later step of the same setup.
std::vector<FeatureRef> HalfDone(const Setup& setup, std::size_t last) {
  std::vector<FeatureRef> half;
  for (std::size_t i = 0; i <= last; ++i) {
    for (const FeatureRef& feature : setup.steps[i].features) {
      const bool goes_on = std::any_of(setup.steps.begin() + static_cast<std::ptrdiff_t>(last) + 1, setup.steps.end(), [&](const Step& later) {
        return std::find(later.features.begin(), later.features.end(), feature) != later.features.end();
      });
      if (goes_on && std::find(half.begin(), half.end(), feature) == half.end()) half.push_back(feature);
    }
  }
  return half;
}

std::vector<Boundary> BoundariesOf(const Plan& plan) {
  std::vector<Boundary> all;
  double at_min = 0;
  for (std::size_t s = 0; s < plan.setups.size(); ++s) {
    const Setup& setup = plan.setups[s];
    double steps_min = 0;
    for (const Step& step : setup.steps) steps_min += step.time_min;
    double done_min = at_min + setup.time_min - steps_min;
    const bool stays = s + 1 < plan.setups.size() && plan.setups[s + 1].keeps_chucking;
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      done_min += setup.steps[i].time_min;
      const bool last = i + 1 == setup.steps.size();
      all.push_back({&setup, &setup.steps[i], last && !stays, done_min, HalfDone(setup, i)});
    }
    at_min += setup.time_min;
  }
  return all;
}

// The better place to break off: the piece out, then the fewest half done, then the later.
bool Better(const Boundary& a, const Boundary& b) {
  if (a.piece_out != b.piece_out) return a.piece_out;
  if (a.half_done.size() != b.half_done.size()) return a.half_done.size() < b.half_done.size();
  return a.at_min > b.at_min;
}

}  // namespace

std::vector<Pause> FindPauses(const Plan& plan, double longest_min) {
  const std::vector<Boundary> all = BoundariesOf(plan);
  std::vector<Pause> pauses;
  double from_min = 0;
  std::size_t next = 0;
  while (next < all.size() && all.back().at_min - from_min > longest_min) {
    std::size_t best = next;
    for (std::size_t i = next; i < all.size() && all[i].at_min - from_min <= longest_min; ++i) {
      if (i == next || Better(all[i], all[best])) best = i;
    }
    if (best + 1 == all.size()) break;
    const Boundary& b = all[best];
    pauses.push_back({b.setup->id, b.step->id, b.piece_out, b.at_min - from_min, b.half_done});
    from_min = b.at_min;
    next = best + 1;
  }
  return pauses;
}

std::vector<const Setup*> WorkBeside(const Plan& plan, const Setup& setup) {
  std::set<SetupId> waiting = {setup.id};
  const auto shares_piece = [&](const Setup& other) {
    return std::any_of(other.parts.begin(), other.parts.end(), [&](const PartPose& p) {
      return std::any_of(setup.parts.begin(), setup.parts.end(), [&](const PartPose& q) { return q.part == p.part; });
    });
  };
  std::vector<const Setup*> beside;
  bool behind = false;
  for (const Setup& other : plan.setups) {
    if (&other == &setup) {
      behind = true;
      continue;
    }
    if (!behind) continue;
    const bool waits = std::any_of(other.waits_for.begin(), other.waits_for.end(), [&](const SetupId& id) { return waiting.contains(id); });
    // The piece's own later setups, and what waits for them, come after the wait.
    if (waits || shares_piece(other)) {
      waiting.insert(other.id);
    } else if (setup.contacts.empty() || other.device != setup.device) {
      beside.push_back(&other);
    }
  }
  return beside;
}

}  // namespace fitwright::sheets
