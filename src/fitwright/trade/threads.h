// Screw threads of the series in use at a small machine's bench: ISO metric coarse and fine,
// unified coarse, fine and extra fine, BA, Whitworth (BSW, BSF), the model maker's 32 and 40 to the
// inch, and parallel pipe threads. A row is size, pitch and tap drill; limits are in
// thread_limits.h, shares of thread depth in tap_drills.h, screws and nuts in fasteners.h,
// clearance holes in screw_holes.h. Standards and how each column was come by stand above the
// tables in thread_rows_*.cc.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "fitwright/base/words.h"

namespace fitwright::trade {

struct SizeLimits {
  double lower_mm = 0;
  double upper_mm = 0;
  double middle_mm() const { return 0.5 * (lower_mm + upper_mm); }
};

enum class ThreadSeries {
  kIsoCoarse,  // ISO 261, 60 degrees
  kIsoFine,
  kUnc,  // ASME B1.1, 60 degrees
  kUnf,
  kUnef,
  kBa,   // BS 93, 47.5 degrees
  kBsw,  // BS 84, 55 degrees
  kBsf,
  kModel,  // 55 degrees, 32 and 40 threads to the inch (common practice)
  kPipe    // ISO 228-1, 55 degrees, for joints that seal elsewhere
};

// One size; all mm.
struct ThreadRow {
  std::string_view designation;  // "M3", "M6x0.75", "1/4-20 UNC", "#4-40 UNC", "2 BA", "G1/8"
  ThreadSeries series;
  double major_mm;
  double pitch_mm;
  double tap_drill_mm;
  double per_inch = 0;  // threads to the inch; 0 where the standard states the pitch
};

// ISO metric: coarse M1 to M36, ascending, then fine by size and falling pitch.
std::span<const ThreadRow> MetricThreads();
// UNC #1 to 1 in, UNF #0 to 1 in, UNEF 1/4 to 1 in.
std::span<const ThreadRow> UnifiedThreads();
// 0 to 16 BA.
std::span<const ThreadRow> BaThreads();
// BSW 1/8 to 1 in, BSF 3/16 to 1 in, model maker's 1/8 to 1/2 in by 40 and 1/4 to 1/2 in by 32.
std::span<const ThreadRow> WhitworthThreads();
// G1/16 to G1/2, ascending.
std::span<const ThreadRow> PipeThreads();
// All of the above, in that order.
std::vector<const ThreadRow*> AllThreads();

// The row of a designation as the trade writes it; null when no table has it. Spaces and the case
// of letters do not count.
//   metric   "M3", "M3x0.5" (a coarse pitch may be left out), "M6x0.75"
//   unified  "1/4-20 UNC", "1/4-20", "0.250-20", "#4-40", "No. 4-40", "4-40 UNC", "1/4 UNC"
//   BA       "2 BA", "2BA", "BA2"
//   BSW      "1/4 BSW", "1/4-20 BSW"; BSF alike
//   model    "1/4x40 ME", "1/4-40 ME"
//   pipe     "G1/8", "1/8 BSPP"
// Size and threads to the inch alone are a unified thread. Cost: one pass over the series' rows.
const ThreadRow* FindThread(std::string_view designation);
// The three nearest designations, for a message.
std::vector<std::string_view> NearestThreads(std::string_view designation);
// What FindThread knows, in words, for a message.
std::string_view KnownThreads();

bool IsMetric(ThreadSeries series);
bool IsUnified(ThreadSeries series);
// 55 degrees: BSW, BSF, model, pipe.
bool IsWhitworthForm(ThreadSeries series);
// The standard, for the line below a figure.
std::string_view StandardOf(ThreadSeries series);

// Basic profile: how deep the thread is over its pitch, from crest to root of the basic profile,
// one side. ISO 68-1 and ASME B1.1 5/8 H = 0.541266; BS 84 and ISO 228-1 0.640327; BS 93 0.6
// (rounded as its table prints it).
double BasicDepth_mm(const ThreadRow& row);
// Basic pitch (effective) diameter: d - 0.649519 P; Whitworth form and BA: major less one depth.
double PitchDiameter_mm(const ThreadRow& row);
// Basic minor diameter of the internal thread: major less two basic depths.
double MinorDiameter_mm(const ThreadRow& row);
// Root of the external thread, for its strength and for the depth to cut it to: metric d3 =
// d - 1.226869 P (ISO 68-1), unified D - 1.190785 P (ASME B1.1, UNR, reference), the minor diameter
// itself for the others.
double RootDiameter_mm(const ThreadRow& row);
double IncludedAngle_deg(const ThreadRow& row);
// How far a single point goes in, at right angles to the axis: outside from the major diameter to
// RootDiameter_mm, inside the basic depth.
double PointDepth_mm(const ThreadRow& row, bool inside);

// Incomplete thread that a tap leaves at the bottom of a blind hole, in pitches (ISO 8830 chamfer
// lengths: taper 8, second 4, plug 2).
inline constexpr double kPlugTapLead_pitches = 2;
inline constexpr double kSecondTapLead_pitches = 4;
inline constexpr double kTaperTapLead_pitches = 8;

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::ThreadSeries> {
  using Series = trade::ThreadSeries;
  static constexpr auto kAll = std::to_array<Word<Series>>({{Series::kIsoCoarse, "iso_coarse"},
                                                            {Series::kIsoFine, "iso_fine"},
                                                            {Series::kUnc, "unc"},
                                                            {Series::kUnf, "unf"},
                                                            {Series::kUnef, "unef"},
                                                            {Series::kBa, "ba"},
                                                            {Series::kBsw, "bsw"},
                                                            {Series::kBsf, "bsf"},
                                                            {Series::kModel, "model"},
                                                            {Series::kPipe, "pipe"}});
};
}  // namespace fitwright
