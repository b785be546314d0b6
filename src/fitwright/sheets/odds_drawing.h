// One requirement drawn: how its quantity is spread against its limits, and a strip of a hundred
// builds.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace fitwright::sheets {

struct OddsPicture {
  std::string title;   // the requirement, in words
  std::string limits;  // in words
  std::string chance;  // "96 in 100 (94-97)"
  std::string axis;    // what is along the axis, with its unit
  std::string source;  // how it was found
  int decimals = 3;    // of figures along the axis
  std::vector<double>
      edges;  // in the axis's unit, even, ascending; one more than shares; empty: it does not vary
  std::vector<double> shares;   // of builds between them
  std::optional<double> lower;  // limits on the axis
  std::optional<double> upper;
  std::string lower_text;  // as printed
  std::string upper_text;
  int met = 0;  // of a hundred builds
};

// An SVG page of 160 mm by 100 mm: a line over the axis as high as builds are many there, what lies
// outside the limits hatched, limits by long-dashed lines with their figures; below, a hundred
// strokes in fives, those that miss short and lying. Nothing is said by colour. Deterministic.
std::string DrawOdds(const OddsPicture& picture);

}  // namespace fitwright::sheets
