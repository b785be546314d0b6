#include <algorithm>

#include "fitwright/stats/trials.h"

namespace fitwright::stats {
namespace {

// What is read, found backwards through the stages of a program.
class Reads {
 public:
  explicit Reads(TrialProgram& program)
      : program_(program), columns_(program.columns), row_(program.rows.size()) {
    for (TrialRow& row : program_.rows) row.kept = false;
    for (const TrialCondition& c : program_.conditions) {
      Keep(c.x);
      Keep(c.y);
      if (c.row) Keep(*c.row);
    }
    for (auto stage = program_.stages.rbegin(); stage != program_.stages.rend(); ++stage)
      Trim(*stage);
    ReadRows(0);
    std::erase_if(program_.draws, [&](const TrialDraw& draw) {
      return !columns_[draw.column] && !(IsWide(draw.law) && columns_[draw.column + 1]);
    });
  }

 private:
  static bool IsWide(DrawLaw law) {
    return law == DrawLaw::kRound || law == DrawLaw::kFolded || law == DrawLaw::kDisc;
  }

  void Keep(std::uint32_t row) { program_.rows[row].kept = true; }

  void ReadRows(std::size_t from) {
    while (row_ > from) {
      const TrialRow& row = program_.rows[--row_];
      if (!row.kept && !row.outcome) continue;
      for (std::uint32_t t = row.first_term; t < row.first_term + row.terms; ++t)
        columns_[program_.terms[t].column] = true;
    }
  }

  // Rows from the stage on are known to be read or not by then.
  void Trim(TrialStage& stage) {
    ReadRows(stage.before_row);
    std::erase_if(stage.rests, [&](const TrialRest& rest) {
      return !columns_[rest.column] && !columns_[rest.column + 1];
    });
    std::erase_if(stage.steps, [&](const TrialStep& step) {
      return !step.outcome && std::none_of(step.columns.begin(), step.columns.end(),
                                           [&](std::uint32_t c) { return columns_[c]; });
    });
    for (const TrialRest& rest : stage.rests) {
      Keep(rest.x);
      Keep(rest.y);
      Keep(rest.room);
      if (rest.disc) columns_[*rest.disc] = columns_[*rest.disc + 1] = true;
    }
    for (const TrialStep& step : stage.steps) {
      for (const std::uint32_t row : step.rows) Keep(row);
    }
  }

  TrialProgram& program_;
  std::vector<bool> columns_;
  std::size_t row_;
};

}  // namespace

TrialProgram OnlyOutcomes(TrialProgram program, const std::vector<std::uint32_t>& outcomes) {
  const auto other = [&](std::uint32_t outcome) {
    return !std::binary_search(outcomes.begin(), outcomes.end(), outcome);
  };
  std::erase_if(program.conditions, [&](const TrialCondition& c) { return other(c.outcome); });
  for (TrialRow& row : program.rows) {
    if (row.outcome && other(*row.outcome)) row.outcome.reset();
  }
  for (TrialStage& stage : program.stages)
    std::erase_if(stage.steps,
                  [&](const TrialStep& step) { return step.outcome && other(*step.outcome); });
  Reads reads(program);
  return program;
}

}  // namespace fitwright::stats
