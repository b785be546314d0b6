// Parts of a program that are run one after the other, so that the numbers of each stay in the
// cache. Private to this layer.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/stats/trials.h"

namespace fitwright::stats {

// What some outcomes read of a program, as places in its lists, each ascending.
struct TrialPiece {
  struct Stage {
    std::vector<std::uint32_t> rows;  // before the rests and steps
    std::vector<std::uint32_t> rests;
    std::vector<std::uint32_t> steps;
  };
  std::vector<std::uint32_t> draws;
  std::vector<Stage> stages;  // the program's, and a last one of rows alone
  std::vector<std::uint32_t> conditions;
  std::vector<std::uint32_t> outcomes;
};

// The program in one piece; rows that nothing reads only if every_row.
TrialPiece WholeOf(const TrialProgram& program, bool every_row);

// Pieces with every outcome in one of them: neighbouring outcomes that read at most `most` columns
// and rows together. What two pieces read is reckoned in both, with the same answer. The whole
// where that is no more than `most`, or where too much would be reckoned twice.
std::vector<TrialPiece> PiecesOf(const TrialProgram& program, std::size_t most);

}  // namespace fitwright::stats
