// The plan compiled for sampling: the smallest map that its requirements need, floats and screws
// and formulas with it.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/compiled_merge.h"
#include "fitwright/variation/compiled_rows.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/reads.h"

namespace fitwright::variation {

struct CompiledBuilds {
  stats::TrialProgram program;            // one outcome for each of `requirements`: met
  std::vector<std::size_t> requirements;  // places in the analysis
  std::vector<RequirementRows> rows;      // where their forms stand in the program
  // What the map was before: sources read that vary at all, and factors of the forms as they stand.
  std::size_t sources_read = 0;
  std::size_t factors_read = 0;
};

// Compiles some requirements of an analysis, all if none are named, once for whatever shop. Rows
// that are equal, or opposite, are shared; normal sources (vectors of a length and direction of
// their own among them) are merged (compiled_merge.h); other sources keep their own streams. A
// float that rests in one disc is linear but for one product (stats::TrialRest), the others, screws
// and formulas are steps of the program (compiled_steps.h). Deterministic.
class BuildCompiler {
 public:
  // The analysis must outlive compiler and programs.
  explicit BuildCompiler(const Analysis& analysis);
  BuildCompiler(const Analysis& analysis, std::vector<std::size_t> requirements);

  // In a shop with these figures: they change factors and constants, never the random numbers.
  CompiledBuilds At(const Figures& figures) const;
  // Every source a column of its own, with random numbers as draws.h has them; nothing is merged.
  // The seed of the run must be that of the draws.
  CompiledBuilds OwnDrawsAt(const Figures& figures, const BlockOptions& draws) const;
  const Analysis& analysis() const { return analysis_; }
  const std::vector<std::size_t>& requirements() const { return requirements_; }

 private:
  struct Stage {
    std::uint32_t before_row = 0;
    std::vector<PlayRows> plays;
  };

  void AddPlays();
  void FindNormals();
  std::vector<std::size_t> Discs() const;  // floats that rest in one
  CompiledBuilds Made(const Figures& figures, const BlockOptions* own) const;

  const Analysis& analysis_;
  std::vector<std::size_t> requirements_;
  Wanted wanted_;
  CompiledRows rows_;
  std::vector<RequirementRows> requirement_rows_;
  std::vector<Stage> stages_;
  std::vector<SourceIndex> read_;     // without floats
  std::vector<SourceIndex> normals_;  // those of them that are merged
  std::optional<MergedNormals> merged_;
};

// Measured quantities (FillMeasured) of the run's trials: values[k * trials + trial] of the k-th of
// the compiled requirements; of those whose place in `only` is set, if it is not empty. Empty when
// cancelled.
std::vector<double> MeasuredValues(const Analysis& analysis, const CompiledBuilds& compiled,
                                   const Figures& figures, const stats::TrialRun& run,
                                   const std::vector<bool>& only = {});

// All requirements in a shop with these figures.
CompiledBuilds CompileBuilds(const Analysis& analysis, const Figures& figures);

}  // namespace fitwright::variation
