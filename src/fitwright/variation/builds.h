// Virtual builds: every source drawn, every float come to rest, every requirement tested.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/screws.h"

namespace fitwright::variation {

inline constexpr int kLanes = 64;  // builds that are evaluated side by side

// How sources get their random numbers; always a function of (seed, source's key, build) alone.
enum class Draws : std::uint8_t {
  kCounter,    // independent builds
  kStratified  // a fixed set of `set_size` builds: each source takes each of set_size strata once
};

struct BlockOptions {
  std::uint64_t seed = 1;
  Draws draws = Draws::kCounter;
  int set_size = 1024;  // kStratified; a power of two
  bool values = false;  // fill values of screws too (exact, slower); else only whether they enter
};

// One block of kLanes builds.
struct BlockOutcome {
  std::vector<double> values;         // [requirement * kLanes + lane]: the measured quantity
  std::vector<std::uint8_t> met;      // the same places
  std::vector<double> rework_min;     // per lane: extra cuts
  std::vector<double> remake_min;     // per lane: parts remade because a worked size was spoiled
  std::vector<std::uint8_t> spoiled;  // [worked source's place * kLanes + lane]
  std::vector<std::uint8_t> spoils;   // per lane: any
};

// Random numbers of one block, before any figure: drawn once, used for several virtual shops.
struct Standards {
  std::int64_t first = 0;
  std::vector<double> numbers;
};

// Requirements that are asked for, and what they read; by place, 1 or 0.
struct Wanted {
  std::vector<std::uint8_t> requirements;
  std::vector<std::uint8_t> sources;
  std::vector<std::uint8_t> plays;
};

// Compiled once for an analysis; RunBlock may be called from several threads at once.
class BuildRunner {
 public:
  // `analysis` must outlive the runner. all_worked: draw every worked size, also those that no
  // requirement reads, so that their costs are counted.
  BuildRunner(const Analysis& analysis, bool all_worked);
  // Builds first .. first + kLanes - 1.
  void Draw(std::int64_t first, const BlockOptions& options, Standards& standards) const;
  // These requirements and all that they read.
  Wanted WantedOf(const std::vector<std::size_t>& requirements) const;
  // The same builds in a shop with these figures; only what is wanted is filled.
  void RunBlock(const Standards& standards, const Figures& figures, const BlockOptions& options,
                const Wanted& wanted, BlockOutcome& outcome) const;
  // All requirements.
  void RunBlock(const Standards& standards, const Figures& figures, const BlockOptions& options,
                BlockOutcome& outcome) const;
  // Values of the sources themselves, [source * kLanes + lane]. Sources that nothing reads are 0.
  void FillValues(const Standards& standards, const Figures& figures, const BlockOptions& options,
                  std::vector<double>& values, BlockOutcome& outcome) const;
  const Analysis& analysis() const { return analysis_; }
  bool Reads(SourceIndex source) const { return all_.sources[source] != 0; }

 private:
  void FillWanted(const Standards& standards, const Figures& figures, const BlockOptions& options,
                  const Wanted& wanted, std::vector<double>& values, BlockOutcome& outcome) const;
  void RestPlay(const Play& play, std::int64_t first, const Figures& figures,
                const BlockOptions& options, std::vector<double>& values) const;

  const Analysis& analysis_;
  Wanted all_;
  std::vector<std::size_t> standard_at_;  // per source
  std::size_t standards_ = 0;
};

// Evaluates a form for kLanes builds into out.
void EvaluateLanes(const Form& form, std::span<const double> values, double* out);

}  // namespace fitwright::variation
