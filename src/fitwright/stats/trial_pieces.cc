#include "fitwright/stats/trial_pieces.h"

#include <algorithm>
#include <numeric>
#include <optional>

namespace fitwright::stats {
namespace {

constexpr double kMostTwice = 0.25;    // of the whole's cost, reckoned again in another piece
constexpr std::size_t kDrawCost = 45;  // factors
constexpr std::size_t kStepCost = 1000;

bool FillsTwo(DrawLaw law) {
  return law == DrawLaw::kRound || law == DrawLaw::kFolded || law == DrawLaw::kDisc;
}

// Draws, rests and steps in one numbering, with what each fills and reads.
struct Filler {
  enum class Kind : std::uint8_t { kDraw, kRest, kStep } kind = Kind::kDraw;
  std::uint32_t stage = 0;
  std::uint32_t place = 0;  // among its kind; of rests and steps in the stage
  std::vector<std::uint32_t> columns;
  std::vector<std::uint32_t> rows;
  std::vector<std::uint32_t> read_columns;
};

class Reader {
 public:
  explicit Reader(const TrialProgram& program)
      : program_(program),
        filler_of_(program.columns),
        of_outcome_(program.outcomes),
        row_in_(program.rows.size()) {
    for (std::uint32_t d = 0; d < program.draws.size(); ++d) {
      const TrialDraw& draw = program.draws[d];
      Filler one{Filler::Kind::kDraw, 0, d, {draw.column}, {}, {}};
      if (FillsTwo(draw.law)) one.columns.push_back(draw.column + 1);
      Add(std::move(one));
    }
    for (std::uint32_t s = 0; s < program.stages.size(); ++s) AddStage(s);
    for (std::uint32_t r = 0; r < program.rows.size(); ++r) {
      if (program.rows[r].outcome) of_outcome_[*program.rows[r].outcome].rows.push_back(r);
    }
    for (std::uint32_t c = 0; c < program.conditions.size(); ++c)
      of_outcome_[program.conditions[c].outcome].conditions.push_back(c);
    filler_in_.resize(fillers_.size());
  }

  std::vector<TrialPiece> Pieces(std::size_t most) {
    std::vector<TrialPiece> pieces;
    for (std::uint32_t o = 0; o < program_.outcomes; ++o) {
      const std::size_t before = rows_.size();
      const std::size_t fillers_before = fill_.size();
      const std::size_t size_before = size_;
      Read(o);
      if (size_ > most && !outcomes_.empty()) {
        Forget(before, fillers_before, size_before);
        pieces.push_back(Take());
        Read(o);
      }
      outcomes_.push_back(o);
    }
    if (!outcomes_.empty()) pieces.push_back(Take());
    return pieces;
  }

  // In factors, of all pieces.
  std::size_t cost() const { return cost_; }

 private:
  struct OfOutcome {
    std::vector<std::uint32_t> rows;
    std::vector<std::uint32_t> conditions;
    std::vector<std::uint32_t> fillers;  // steps that narrow it
  };

  void Add(Filler one) {
    for (const std::uint32_t c : one.columns)
      filler_of_[c] = static_cast<std::uint32_t>(fillers_.size());
    fillers_.push_back(std::move(one));
  }

  void AddStage(std::uint32_t s) {
    const TrialStage& stage = program_.stages[s];
    for (std::uint32_t i = 0; i < stage.rests.size(); ++i) {
      const TrialRest& rest = stage.rests[i];
      Filler one{Filler::Kind::kRest,         s, i, {rest.column, rest.column + 1},
                 {rest.x, rest.y, rest.room}, {}};
      if (rest.disc) one.read_columns = {*rest.disc, *rest.disc + 1};
      Add(std::move(one));
    }
    for (std::uint32_t i = 0; i < stage.steps.size(); ++i) {
      const TrialStep& step = stage.steps[i];
      if (step.outcome)
        of_outcome_[*step.outcome].fillers.push_back(static_cast<std::uint32_t>(fillers_.size()));
      Add({Filler::Kind::kStep, s, i, step.columns, step.rows, {}});
    }
  }

  void Read(std::uint32_t outcome) {
    const OfOutcome& of = of_outcome_[outcome];
    for (const std::uint32_t r : of.rows) ReadRow(r);
    for (const std::uint32_t c : of.conditions) {
      const TrialCondition& condition = program_.conditions[c];
      ReadRow(condition.x);
      ReadRow(condition.y);
      if (condition.row) ReadRow(*condition.row);
    }
    for (const std::uint32_t f : of.fillers) ReadFiller(f);
    while (rows_done_ < rows_.size() || fill_done_ < fill_.size()) {
      if (rows_done_ < rows_.size()) {
        const TrialRow& row = program_.rows[rows_[rows_done_++]];
        for (std::uint32_t t = row.first_term; t < row.first_term + row.terms; ++t)
          ReadColumn(program_.terms[t].column);
        continue;
      }
      const Filler& one = fillers_[fill_[fill_done_++]];
      for (const std::uint32_t r : one.rows) ReadRow(r);
      for (const std::uint32_t c : one.read_columns) ReadColumn(c);
    }
  }

  void ReadRow(std::uint32_t r) {
    if (row_in_[r]) return;
    row_in_[r] = true;
    rows_.push_back(r);
    ++size_;
  }
  void ReadColumn(std::uint32_t c) {
    if (filler_of_[c]) ReadFiller(*filler_of_[c]);
  }
  void ReadFiller(std::uint32_t f) {
    if (filler_in_[f]) return;
    filler_in_[f] = true;
    fill_.push_back(f);
    size_ += fillers_[f].columns.size();
  }

  // What was read from these numbers on.
  void Forget(std::size_t rows, std::size_t fillers, std::size_t size) {
    for (std::size_t i = rows; i < rows_.size(); ++i) row_in_[rows_[i]] = false;
    for (std::size_t i = fillers; i < fill_.size(); ++i) filler_in_[fill_[i]] = false;
    rows_.resize(rows);
    fill_.resize(fillers);
    rows_done_ = rows;
    fill_done_ = fillers;
    size_ = size;
  }

  TrialPiece Take() {
    TrialPiece piece;
    piece.stages.resize(program_.stages.size() + 1);
    std::sort(rows_.begin(), rows_.end());
    std::size_t stage = 0;
    for (const std::uint32_t r : rows_) {
      while (stage < program_.stages.size() && r >= program_.stages[stage].before_row) ++stage;
      piece.stages[stage].rows.push_back(r);
      cost_ += program_.rows[r].terms;
    }
    std::sort(fill_.begin(), fill_.end());
    for (const std::uint32_t f : fill_) {
      const Filler& one = fillers_[f];
      if (one.kind == Filler::Kind::kDraw) piece.draws.push_back(one.place);
      if (one.kind == Filler::Kind::kRest) piece.stages[one.stage].rests.push_back(one.place);
      if (one.kind == Filler::Kind::kStep) piece.stages[one.stage].steps.push_back(one.place);
      cost_ += one.kind == Filler::Kind::kStep ? kStepCost : kDrawCost;
    }
    for (const std::uint32_t o : outcomes_) {
      const auto& conditions = of_outcome_[o].conditions;
      piece.conditions.insert(piece.conditions.end(), conditions.begin(), conditions.end());
    }
    piece.outcomes = std::move(outcomes_);
    outcomes_.clear();
    Forget(0, 0, 0);
    return piece;
  }

  const TrialProgram& program_;
  std::vector<Filler> fillers_;
  std::vector<std::optional<std::uint32_t>> filler_of_;  // of each column
  std::vector<OfOutcome> of_outcome_;
  // The piece in the making.
  std::vector<bool> row_in_;
  std::vector<bool> filler_in_;
  std::vector<std::uint32_t> rows_;
  std::vector<std::uint32_t> fill_;
  std::size_t rows_done_ = 0;
  std::size_t fill_done_ = 0;
  std::size_t size_ = 0;
  std::vector<std::uint32_t> outcomes_;
  std::size_t cost_ = 0;
};

std::vector<std::uint32_t> AllOf(std::size_t count) {
  std::vector<std::uint32_t> places(count);
  std::iota(places.begin(), places.end(), 0U);
  return places;
}

std::size_t CostOf(const TrialProgram& program) {
  std::size_t cost = program.draws.size() * kDrawCost;
  for (const TrialRow& row : program.rows) cost += row.kept || row.outcome ? row.terms : 0;
  for (const TrialStage& stage : program.stages)
    cost += stage.rests.size() * kDrawCost + stage.steps.size() * kStepCost;
  return cost;
}

}  // namespace

TrialPiece WholeOf(const TrialProgram& program, bool every_row) {
  TrialPiece piece;
  piece.draws = AllOf(program.draws.size());
  piece.conditions = AllOf(program.conditions.size());
  piece.outcomes = AllOf(program.outcomes);
  piece.stages.resize(program.stages.size() + 1);
  std::uint32_t row = 0;
  for (std::size_t s = 0; s <= program.stages.size(); ++s) {
    const bool last = s == program.stages.size();
    const std::size_t end = last ? program.rows.size() : program.stages[s].before_row;
    for (; row < end; ++row) {
      const TrialRow& one = program.rows[row];
      if (every_row || one.kept || one.outcome) piece.stages[s].rows.push_back(row);
    }
    if (last) break;
    piece.stages[s].rests = AllOf(program.stages[s].rests.size());
    piece.stages[s].steps = AllOf(program.stages[s].steps.size());
  }
  return piece;
}

std::vector<TrialPiece> PiecesOf(const TrialProgram& program, std::size_t most) {
  if (program.columns + program.rows.size() > most) {
    Reader reader(program);
    std::vector<TrialPiece> pieces = reader.Pieces(most);
    const auto whole = static_cast<double>(CostOf(program));
    if (static_cast<double>(reader.cost()) <= (1 + kMostTwice) * whole) return pieces;
  }
  std::vector<TrialPiece> whole;
  whole.push_back(WholeOf(program, false));
  return whole;
}

}  // namespace fitwright::stats
