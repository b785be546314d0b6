// Sources as columns of draws.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// What a source becomes: mean + factor * (a normal of its own, or a column).
struct SourcePart {
  double mean = 0;
  double factor = 0;
  std::optional<std::uint32_t> column;
};

// Whether a vector's length is read by no other: its components are then independent normals.
class VectorLengths {
 public:
  VectorLengths(const SourceTable& sources, const std::vector<SourceIndex>& read);
  // Normals, and components of vectors of a length of their own.
  bool IsNormal(const Source& source) const;

 private:
  std::map<std::uint64_t, std::set<std::uint64_t>> directions_;  // of a common length
};

// A stable name for a source that IsNormal.
std::uint64_t NormalKeyOf(const Source& source);

// Turns sources into columns of draws, those that are normal into sizes alone.
class SourceColumns {
 public:
  SourceColumns(const SourceTable& sources, const Figures& figures, const VectorLengths& lengths,
                stats::TrialProgram& program)
      : sources_(sources), figures_(figures), lengths_(lengths), program_(program) {}

  // Not of a float. A normal has no column: its factor is its size.
  SourcePart Of(SourceIndex index);

 private:
  SourcePart Scaled(const stats::TrialDraw& draw, double mean, double factor);
  std::uint32_t Column(stats::TrialDraw draw, std::uint32_t wide);
  SourcePart Vector(const Source& s, double spread);
  SourcePart Lognormal(const Source& s);
  SourcePart Worked(const Source& s);

  const SourceTable& sources_;
  const Figures& figures_;
  const VectorLengths& lengths_;
  stats::TrialProgram& program_;
  std::map<std::pair<std::uint64_t, bool>, std::uint32_t> vectors_;
};

}  // namespace fitwright::variation
