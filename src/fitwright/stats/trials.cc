#include "fitwright/stats/trials.h"

#include "fitwright/base/check.h"
#include "fitwright/base/parallel.h"
#include "fitwright/stats/random.h"
#include "fitwright/stats/trial_pieces.h"

// What a kernel works on: one block of kTrialsAtOnce trials.
#ifndef FITWRIGHT_STATS_TRIALS_BLOCK_
#define FITWRIGHT_STATS_TRIALS_BLOCK_
namespace fitwright::stats {

// Per draw: the keys of its two streams under the run's seed.
struct DrawStreams {
  std::uint64_t own = 0;
  std::uint64_t length = 0;
};

inline constexpr std::size_t kBlock = kTrialsAtOnce;

}  // namespace fitwright::stats
#endif

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "fitwright/stats/trials.cc"
#include <hwy/foreach_target.h>
#include <hwy/highway.h>

#include "fitwright/stats/lanes-inl.h"

HWY_BEFORE_NAMESPACE();
namespace fitwright::stats::HWY_NAMESPACE {

using D = hn::CappedTag<double, 8>;
using DU = hn::RebindToUnsigned<D>;
using V = hn::Vec<D>;

// Blocks of counters of one stream's draws are kept apart from random.h's and points.h's by the
// last word, and from each other by the lane.
constexpr std::uint32_t kMark = 2;
constexpr std::uint32_t kOwnLane = 0;
constexpr std::uint32_t kLengthLane = 1;
constexpr std::uint32_t kCutLane = 2;  // and one more for each cut again

// One counter gives numbers of two trials: of the 16 from `first + 16 g` on, counter k < 8 those of
// trials k and k + 8. So every width up to eight sees the same pairs.
constexpr std::size_t kGroup = 16;
constexpr std::size_t kHalfGroup = 8;

struct Two {
  V first;
  V second;
};

// Box and Muller's two normals of two uniforms.
HWY_INLINE Two NormalsOf(const Two& u) {
  const D d;
  const V length = hn::Sqrt(hn::Mul(hn::Set(d, -2.0), Log(d, u.first)));
  V sine = hn::Zero(d);
  V cosine = hn::Zero(d);
  SinCosOfTurns(d, u.second, sine, cosine);
  return {hn::Mul(length, cosine), hn::Mul(length, sine)};
}

// Where a counter's first number stands in the block; the second half a group further.
HWY_INLINE std::size_t PlaceOf(std::size_t counter) {
  return counter / kHalfGroup * kGroup + counter % kHalfGroup;
}

// Fewer than the ten of random.h: Philox4x32 with seven is the least that passes all of the tests
// of its authors (SC'11, table 2; from memory), ten their margin. These draws are kept nowhere.
constexpr std::size_t kRounds = 7;

class Stream {
 public:
  HWY_INLINE Stream(std::uint64_t key, std::uint32_t lane) : lane_(lane) {
    FillKeys(DU(), key, keys_);
  }
  HWY_INLINE Two Uniforms(std::uint64_t counter) const {
    return UniformsAt(hn::Iota(DU(), counter));
  }
  HWY_INLINE Two UniformsAt(hn::Vec<DU> counters) const {
    const PhiloxWords<DU> words = Philox<kRounds>(DU(), counters, lane_, kMark, keys_);
    return {ToUniform(D(), words.first), ToUniform(D(), words.second)};
  }
  HWY_INLINE Two Normals(std::uint64_t counter) const { return NormalsOf(Uniforms(counter)); }
  // The uniforms of a whole block.
  HWY_INLINE void FillBlock(std::uint64_t first, double* out) const {
    const D d;
    const std::size_t N = hn::Lanes(d);
    for (std::size_t c = 0; c < kBlock / 2; c += 2 * N) {
      PhiloxWords<DU> words;
      PhiloxWords<DU> other;
      PhiloxTwice<kRounds>(DU(), hn::Iota(DU(), first / 2 + c), hn::Iota(DU(), first / 2 + c + N),
                           lane_, kMark, keys_, words, other);
      double* at = out + PlaceOf(c);
      hn::Store(ToUniform(d, words.first), d, at);
      hn::Store(ToUniform(d, words.second), d, at + kHalfGroup);
      at = out + PlaceOf(c + N);
      hn::Store(ToUniform(d, other.first), d, at);
      hn::Store(ToUniform(d, other.second), d, at + kHalfGroup);
    }
  }
  HWY_INLINE void SetLane(std::uint32_t lane) { lane_ = lane; }

 private:
  PhiloxKeys<DU> keys_;
  std::uint32_t lane_;
};

HWY_INLINE Two Straight(const TrialDraw& draw, const Two& u) {
  const D d;
  switch (draw.law) {
    case DrawLaw::kNormal:
      return NormalsOf(u);
    case DrawLaw::kHalfNormal: {
      const Two n = NormalsOf(u);
      return {hn::Abs(n.first), hn::Abs(n.second)};
    }
    case DrawLaw::kUniform: {
      const V one = hn::Set(d, 1.0);
      return {hn::Sub(hn::Add(u.first, u.first), one), hn::Sub(hn::Add(u.second, u.second), one)};
    }
    case DrawLaw::kEvent: {
      const V chance = hn::Set(d, draw.a);
      const V slope = hn::Set(d, draw.a > 0 ? (draw.c - draw.b) / draw.a : 0);
      const V low = hn::Set(d, draw.b);
      return {hn::IfThenElseZero(hn::Lt(u.first, chance), Fma(slope, u.first, low)),
              hn::IfThenElseZero(hn::Lt(u.second, chance), Fma(slope, u.second, low))};
    }
    default:
      return u;
  }
}

// Draws of one stream and one column: all uniforms first, so that the steps of many are under way
// at once, then what the law makes of them.
void FillStraight(const TrialDraw& draw, const DrawStreams& streams, std::uint64_t first,
                  double* out) {
  const D d;
  Stream(streams.own, kOwnLane).FillBlock(first, out);
  if (draw.law == DrawLaw::kFromZero) return;
  for (std::size_t c = 0; c < kBlock / 2; c += hn::Lanes(d)) {
    double* at = out + PlaceOf(c);
    const Two both = Straight(draw, {hn::Load(d, at), hn::Load(d, at + kHalfGroup)});
    hn::Store(both.first, d, at);
    hn::Store(both.second, d, at + kHalfGroup);
  }
}

HWY_INLINE void StoreVector(V length, V turns, double* x, double* y) {
  const D d;
  V sine = hn::Zero(d);
  V cosine = hn::Zero(d);
  SinCosOfTurns(d, turns, sine, cosine);
  hn::Store(hn::Mul(length, cosine), d, x);
  hn::Store(hn::Mul(length, sine), d, y);
}

HWY_INLINE V RayleighLength(V u) {
  const D d;
  return hn::Sqrt(hn::Mul(hn::Set(d, -2.0), Log(d, u)));
}

void FillVectors(const TrialDraw& draw, const DrawStreams& streams, std::uint64_t first,
                 double* out) {
  const D d;
  const Stream own(streams.own, kOwnLane);
  const Stream lengths(streams.length, kLengthLane);
  double* x = out;
  double* y = out + kBlock;
  for (std::size_t at = 0; at < kBlock; at += kGroup) {
    for (std::size_t k = 0; k < kHalfGroup; k += hn::Lanes(d)) {
      const std::uint64_t counter = (first + at) / 2 + k;
      const Two turns = own.Uniforms(counter);
      Two length{};
      if (draw.law == DrawLaw::kFolded) {
        const Two n = lengths.Normals(counter);
        length = {hn::Abs(n.first), hn::Abs(n.second)};
      } else if (draw.law == DrawLaw::kDisc) {
        const Two u = lengths.Uniforms(counter);
        length = {hn::Sqrt(u.first), hn::Sqrt(u.second)};
      } else {
        const Two u = lengths.Uniforms(counter);
        length = {RayleighLength(u.first), RayleighLength(u.second)};
      }
      StoreVector(length.first, turns.first, x + at + k, y + at + k);
      StoreVector(length.second, turns.second, x + at + kHalfGroup + k, y + at + kHalfGroup + k);
    }
  }
}

void FillLognormals(const TrialDraw& draw, const DrawStreams& streams, std::uint64_t first,
                    double* out) {
  const D d;
  const Stream own(streams.own, kOwnLane);
  const Stream lengths(streams.length, kLengthLane);
  const V a = hn::Set(d, draw.a);
  const V b = hn::Set(d, draw.b);
  const V c = hn::Set(d, draw.c);
  for (std::size_t at = 0; at < kBlock; at += kGroup) {
    for (std::size_t k = 0; k < kHalfGroup; k += hn::Lanes(d)) {
      const std::uint64_t counter = (first + at) / 2 + k;
      const Two n = own.Normals(counter);
      const Two m = lengths.Normals(counter);
      const V low = hn::Mul(a, Fma(b, m.first, hn::Mul(c, n.first)));
      const V high = hn::Mul(a, Fma(b, m.second, hn::Mul(c, n.second)));
      hn::Store(Exp(d, low), d, out + at + k);
      hn::Store(Exp(d, high), d, out + at + kHalfGroup + k);
    }
  }
}

// Trials whose size is to be cut (again): their number and the error of the reading before.
struct ToCut {
  HWY_ALIGN std::uint64_t trial[kBlock + 8];
  HWY_ALIGN double before[kBlock + 8];
  std::size_t count = 0;
};

// Cuts each once, and keeps those whose reading still stands on the side that can be put right: the
// rest are passed over by the next cut.
void CutOnce(const WorkedDraw& size, const Stream& cuts, std::uint64_t first, ToCut& work,
             double* out) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  const V sign = hn::Set(d, size.safe_sign);
  const V limit = hn::Set(d, size.safe_sign > 0 ? size.high : -size.low);
  HWY_ALIGN double value[8];
  std::size_t left = 0;
  for (std::size_t at = 0; at < work.count; at += N) {
    const auto trial = hn::LoadU(DU(), work.trial + at);
    const Two n = NormalsOf(cuts.UniformsAt(trial));
    const V now = Fma(hn::Set(d, size.cut), n.first, hn::Neg(hn::LoadU(d, work.before + at)));
    const V reading = hn::Mul(hn::Set(d, size.reading), n.second);
    const std::size_t here = HWY_MIN(N, work.count - at);
    hn::Store(now, d, value);
    for (std::size_t k = 0; k < here; ++k) out[work.trial[at + k] - first] = value[k];
    const auto open =
        hn::And(hn::FirstN(d, here), hn::Gt(hn::Mul(sign, hn::Add(now, reading)), limit));
    hn::CompressStore(trial, hn::RebindMask(DU(), open), DU(), work.trial + left);
    left += hn::CompressStore(reading, open, d, work.before + left);
  }
  work.count = left;
}

void FillWorkedSizes(const WorkedDraw& size, const DrawStreams& streams, std::uint64_t first,
                     double* out) {
  const D d;
  const Stream own(streams.own, kOwnLane);
  Stream cuts(streams.own, kCutLane);
  const V reading = hn::Set(d, size.reading);
  ToCut work;
  work.count = kBlock;
  for (std::size_t at = 0; at < kBlock; at += kGroup) {
    for (std::size_t k = 0; k < kHalfGroup; k += hn::Lanes(d)) {
      const Two before = own.Normals((first + at) / 2 + k);
      hn::StoreU(hn::Mul(reading, before.first), d, work.before + at + k);
      hn::StoreU(hn::Mul(reading, before.second), d, work.before + at + kHalfGroup + k);
    }
  }
  for (std::size_t i = 0; i < kBlock; ++i) work.trial[i] = first + i;
  for (int again = 0; again <= kMostRecuts && work.count > 0; ++again) {
    cuts.SetLane(kCutLane + static_cast<std::uint32_t>(again));
    CutOnce(size, cuts, first, work, out);
  }
}

void DrawKernel(const TrialProgram& program, const TrialPiece& piece, const DrawStreams* streams,
                const TrialBlock& block) {
  for (const std::uint32_t i : piece.draws) {
    const TrialDraw& draw = program.draws[i];
    double* out = block.columns + std::size_t{draw.column} * kBlock;
    switch (draw.law) {
      case DrawLaw::kRound:
      case DrawLaw::kFolded:
      case DrawLaw::kDisc:
        FillVectors(draw, streams[i], block.first, out);
        break;
      case DrawLaw::kLognormal:
        FillLognormals(draw, streams[i], block.first, out);
        break;
      case DrawLaw::kWorked:
        FillWorkedSizes(program.worked[draw.worked], streams[i], block.first, out);
        break;
      default:
        FillStraight(draw, streams[i], block.first, out);
    }
  }
}

// Bit k: lane k is within the limits.
HWY_INLINE std::uint64_t Within(V value, V low, V high) {
  std::uint8_t bits = 0;
  hn::StoreMaskBits(D(), hn::And(hn::Ge(value, low), hn::Le(value, high)), &bits);
  return bits;
}

// Eight vectors of a row side by side, so that no addition waits for the one before.
constexpr std::size_t kAtOnce = 8;

HWY_INLINE void AddTerms(const TrialTerm* term, const TrialTerm* end, const double* columns,
                         double constant, V (&sum)[kAtOnce]) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  V s0 = hn::Set(d, constant);
  V s1 = s0;
  V s2 = s0;
  V s3 = s0;
  V s4 = s0;
  V s5 = s0;
  V s6 = s0;
  V s7 = s0;
  for (; term != end; ++term) {
    const V factor = hn::Set(d, term->factor);
    const double* x = columns + std::size_t{term->column} * kBlock;
    s0 = Fma(factor, hn::Load(d, x), s0);
    s1 = Fma(factor, hn::Load(d, x + N), s1);
    s2 = Fma(factor, hn::Load(d, x + 2 * N), s2);
    s3 = Fma(factor, hn::Load(d, x + 3 * N), s3);
    s4 = Fma(factor, hn::Load(d, x + 4 * N), s4);
    s5 = Fma(factor, hn::Load(d, x + 5 * N), s5);
    s6 = Fma(factor, hn::Load(d, x + 6 * N), s6);
    s7 = Fma(factor, hn::Load(d, x + 7 * N), s7);
  }
  sum[0] = s0;
  sum[1] = s1;
  sum[2] = s2;
  sum[3] = s3;
  sum[4] = s4;
  sum[5] = s5;
  sum[6] = s6;
  sum[7] = s7;
}

void AddRow(const TrialProgram& program, const TrialRow& row, bool kept, const TrialBlock& block,
            double* out) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  const TrialTerm* begin = program.terms.data() + row.first_term;
  const V low = hn::Set(d, row.low);
  const V high = hn::Set(d, row.high);
  std::uint64_t word = 0;
  for (std::size_t at = 0; at < kBlock; at += kAtOnce * N) {
    V sum[kAtOnce];
    AddTerms(begin, begin + row.terms, block.columns + at, row.constant, sum);
    for (std::size_t k = 0; k < kAtOnce; ++k) {
      if (kept) hn::Store(sum[k], d, out + at + k * N);
      word |= Within(sum[k], low, high) << (at + k * N);
    }
  }
  if (row.outcome) block.words[*row.outcome] &= word;
}

void AddCondition(const TrialCondition& condition, const TrialBlock& block) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  const double* x = block.rows + std::size_t{condition.x} * kBlock;
  const double* y = block.rows + std::size_t{condition.y} * kBlock;
  const double* more = condition.row ? block.rows + std::size_t{*condition.row} * kBlock : nullptr;
  const V factor = hn::Set(d, condition.factor);
  const V low = hn::Set(d, condition.low);
  const V high = hn::Set(d, condition.high);
  std::uint64_t word = 0;
  for (std::size_t at = 0; at < kBlock; at += N) {
    const V a = hn::Load(d, x + at);
    const V b = hn::Load(d, y + at);
    const V length = hn::Sqrt(Fma(b, b, hn::Mul(a, a)));
    const V base = more == nullptr ? hn::Zero(d) : hn::Load(d, more + at);
    word |= Within(Fma(factor, length, base), low, high) << at;
  }
  block.words[condition.outcome] &= word;
}

void Rest(const TrialRest& rest, const TrialBlock& block) {
  const D d;
  const double* x = block.rows + std::size_t{rest.x} * kBlock;
  const double* y = block.rows + std::size_t{rest.y} * kBlock;
  const double* room = block.rows + std::size_t{rest.room} * kBlock;
  const double* disc = block.columns + std::size_t{rest.disc.value_or(0)} * kBlock;
  double* out = block.columns + std::size_t{rest.column} * kBlock;
  for (std::size_t at = 0; at < kBlock; at += hn::Lanes(d)) {
    const V play = hn::Max(hn::Zero(d), hn::Load(d, room + at));
    const V to_x = rest.disc ? hn::Load(d, disc + at) : hn::Set(d, rest.at_x);
    const V to_y = rest.disc ? hn::Load(d, disc + kBlock + at) : hn::Set(d, rest.at_y);
    hn::Store(Fma(play, to_x, hn::Neg(hn::Load(d, x + at))), d, out + at);
    hn::Store(Fma(play, to_y, hn::Neg(hn::Load(d, y + at))), d, out + kBlock + at);
  }
}

void MapKernel(const TrialProgram& program, const TrialPiece& piece, const TrialBlock& block) {
  for (const std::uint32_t o : piece.outcomes) block.words[o] = ~std::uint64_t{0};
  for (std::size_t s = 0; s < piece.stages.size(); ++s) {
    const TrialPiece::Stage& part = piece.stages[s];
    for (const std::uint32_t r : part.rows) {
      const TrialRow& row = program.rows[r];
      AddRow(program, row, row.kept || block.every_row, block,
             block.rows + std::size_t{r} * kBlock);
    }
    for (const std::uint32_t i : part.rests) Rest(program.stages[s].rests[i], block);
    for (const std::uint32_t i : part.steps) program.stages[s].steps[i].run(block);
  }
  for (const std::uint32_t c : piece.conditions) AddCondition(program.conditions[c], block);
}

// NOLINTNEXTLINE(google-readability-namespace-comments)
}  // namespace fitwright::stats::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
#include <algorithm>
#include <new>

#include "fitwright/stats/lane_dispatch.h"

namespace fitwright::stats {

HWY_EXPORT(DrawKernel);
HWY_EXPORT(MapKernel);

namespace {

constexpr std::size_t kBlocksAtOnce = 16;  // of one task of the pool
// Columns and rows of a block that stay in half a megabyte, the cache next to a core.
constexpr std::size_t kMostInCache = (std::size_t{1} << 19) / (kBlock * sizeof(double));

// Numbers at the alignment of the widest vectors.
class AlignedNumbers {
 public:
  explicit AlignedNumbers(std::size_t size)
      : numbers_(static_cast<double*>(
            ::operator new (size * sizeof(double) + kAlign, std::align_val_t{kAlign}))) {}
  AlignedNumbers(const AlignedNumbers&) = delete;
  AlignedNumbers& operator=(const AlignedNumbers&) = delete;
  ~AlignedNumbers() { ::operator delete (numbers_, std::align_val_t{kAlign}); }
  double* data() { return numbers_; }

 private:
  static constexpr std::size_t kAlign = 64;
  double* numbers_;
};

std::vector<DrawStreams> StreamsOf(const TrialProgram& program, std::uint64_t seed) {
  std::vector<DrawStreams> streams;
  for (const TrialDraw& draw : program.draws)
    streams.push_back({StreamKey(seed, draw.key), StreamKey(seed, draw.length_key)});
  return streams;
}

// Each block of each piece, piece after piece within a task of blocks.
bool EachBlockOf(
    const TrialProgram& program, const std::vector<TrialPiece>& pieces, const TrialRun& run,
    bool every_row,
    const std::function<void(std::size_t, const TrialPiece&, const TrialBlock&)>& take) {
  FW_CHECK(run.first >= 0 && run.first % kTrialsAtOnce == 0 && run.trials % kTrialsAtOnce == 0,
           run.first, run.trials);
  const auto draw = Pick(HWY_DISPATCH_TABLE(DrawKernel), run.vectors);
  const auto map = Pick(HWY_DISPATCH_TABLE(MapKernel), run.vectors);
  const std::vector<DrawStreams> streams = StreamsOf(program, run.seed);
  const std::size_t blocks = static_cast<std::size_t>(run.trials) / kBlock;
  const std::size_t tasks = (blocks + kBlocksAtOnce - 1) / kBlocksAtOnce;
  const auto stopped = [&] { return run.cancel != nullptr && run.cancel->cancelled(); };
  ParallelFor(tasks, run.threads, [&](std::size_t task) {
    if (stopped()) return;
    AlignedNumbers columns(std::size_t{program.columns} * kBlock);
    AlignedNumbers rows(program.rows.size() * kBlock);
    std::vector<std::uint64_t> words(program.outcomes);
    TrialBlock block{run.seed,    0,         run.vectors, columns.data(),
                     rows.data(), every_row, words.data()};
    const std::size_t end = std::min(blocks, (task + 1) * kBlocksAtOnce);
    for (const TrialPiece& piece : pieces) {
      for (std::size_t b = task * kBlocksAtOnce; b < end; ++b) {
        block.first = static_cast<std::uint64_t>(run.first) + b * kBlock;
        draw(program, piece, streams.data(), block);
        map(program, piece, block);
        take(b, piece, block);
      }
    }
  });
  return !stopped();
}

}  // namespace

bool EachTrialBlock(const TrialProgram& program, const TrialRun& run, bool every_row,
                    const std::function<void(std::size_t, const TrialBlock&)>& take) {
  const std::vector<TrialPiece> whole(1, WholeOf(program, every_row));
  return EachBlockOf(
      program, whole, run, every_row,
      [&](std::size_t b, const TrialPiece&, const TrialBlock& block) { take(b, block); });
}

std::vector<std::uint64_t> RunTrials(const TrialProgram& program, const TrialRun& run) {
  const std::size_t blocks = static_cast<std::size_t>(run.trials) / kBlock;
  std::vector<std::uint64_t> words(blocks * program.outcomes);
  const bool done =
      EachBlockOf(program, PiecesOf(program, kMostInCache), run, false,
                  [&](std::size_t b, const TrialPiece& piece, const TrialBlock& block) {
                    for (const std::uint32_t o : piece.outcomes)
                      words[o * blocks + b] = block.words[o];
                  });
  if (!done) words.clear();
  return words;
}

std::vector<double> RowsOfTrials(const TrialProgram& program, const TrialRun& run) {
  const auto trials = static_cast<std::size_t>(run.trials);
  std::vector<double> values(program.rows.size() * trials);
  EachTrialBlock(program, run, true, [&](std::size_t b, const TrialBlock& block) {
    for (std::size_t r = 0; r < program.rows.size(); ++r)
      std::copy_n(block.rows + r * kBlock, kBlock, values.data() + r * trials + b * kBlock);
  });
  return values;
}

std::vector<double> ColumnsOfTrials(const TrialProgram& program, const TrialRun& run) {
  const auto trials = static_cast<std::size_t>(run.trials);
  std::vector<double> values(program.columns * trials);
  EachTrialBlock(program, run, false, [&](std::size_t b, const TrialBlock& block) {
    for (std::size_t c = 0; c < program.columns; ++c)
      std::copy_n(block.columns + c * kBlock, kBlock, values.data() + c * trials + b * kBlock);
  });
  return values;
}

}  // namespace fitwright::stats
#endif  // HWY_ONCE
