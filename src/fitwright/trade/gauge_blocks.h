// Gauge blocks wrung to a height, the usual sets, and the heights that set a sine bar.
#pragma once

#include <vector>

#include "fitwright/base/words.h"

namespace fitwright::trade {

// The usual sets (compositions in gauge_blocks.cc). The metric ones by their count of blocks.
enum class BlockSet { kMetric47, kMetric87, kMetric88, kMetric103, kMetric112, kInch81 };

// Heights of the blocks, mm, ascending; those of the inch set are exact multiples of 0.0001 in.
std::vector<double> BlocksOf(BlockSet set);

// A stack counts as exact when it is not farther off than this: half a micrometre.
inline constexpr double kStackExact_mm = 0.0005;
inline constexpr int kMostBlocks = 8;

// The fewest blocks of `set_mm` (each there once) whose sum is exact to height_mm (kStackExact_mm);
// of those the nearest, then the one with the largest blocks first. When no sum of up to
// kMostBlocks is exact, the nearest sum, then the fewest blocks; sets whose heights have no common
// step of half a micrometre (measured blocks) are then searched to four blocks only. Blocks come
// largest first. Empty for heights that no block or sum of blocks comes nearer to than none at all.
// mm, read to the nanometre; deterministic; well under a millisecond for the usual sets.
std::vector<double> ChooseBlocks(double height_mm, const std::vector<double>& set_mm);
double SumOf(const std::vector<double>& blocks_mm);

// Height under the roll of a sine bar with rolls centres_mm apart that stands at angle_rad to the
// plate: centres * sin(angle), by the triangle that bar, plate and stack make.
double SineStack_mm(double centres_mm, double angle_rad);
// The angle that a stack gives.
double SineAngle_rad(double centres_mm, double stack_mm);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::BlockSet> {
  using S = trade::BlockSet;
  static constexpr auto kAll = std::to_array<Word<S>>({{S::kMetric47, "metric_47"},
                                                       {S::kMetric87, "metric_87"},
                                                       {S::kMetric88, "metric_88"},
                                                       {S::kMetric103, "metric_103"},
                                                       {S::kMetric112, "metric_112"},
                                                       {S::kInch81, "inch_81"}});
};
}  // namespace fitwright
