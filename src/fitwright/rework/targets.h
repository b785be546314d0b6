// Sizes that are still to be cut, aimed anew by what was read of the rest.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/rework/standing.h"
#include "fitwright/rework/weighed_builds.h"

namespace fitwright::rework {

// What a changed figure costs whoever has the old one in mind or on paper: opinion.
inline constexpr double kDisturbance_min = 5;

// A size that is worked to and not cut yet.
struct OpenSize {
  FeatureRef feature;
  const Setup* setup = nullptr;
  const Step* step = nullptr;
  variation::SourceIndex last_cut = 0;
  std::vector<std::size_t> requirements;  // that read it by a length; places
};
std::vector<OpenSize> FindOpenSizes(const Standing& standing, const variation::Analysis& analysis);

// Whether the readings bear on what reads the size.
bool BearsOn(const Conditioning& given, const variation::Analysis& analysis, const OpenSize& size);

struct SizeWindow {
  double aim_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
};

struct SizeTarget {
  OpenSize size;
  SizeWindow planned;  // of a size made to suit a mate that was read: reckoned from the reading
  std::optional<double> mate_mm;
  bool moved = false;       // `now` is not `planned`
  SizeWindow now;           // what a reading of it is to lie in
  double odds_planned = 0;  // that all that reads it is met, given the readings, cut to `planned`
  double odds_now = 0;      // ... and cut to `now`
  double saves_min = 0;     // expected minutes of remedies
};

// Of every open size that the readings bear on. The aim moves only where it saves more than the
// disturbance. Inside the window, once it is read there, the chance that all is met is at least
// 95 in 100 of the best that there is.
std::vector<SizeTarget> FindTargets(const Standing& standing, const variation::Analysis& analysis,
                                    const Conditioning& given, std::int64_t builds);

// The same from the plan itself. Errors: those of variation::Analyse.
Result<std::vector<SizeTarget>> FindTargetsNow(const Standing& standing);

}  // namespace fitwright::rework
