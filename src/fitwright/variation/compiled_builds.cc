#include "fitwright/variation/compiled_builds.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <optional>
#include <utility>

#include "fitwright/variation/compiled_columns.h"
#include "fitwright/variation/compiled_own_draws.h"
#include "fitwright/variation/compiled_steps.h"

namespace fitwright::variation {
namespace {

std::vector<std::size_t> EveryPlace(const Analysis& analysis) {
  std::vector<std::size_t> places(analysis.requirements.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

std::size_t FactorsOf(const FloatLimits& limits) {
  std::size_t factors = 0;
  for (const FloatLimit& limit : limits.limits)
    factors +=
        limit.offset[0].terms.size() + limit.offset[1].terms.size() + limit.room.terms.size();
  return factors;
}

std::size_t FactorsOf(const RequirementForms& r) {
  std::size_t factors = FactorsOf(r.screws);
  for (const FloatLimits& limits : r.stack) factors += FactorsOf(limits);
  for (const Form& form : r.linear) factors += form.terms.size();
  for (const auto& pair : r.vectors) factors += pair[0].terms.size() + pair[1].terms.size();
  return factors;
}

// Floats by how many others they wait for: 0 those that read none.
std::vector<std::size_t> LevelsOf(const Analysis& analysis, const Wanted& wanted) {
  std::map<SourceIndex, std::size_t> filled;  // level of the float that fills a source
  std::vector<std::size_t> levels(analysis.plays.size());
  for (std::size_t p = 0; p < analysis.plays.size(); ++p) {
    if (wanted.plays[p] == 0) continue;
    const Play& play = analysis.plays[p];
    std::vector<std::uint8_t> read(analysis.sources.size());
    MarkRead(play, read);
    for (const auto& [source, level] : filled) {
      if (read[source] != 0) levels[p] = std::max(levels[p], level + 1);
    }
    filled[play.tx] = filled[play.ty] = levels[p];
    if (play.theta) filled[*play.theta] = levels[p];
  }
  return levels;
}

// One program in the making.
class Emitter {
 public:
  Emitter(const Analysis& analysis, const Figures& figures, CompiledBuilds& out)
      : analysis_(analysis), figures_(figures), out_(out), program_(out.program) {}

  void AddSources(const std::vector<SourceIndex>& read, const VectorLengths& lengths) {
    SourceColumns columns(analysis_.sources, figures_, lengths, program_);
    for (const SourceIndex s : read) {
      const SourcePart part = parts_[s] = columns.Of(s);
      out_.sources_read += part.factor != 0 ? 1 : 0;
    }
  }

  // Columns of their own, which a first step fills. Floats of `discs` rest in a disc each.
  void AddOwnSources(const std::vector<SourceIndex>& read, const std::vector<std::size_t>& discs,
                     const BlockOptions& draws) {
    std::vector<OwnColumn> columns;
    for (const SourceIndex s : read) {
      parts_[s] = {0, 1, program_.columns};
      columns.push_back({s, program_.columns++});
    }
    std::vector<OwnDisc> own_discs;
    for (const std::size_t play : discs) {
      disc_of_[play] = program_.columns;
      own_discs.push_back({analysis_.plays[play].key, program_.columns});
      program_.columns += 2;
    }
    stats::TrialStage first;
    first.steps.push_back(
        StepOfOwnDraws(analysis_, figures_, draws, std::move(columns), std::move(own_discs)));
    program_.stages.push_back(std::move(first));
  }

  void AddPlay(const PlayRows& rows, stats::TrialStage& stage) {
    const Play& play = analysis_.plays[rows.play];
    PlayColumns columns;
    columns.x = program_.columns;
    program_.columns += 2;
    parts_[play.tx] = {0, 1, columns.x};
    parts_[play.ty] = {0, 1, columns.x + 1};
    if (RestsInOneDisc(play)) {
      // Nothing turns it.
      if (play.theta) parts_[*play.theta] = {};
      stage.rests.push_back(RestInDisc(play, rows, columns, DiscOf(rows.play)));
      return;
    }
    if (play.theta) {
      columns.theta = program_.columns++;
      parts_[*play.theta] = {0, 1, columns.theta};
    }
    stage.steps.push_back(StepOfPlay(play, rows, columns, figures_));
  }

  std::vector<std::vector<stats::TrialTerm>> Merged(const std::vector<SourceIndex>& normals,
                                                    const MergedNormals& merged, std::size_t rows) {
    std::vector<double> sizes;
    for (const SourceIndex s : normals) sizes.push_back(parts_.at(s).factor);
    std::vector<std::vector<stats::TrialTerm>> of_normals(rows);
    merged.Emit(sizes, program_, of_normals);
    return of_normals;
  }

  // of_normals: what each row takes of merged normals.
  void AddRows(const std::vector<CompiledRow>& rows,
               const std::vector<std::vector<stats::TrialTerm>>& of_normals) {
    for (std::size_t r = 0; r < rows.size(); ++r) {
      stats::TrialRow row;
      row.constant = rows[r].form.constant;
      row.first_term = static_cast<std::uint32_t>(program_.terms.size());
      for (const Term& t : rows[r].form.terms) {
        const SourcePart& part = parts_.at(t.source);
        row.constant += t.factor * part.mean;
        if (part.column) program_.terms.push_back({*part.column, t.factor * part.factor});
      }
      program_.terms.insert(program_.terms.end(), of_normals[r].begin(), of_normals[r].end());
      row.terms = static_cast<std::uint32_t>(program_.terms.size()) - row.first_term;
      row.low = rows[r].low;
      row.high = rows[r].high;
      row.outcome = rows[r].outcome;
      row.kept = rows[r].kept;
      program_.rows.push_back(row);
    }
  }

 private:
  // Where a point of the unit disc stands for the float; none where nothing is left to chance.
  std::optional<std::uint32_t> DiscOf(std::size_t place) {
    const Play& play = analysis_.plays[place];
    if (!(figures_[Place(SpreadId::kJointPlay)].spread > 0) || IsPushed(play)) return std::nullopt;
    if (const auto own = disc_of_.find(place); own != disc_of_.end()) return own->second;
    const std::uint32_t disc = program_.columns;
    program_.draws.push_back(
        {.law = stats::DrawLaw::kDisc, .key = play.key, .length_key = play.key, .column = disc});
    program_.columns += 2;
    return disc;
  }

  const Analysis& analysis_;
  const Figures& figures_;
  CompiledBuilds& out_;
  stats::TrialProgram& program_;
  std::map<SourceIndex, SourcePart> parts_;
  std::map<std::size_t, std::uint32_t> disc_of_;  // of floats whose discs are drawn by a step
};

}  // namespace

BuildCompiler::BuildCompiler(const Analysis& analysis)
    : BuildCompiler(analysis, EveryPlace(analysis)) {}

BuildCompiler::BuildCompiler(const Analysis& analysis, std::vector<std::size_t> requirements)
    : analysis_(analysis),
      requirements_(std::move(requirements)),
      wanted_(WantedOf(analysis, requirements_)) {
  AddPlays();
  for (std::size_t o = 0; o < requirements_.size(); ++o)
    requirement_rows_.push_back(rows_.Add(analysis.requirements[requirements_[o]], requirements_[o],
                                          static_cast<std::uint32_t>(o)));
  FindNormals();
}

void BuildCompiler::AddPlays() {
  const std::vector<std::size_t> levels = LevelsOf(analysis_, wanted_);
  std::size_t left = 0;
  for (const std::uint8_t play : wanted_.plays) left += play;
  for (std::size_t level = 0; left > 0; ++level) {
    Stage stage;
    for (std::size_t p = 0; p < levels.size(); ++p) {
      if (wanted_.plays[p] != 0 && levels[p] == level)
        stage.plays.push_back(rows_.Add(analysis_.plays[p], p));
    }
    left -= stage.plays.size();
    stage.before_row = static_cast<std::uint32_t>(rows_.rows().size());
    stages_.push_back(std::move(stage));
  }
}

void BuildCompiler::FindNormals() {
  std::map<SourceIndex, std::vector<std::pair<std::uint32_t, double>>> reads;
  const std::vector<CompiledRow>& rows = rows_.rows();
  std::vector<std::uint64_t> keys;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    keys.push_back(rows[r].key);
    for (const Term& t : rows[r].form.terms) {
      if (analysis_.sources[t.source].law != Law::kPlay)
        reads[t.source].push_back({static_cast<std::uint32_t>(r), t.factor});
    }
  }
  for (const auto& [source, row] : reads) read_.push_back(source);
  const VectorLengths lengths(analysis_.sources, read_);
  std::vector<NormalColumn> normals;
  for (auto& [source, factors] : reads) {
    const Source& s = analysis_.sources[source];
    if (!lengths.IsNormal(s)) continue;
    std::erase_if(factors, [](const auto& one) { return one.second == 0; });
    normals_.push_back(source);
    normals.push_back({NormalKeyOf(s), std::move(factors)});
  }
  merged_.emplace(normals, keys);
}

CompiledBuilds BuildCompiler::At(const Figures& figures) const { return Made(figures, nullptr); }

CompiledBuilds BuildCompiler::OwnDrawsAt(const Figures& figures, const BlockOptions& draws) const {
  return Made(figures, &draws);
}

CompiledBuilds BuildCompiler::Made(const Figures& figures, const BlockOptions* own) const {
  CompiledBuilds out;
  out.requirements = requirements_;
  out.rows = requirement_rows_;
  stats::TrialProgram& program = out.program;
  program.outcomes = static_cast<std::uint32_t>(requirements_.size());
  program.conditions = rows_.conditions();
  Emitter emitter(analysis_, figures, out);
  if (own != nullptr) {
    emitter.AddOwnSources(read_, Discs(), *own);
  } else {
    emitter.AddSources(read_, VectorLengths(analysis_.sources, read_));
  }
  for (const Stage& stage : stages_) {
    stats::TrialStage made;
    made.before_row = stage.before_row;
    for (const PlayRows& rows : stage.plays) emitter.AddPlay(rows, made);
    program.stages.push_back(std::move(made));
  }
  const std::size_t rows = rows_.rows().size();
  emitter.AddRows(rows_.rows(), own != nullptr ? std::vector<std::vector<stats::TrialTerm>>(rows)
                                               : emitter.Merged(normals_, *merged_, rows));
  stats::TrialStage last;
  last.before_row = static_cast<std::uint32_t>(rows);
  for (std::size_t o = 0; o < requirements_.size(); ++o) {
    const RequirementForms& r = analysis_.requirements[requirements_[o]];
    out.factors_read += FactorsOf(r);
    if (NeedsStep(r))
      last.steps.push_back(
          StepOfRequirement(r, requirement_rows_[o], static_cast<std::uint32_t>(o), figures));
  }
  if (!last.steps.empty()) program.stages.push_back(std::move(last));
  return out;
}

std::vector<std::size_t> BuildCompiler::Discs() const {
  std::vector<std::size_t> discs;
  for (const Stage& stage : stages_) {
    for (const PlayRows& rows : stage.plays) {
      if (RestsInOneDisc(analysis_.plays[rows.play])) discs.push_back(rows.play);
    }
  }
  return discs;
}

std::vector<double> MeasuredValues(const Analysis& analysis, const CompiledBuilds& compiled,
                                   const Figures& figures, const stats::TrialRun& run,
                                   const std::vector<bool>& only) {
  const auto trials = static_cast<std::size_t>(run.trials);
  std::vector<double> values(compiled.requirements.size() * trials);
  const bool done = stats::EachTrialBlock(
      compiled.program, run, true, [&](std::size_t b, const stats::TrialBlock& block) {
        for (std::size_t k = 0; k < compiled.requirements.size(); ++k) {
          if (!only.empty() && !only[k]) continue;
          FillMeasured(analysis.requirements[compiled.requirements[k]], compiled.rows[k], figures,
                       block, values.data() + k * trials + b * kLanes);
        }
      });
  if (!done) values.clear();
  return values;
}

CompiledBuilds CompileBuilds(const Analysis& analysis, const Figures& figures) {
  return BuildCompiler(analysis).At(figures);
}

}  // namespace fitwright::variation
