// Many trials of a sparse linear map of independent random numbers, held against limits: the whole
// computation is compiled once as plain data and run in blocks, the same bits for any number of
// threads and any vector width.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/stats/vectors.h"

namespace fitwright::stats {

// What one draw puts into its column. Each is a function of (seed, key, trial) alone. `length_key`
// names the second stream of those that have two.
enum class DrawLaw : std::uint8_t {
  kNormal,      // standard normal
  kHalfNormal,  // its magnitude
  kUniform,     // -1 .. 1
  kFromZero,    // 0 .. 1
  kRound,       // two columns: the plane vector of direction `key` and length sqrt(-2 ln u): with
                // keys of their own two normals, with shared ones a common length or direction
  kFolded,      // two columns: of length |normal|
  kDisc,        // two columns: a point uniform in the unit disc, direction `key`, the length's
                // square uniform
  kLognormal,   // exp(a (b N(length_key) + c N(key)))
  kEvent,       // uniform in b .. c with chance a, else 0
  kWorked       // a size cut, read and cut again: WorkedDraw at place `worked`
};

// A size that is cut again as long as its reading stands on the side that can be put right. Cut:
// value = cut * N - (error of the reading it was aimed from); reading = value + reading * N. At
// most `kMostRecuts` times.
struct WorkedDraw {
  double cut = 0;
  double reading = 0;
  double low = 0;  // limits on the reading
  double high = 0;
  double safe_sign = 1;  // +1: above `high` it may be cut again; -1: below `low`
};
inline constexpr int kMostRecuts = 8;

struct TrialDraw {
  DrawLaw law = DrawLaw::kNormal;
  std::uint64_t key = 0;
  std::uint64_t length_key = 0;
  double a = 0;
  double b = 0;
  double c = 0;
  std::uint32_t column = 0;  // the first that it fills
  std::uint32_t worked = 0;
};

struct TrialTerm {
  std::uint32_t column = 0;
  double factor = 0;
};

// constant + sum of factor * column, within low .. high where it belongs to an outcome.
struct TrialRow {
  double constant = 0;
  std::uint32_t first_term = 0;
  std::uint32_t terms = 0;
  double low = 0;
  double high = 0;
  std::optional<std::uint32_t> outcome = {};
  bool kept = false;  // read by conditions, rests and steps
};

// row + factor * |(x, y)| within low .. high; each a row that is kept, `row` may be missing.
struct TrialCondition {
  std::optional<std::uint32_t> row = {};
  std::uint32_t x = 0;
  std::uint32_t y = 0;
  double factor = 1;
  double low = 0;
  double high = 0;
  std::uint32_t outcome = 0;
};

// Two columns that come to rest in a disc: room * (a point of the unit disc) - (x, y), each a row
// that is kept; room below 0 counts as 0.
struct TrialRest {
  std::uint32_t x = 0;
  std::uint32_t y = 0;
  std::uint32_t room = 0;
  std::optional<std::uint32_t> disc = {};  // the first of two columns; without it this point
  double at_x = 0;
  double at_y = 0;
  std::uint32_t column = 0;  // the first of two that it fills
};

inline constexpr std::int64_t kTrialsAtOnce = 64;  // one word of outcomes

// One block of kTrialsAtOnce trials under way; numbers at the alignment of the widest vectors.
struct TrialBlock {
  std::uint64_t seed = 1;
  std::uint64_t first = 0;  // trial
  Vectors vectors = Vectors::kWidest;
  double* columns = nullptr;       // [column * kTrialsAtOnce + trial]
  double* rows = nullptr;          // the same by row
  bool every_row = false;          // rows that nothing reads are there too
  std::uint64_t* words = nullptr;  // a word an outcome
};

// Whatever else a block takes: fills columns from rows that are kept, or narrows an outcome. Called
// from several threads at once; a function of the block alone.
struct TrialStep {
  std::function<void(const TrialBlock&)> run;
  std::vector<std::uint32_t> rows;            // that it reads
  std::vector<std::uint32_t> columns;         // that it fills
  std::optional<std::uint32_t> outcome = {};  // that it narrows
};

// What is done once the rows before this place are there, and before those from it on.
struct TrialStage {
  std::uint32_t before_row = 0;
  std::vector<TrialRest> rests;
  std::vector<TrialStep> steps;
};

struct TrialProgram {
  std::vector<TrialDraw> draws;
  std::vector<WorkedDraw> worked;
  std::uint32_t columns = 0;
  std::vector<TrialTerm> terms;
  std::vector<TrialRow> rows;
  std::vector<TrialStage> stages;  // ascending by place
  std::vector<TrialCondition> conditions;
  std::uint32_t outcomes = 0;  // true where every row, condition and step of it holds
};

// The program with these outcomes alone (places, ascending): draws, rows, rests and steps that they
// do not read are dropped. Columns, rows and outcomes keep their places; the other outcomes always
// hold.
TrialProgram OnlyOutcomes(TrialProgram program, const std::vector<std::uint32_t>& outcomes);

struct TrialRun {
  std::uint64_t seed = 1;
  std::int64_t first = 0;   // a multiple of kTrialsAtOnce
  std::int64_t trials = 0;  // the same
  int threads = 0;          // 0 = one a core
  Vectors vectors = Vectors::kWidest;
  const CancelFlag* cancel = nullptr;
};

// Runs every block and hands it, on the thread that ran it, to take(number of the block, block).
// every_row: rows that nothing reads are stored too. False when cancelled.
bool EachTrialBlock(const TrialProgram& program, const TrialRun& run, bool every_row,
                    const std::function<void(std::size_t, const TrialBlock&)>& take);

// words[outcome * trials / 64 + w]: one bit a trial, the first the lowest. Empty when cancelled.
std::vector<std::uint64_t> RunTrials(const TrialProgram& program, const TrialRun& run);
// values[row * trials + trial] of the rows themselves; kept or not.
std::vector<double> RowsOfTrials(const TrialProgram& program, const TrialRun& run);
// values[column * trials + trial] of the draws.
std::vector<double> ColumnsOfTrials(const TrialProgram& program, const TrialRun& run);

}  // namespace fitwright::stats
