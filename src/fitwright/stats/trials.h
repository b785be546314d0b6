// Many trials of a sparse linear map of independent random numbers, held against limits: the whole
// computation is compiled once as plain data and run in blocks, the same bits for any number of
// threads and any vector width.
#pragma once

#include <cstdint>
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
  bool kept = false;  // read by conditions
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

struct TrialProgram {
  std::vector<TrialDraw> draws;
  std::vector<WorkedDraw> worked;
  std::uint32_t columns = 0;
  std::vector<TrialTerm> terms;
  std::vector<TrialRow> rows;
  std::vector<TrialCondition> conditions;
  std::uint32_t outcomes = 0;  // true where every row and condition of it holds
};

inline constexpr std::int64_t kTrialsAtOnce = 64;  // one word of outcomes

struct TrialRun {
  std::uint64_t seed = 1;
  std::int64_t first = 0;   // a multiple of kTrialsAtOnce
  std::int64_t trials = 0;  // the same
  int threads = 0;          // 0 = one a core
  Vectors vectors = Vectors::kWidest;
  const CancelFlag* cancel = nullptr;
};

// words[outcome * trials / 64 + w]: one bit a trial, the first the lowest. Empty when cancelled.
std::vector<std::uint64_t> RunTrials(const TrialProgram& program, const TrialRun& run);
// values[row * trials + trial] of the rows themselves; kept or not.
std::vector<double> RowsOfTrials(const TrialProgram& program, const TrialRun& run);
// values[column * trials + trial] of the draws.
std::vector<double> ColumnsOfTrials(const TrialProgram& program, const TrialRun& run);

}  // namespace fitwright::stats
