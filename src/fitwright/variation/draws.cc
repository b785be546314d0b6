#include "fitwright/variation/draws.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::variation {
namespace {

constexpr int kMostRecuts = 8;
constexpr int kTableSize = 4096;  // largest stratified set

// A permutation of 0 .. n - 1 (n a power of two) named by a key: every step is invertible modulo n.
struct Permutation {
  std::uint32_t mask;
  std::uint32_t a1, b1, a2, b2, a3;
  std::uint32_t shift;
  Permutation(std::uint64_t key, int n) : mask(static_cast<std::uint32_t>(n) - 1) {
    const std::uint64_t h = MixKeys(key, 0x51ed27);
    const std::uint64_t g = MixKeys(h, 0x2545f4);
    a1 = static_cast<std::uint32_t>(h) | 1;
    b1 = static_cast<std::uint32_t>(h >> 32);
    a2 = static_cast<std::uint32_t>(g) | 1;
    b2 = static_cast<std::uint32_t>(g >> 32);
    a3 = static_cast<std::uint32_t>(MixKeys(g, 3)) | 1;
    int bits = 0;
    while ((1 << bits) < n) ++bits;
    shift = static_cast<std::uint32_t>(std::max(1, bits / 2));
  }
  std::uint32_t operator()(std::uint32_t i) const {
    std::uint32_t x = (i * a1 + b1) & mask;
    x ^= x >> shift;
    x = (x * a2 + b2) & mask;
    x ^= x >> shift;
    x = (x * a3) & mask;
    x ^= x >> shift;
    return x & mask;
  }
};

const std::array<double, kTableSize>& NormalTable(int n) {
  // Middles of the strata of the largest set; smaller sets take every (kTableSize / n)-th block's
  // middle.
  static const auto kTables = [] {
    std::array<std::array<double, kTableSize>, 13> tables{};
    for (int bits = 6; bits <= 12; ++bits) {
      const int size = 1 << bits;
      for (int i = 0; i < size; ++i) {
        tables[static_cast<std::size_t>(bits)][static_cast<std::size_t>(i)] =
            stats::InverseNormal((i + 0.5) / size);
      }
    }
    return tables;
  }();
  int bits = 0;
  while ((1 << bits) < n) ++bits;
  return kTables[static_cast<std::size_t>(bits)];
}

void FillLengthAndDirection(const Source& s, std::int64_t first, const BlockOptions& options,
                            double* out) {
  std::array<double, kLanes> direction;
  FillUniforms(stats::StreamKey(options.seed, s.key), first, options, direction.data());
  const bool folded = s.law == Law::kFoldedX || s.law == Law::kFoldedY;
  std::array<double, kLanes> length;
  const std::uint64_t size_stream = stats::StreamKey(options.seed, s.size_key);
  if (folded) {
    FillNormals(size_stream, first, options, length.data(), 1);
  } else {
    FillUniforms(size_stream, first, options, length.data(), 1);
  }
  const bool along_x = s.law == Law::kRayleighX || s.law == Law::kFoldedX;
  for (int i = 0; i < kLanes; ++i) {
    const auto k = static_cast<std::size_t>(i);
    const double r =
        folded ? std::abs(length[k]) : std::sqrt(-2 * std::log(1 - length[k])) / kMedianToSigma;
    const double angle = 2 * kPi * direction[k];
    out[i] = r * (along_x ? std::cos(angle) : std::sin(angle));
  }
}

void FillLogarithm(const Source& s, std::int64_t first, const BlockOptions& options, double* out) {
  std::array<double, kLanes> tool;
  FillNormals(stats::StreamKey(options.seed, s.key), first, options, out);
  FillNormals(stats::StreamKey(options.seed, s.size_key), first, options, tool.data(), 1);
  for (int i = 0; i < kLanes; ++i) {
    out[i] = std::sqrt(kToolShare) * tool[static_cast<std::size_t>(i)] +
             std::sqrt(1 - kToolShare) * out[i];
  }
}

void ScaleLognormal(const Source& s, const Figures& figures, const double* standard, double* out) {
  const SpreadFigure& a = figures[Place(s.spread)];
  const SpreadFigure& b = figures[Place(s.spread_b)];
  const double w = s.blend;
  const double median = s.unit * ((1 - w) * a.mean + w * b.mean);
  const double sigma = (1 - w) * a.spread + w * b.spread;
  for (int i = 0; i < kLanes; ++i) out[i] = median * std::exp(sigma * standard[i]);
}

}  // namespace

void FillUniforms(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out,
                  std::uint32_t lane) {
  if (options.draws == Draws::kCounter) {
    stats::FillUniform(key, static_cast<std::uint64_t>(first), {out, kLanes}, lane);
    return;
  }
  const Permutation at(MixKeys(key, lane), options.set_size);
  for (int i = 0; i < kLanes; ++i) {
    out[i] = (at(static_cast<std::uint32_t>(first) + static_cast<std::uint32_t>(i)) + 0.5) /
             options.set_size;
  }
}

void FillNormals(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out,
                 std::uint32_t lane) {
  if (options.draws == Draws::kCounter) {
    stats::FillNormal(key, static_cast<std::uint64_t>(first), {out, kLanes}, lane);
    return;
  }
  const Permutation at(MixKeys(key, lane), options.set_size);
  const auto& table = NormalTable(options.set_size);
  for (int i = 0; i < kLanes; ++i)
    out[i] = table[at(static_cast<std::uint32_t>(first) + static_cast<std::uint32_t>(i))];
}

void FillStandard(const Source& s, std::int64_t first, const BlockOptions& options, double* out) {
  const std::uint64_t stream = stats::StreamKey(options.seed, s.key);
  switch (s.law) {
    case Law::kNormal:
      return FillNormals(stream, first, options, out);
    case Law::kHalfNormal:
      FillNormals(stream, first, options, out);
      for (int i = 0; i < kLanes; ++i) out[i] = std::abs(out[i]);
      return;
    case Law::kRayleighX:
    case Law::kRayleighY:
    case Law::kFoldedX:
    case Law::kFoldedY:
      return FillLengthAndDirection(s, first, options, out);
    case Law::kUniform:
      FillUniforms(stream, first, options, out);
      for (int i = 0; i < kLanes; ++i) out[i] = 2 * out[i] - 1;
      return;
    case Law::kFromZero:
    case Law::kChip:
      return FillUniforms(stream, first, options, out);
    case Law::kLognormal:
      return FillLogarithm(s, first, options, out);
    case Law::kWorked:
      for (std::uint32_t lane = 0; lane < 3; ++lane)
        FillNormals(stream, first, options, out + std::size_t{lane} * kLanes, lane);
      return;
    case Law::kPlay:
      return;
  }
}

void ScaleSource(const Source& s, const Figures& figures, const double* standard, double* out) {
  const FigureInForce f = InForce(s, figures);
  if (s.law == Law::kLognormal) return ScaleLognormal(s, figures, standard, out);
  if (s.law == Law::kChip) {
    for (int i = 0; i < kLanes; ++i) {
      out[i] = standard[i] < f.spread
                   ? kChipLow_mm + (kChipHigh_mm - kChipLow_mm) * standard[i] / f.spread
                   : 0;
    }
    return;
  }
  const bool has_mean = s.law == Law::kNormal || s.law == Law::kHalfNormal;
  const double mean = has_mean ? f.mean : 0;
  for (int i = 0; i < kLanes; ++i) out[i] = mean + f.spread * standard[i];
}

void FillWorked(const Source& source, const WorkedSize& worked, std::int64_t first,
                const Figures& figures, const BlockOptions& options, const double* standard,
                WorkedOutcome* out) {
  const double reading = figures[Place(worked.reading)].spread;
  const double last = kLastCutShare * source.unit * figures[Place(worked.cut)].spread;
  const double cut = std::sqrt(std::max(0.0, last * last - reading * reading));
  const std::uint64_t stream = stats::StreamKey(options.seed, source.key);
  for (int i = 0; i < kLanes; ++i) {
    WorkedOutcome& w = out[i];
    w = WorkedOutcome{};
    double read_before = reading * standard[i];
    double n = standard[kLanes + i];
    double e = standard[2 * kLanes + i];
    for (;;) {
      w.value = cut * n - read_before;
      const double seen = w.value + reading * e;
      const bool over = seen > worked.high;
      const bool under = seen < worked.low;
      const bool spare = worked.safe_sign > 0 ? over : under;
      w.spoiled = (over || under) && !spare;
      if (!spare || w.recuts == kMostRecuts || (cut == 0 && reading == 0)) break;
      ++w.recuts;
      read_before = reading * e;
      const stats::Pair next = stats::NormalPair(stream, static_cast<std::uint64_t>(first + i),
                                                 10 + static_cast<std::uint32_t>(w.recuts));
      n = next.first;
      e = next.second;
    }
  }
}

Moments MomentsOf(const SourceTable& sources, SourceIndex index, const Figures& figures) {
  const Source& s = sources[index];
  const FigureInForce f = InForce(s, figures);
  const double fold = std::sqrt(2 / kPi);
  switch (s.law) {
    case Law::kNormal:
      return {f.mean, f.spread * f.spread};
    case Law::kHalfNormal:
      return {f.mean + fold * f.spread, (1 - 2 / kPi) * f.spread * f.spread};
    case Law::kRayleighX:
    case Law::kRayleighY:
      return {0, f.spread * f.spread / (kMedianToSigma * kMedianToSigma)};
    case Law::kFoldedX:
    case Law::kFoldedY:
      return {0, 0.5 * f.spread * f.spread};
    case Law::kUniform:
      return {0, f.spread * f.spread / 3};
    case Law::kFromZero:
      return {0.5 * f.spread, f.spread * f.spread / 12};
    case Law::kLognormal: {
      const SpreadFigure& a = figures[Place(s.spread)];
      const SpreadFigure& b = figures[Place(s.spread_b)];
      const double median = s.unit * ((1 - s.blend) * a.mean + s.blend * b.mean);
      const double sigma = (1 - s.blend) * a.spread + s.blend * b.spread;
      const double mean = median * std::exp(0.5 * sigma * sigma);
      return {mean, mean * mean * (std::exp(sigma * sigma) - 1)};
    }
    case Law::kChip: {
      const double middle = 0.5 * (kChipLow_mm + kChipHigh_mm);
      const double width = kChipHigh_mm - kChipLow_mm;
      return {f.spread * middle, f.spread * (middle * middle + width * width / 12) -
                                     f.spread * f.spread * middle * middle};
    }
    case Law::kWorked: {
      std::array<WorkedOutcome, kLanes> block;
      std::array<double, std::size_t{3} * kLanes> standard;
      double sum = 0;
      double squares = 0;
      constexpr int kDraws = 4096;
      for (int first = 0; first < kDraws; first += kLanes) {
        FillStandard(s, first, BlockOptions{}, standard.data());
        FillWorked(s, sources.worked()[static_cast<std::size_t>(s.worked)], first, figures,
                   BlockOptions{}, standard.data(), block.data());
        for (const WorkedOutcome& w : block) {
          sum += w.value;
          squares += w.value * w.value;
        }
      }
      const double mean = sum / kDraws;
      return {mean, std::max(0.0, squares / kDraws - mean * mean)};
    }
    case Law::kPlay:
      return {};
  }
  return {};
}

}  // namespace fitwright::variation
