// ISO metric coarse threads, and the small parallel pipe threads, and what goes with them: pitch, limits, tap drill, clearance holes, cap
// screw heads, screw lengths. Standards and how each column was come by stand above the table in
// threads.cc.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace fitwright::trade {

struct SizeLimits {
  double lower_mm = 0;
  double upper_mm = 0;
  double middle_mm() const { return 0.5 * (lower_mm + upper_mm); }
};

// One size; all mm. Columns without a standard value at a size are 0 (said per column).
struct ThreadRow {
  std::string_view designation;  // "M3"
  double major_mm;
  double pitch_mm;
  double tap_drill_mm;       // ISO 2306
  double clearance_fine_mm;  // ISO 273
  double clearance_medium_mm;
  double clearance_coarse_mm;
  double head_diameter_mm;  // ISO 4762 hexagon socket head cap screw, plain head, greatest
  double head_height_mm;
  double key_mm;              // across the flats of the socket
  double knurled_head_mm;     // greatest diameter of a knurled head; what a counterbore must clear
  double washer_diameter_mm;  // ISO 7089, outside; 0 below M1.6
  double washer_thickness_mm;
  double grade6_major_mm;  // ISO 965-1 tolerances, grade 6, and the g deviation (as a positive)
  double grade6_pitch_external_mm;
  double grade6_pitch_internal_mm;
  double grade6_minor_internal_mm;
  double g_deviation_mm;
  bool pipe = false;  // ISO 228-1, 55 degrees: no screw columns, tolerances of class A
};

// M1.6 to M20, ascending.
std::span<const ThreadRow> Threads();
// G1/8 and G1/4, ascending.
std::span<const ThreadRow> PipeThreads();
// "M3", "m3", "M3x0.5" and "M3 x 0.5" (coarse pitch only), "G1/8"; null when the table has no such thread.
const ThreadRow* FindThread(std::string_view designation);
// The three nearest designations, for a message.
std::vector<std::string_view> NearestThreads(std::string_view designation);

// Basic profile, ISO 724: d2 = D2 = d - 0.649519 P, D1 = d - 1.082532 P; ISO 228-1: d2 = d - 0.640327 P,
// D1 = d - 1.280654 P.
double PitchDiameter_mm(const ThreadRow& row);
double MinorDiameter_mm(const ThreadRow& row);

// ISO 965-1/-2: external class 6g, internal class 6H. Pipe: ISO 228-1, external class A.
SizeLimits ExternalMajor_6g(const ThreadRow& row);
SizeLimits ExternalPitch_6g(const ThreadRow& row);
SizeLimits InternalPitch_6H(const ThreadRow& row);
SizeLimits InternalMinor_6H(const ThreadRow& row);

// Share of the full 5/8 H thread depth that a hole of this diameter leaves: (d - hole) / (1.082532
// P).
double ThreadDepthShare(const ThreadRow& row, double hole_mm);

// Screw lengths as sold (ISO 888 selection), ascending.
std::span<const double> ScrewLengths_mm();
// Longest length sold that is not over `longest_mm`; none below 2 mm.
std::optional<double> ScrewLengthAtOrBelow_mm(double longest_mm);

// Incomplete thread that a tap leaves at the bottom of a blind hole, in pitches (ISO 8830 chamfer
// lengths: taper 8, second 4, plug 2).
inline constexpr double kPlugTapLead_pitches = 2;
inline constexpr double kSecondTapLead_pitches = 4;
inline constexpr double kTaperTapLead_pitches = 8;

}  // namespace fitwright::trade
