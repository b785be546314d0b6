#include "fitwright/trade/threads.h"

#include <array>
#include <cmath>
#include <string>

#include "fitwright/trade/nearest.h"

namespace fitwright::trade {
namespace {

// Columns, by standard and how come by:
//   major, pitch   ISO 261, coarse pitch series                            from memory, checked by
//   formula tap drill      ISO 2306                                                from memory;
//   M2..M12 also read clearance      ISO 273:1979 fine, medium, coarse                       from
//   memory; M1.6..M10 also read head, key      ISO 4762, dk greatest of a plain head, k, s read,
//   except M18 from memory knurled head   ISO 4762, dk greatest of a knurled head from memory
//   washer         ISO 7089, d2 and h                                      read M3..M12, others
//   from memory tolerances     ISO 965-1: Td(6), Td2(6), TD2(6), TD1(6), es of g       from memory;
//   M3..M20 agree with
//                  limits read for 8 external and 4 internal sizes (threads_test.cc)
// clang-format off
constexpr auto kRows = std::to_array<ThreadRow>({
    // name  major pitch drill  fine med coarse  dk    k    s    dk kn.  washer      Td     Td2    TD2    TD1    es g
    {"M1.6", 1.6, 0.35, 1.25, 1.7, 1.8, 2.0, 3.0, 1.6, 1.5, 3.14, 4, 0.3, 0.085, 0.063, 0.085, 0.100, 0.019},
    {"M2", 2.0, 0.40, 1.6, 2.2, 2.4, 2.6, 3.8, 2.0, 1.5, 3.98, 5, 0.3, 0.095, 0.067, 0.090, 0.112, 0.019},
    {"M2.5", 2.5, 0.45, 2.05, 2.7, 2.9, 3.1, 4.5, 2.5, 2.0, 4.68, 6, 0.5, 0.100, 0.071, 0.095, 0.125, 0.020},
    {"M3", 3.0, 0.50, 2.5, 3.2, 3.4, 3.6, 5.5, 3.0, 2.5, 5.68, 7, 0.5, 0.106, 0.075, 0.100, 0.140, 0.020},
    {"M4", 4.0, 0.70, 3.3, 4.3, 4.5, 4.8, 7.0, 4.0, 3.0, 7.22, 9, 0.8, 0.140, 0.090, 0.118, 0.180, 0.022},
    {"M5", 5.0, 0.80, 4.2, 5.3, 5.5, 5.8, 8.5, 5.0, 4.0, 8.72, 10, 1.0, 0.150, 0.095, 0.125, 0.200, 0.024},
    {"M6", 6.0, 1.00, 5.0, 6.4, 6.6, 7.0, 10.0, 6.0, 5.0, 10.22, 12, 1.6, 0.180, 0.112, 0.150, 0.236, 0.026},
    {"M8", 8.0, 1.25, 6.8, 8.4, 9.0, 10.0, 13.0, 8.0, 6.0, 13.27, 16, 1.6, 0.212, 0.118, 0.160, 0.265, 0.028},
    {"M10", 10.0, 1.50, 8.5, 10.5, 11.0, 12.0, 16.0, 10.0, 8.0, 16.27, 20, 2.0, 0.236, 0.132, 0.180, 0.300, 0.032},
    {"M12", 12.0, 1.75, 10.2, 13.0, 13.5, 14.5, 18.0, 12.0, 10.0, 18.27, 24, 2.5, 0.265, 0.150, 0.200, 0.335, 0.034},
    {"M14", 14.0, 2.00, 12.0, 15.0, 15.5, 16.5, 21.0, 14.0, 12.0, 21.33, 28, 2.5, 0.280, 0.160, 0.212, 0.375, 0.038},
    {"M16", 16.0, 2.00, 14.0, 17.0, 17.5, 18.5, 24.0, 16.0, 14.0, 24.33, 30, 3.0, 0.280, 0.160, 0.212, 0.375, 0.038},
    {"M18", 18.0, 2.50, 15.5, 19.0, 20.0, 21.0, 27.0, 18.0, 14.0, 27.33, 34, 3.0, 0.335, 0.170, 0.224, 0.450, 0.042},
    {"M20", 20.0, 2.50, 17.5, 21.0, 22.0, 24.0, 30.0, 20.0, 17.0, 30.33, 37, 3.0, 0.335, 0.170, 0.224, 0.450, 0.042},
});

// ISO 228-1, parallel pipe threads for joints that seal elsewhere: major and 28 and 19 threads to the
// inch; tolerances of the major, external pitch (class A), internal pitch and internal minor diameter.
// Tap drills: common practice. All from memory.
constexpr auto kPipeRows = std::to_array<ThreadRow>({
    {"G1/8", 9.728, 0.907, 8.8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0.214, 0.107, 0.107, 0.282, 0, true},
    {"G1/4", 13.157, 1.337, 11.8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0.250, 0.125, 0.125, 0.445, 0, true},
});
// clang-format on

// ISO 888, the lengths that are commonly kept. From memory.
constexpr auto kLengths_mm = std::to_array<double>(
    {2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100});

// ISO 724: H = sqrt(3)/2 P; d2 = d - 3/4 H, D1 = d - 5/4 H.
constexpr double kHeightPerPitch = 0.86602540378443864676;
// ISO 228-1: height of the thread, 0.640327 P = 2/3 of the sharp 55 degree vee.
constexpr double kPipeDepthPerPitch = 0.640327;

std::string Plain(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    if (c == ' ') continue;
    plain += c == 'm' ? 'M' : c == 'g' ? 'G' : c == 'X' ? 'x' : c;
  }
  return plain;
}

// "0.5" and "0.50" are the same pitch.
bool PitchMatches(std::string_view text, double pitch_mm) {
  double value = 0;
  double place = 0;
  for (const char c : text) {
    if (c == '.') {
      if (place != 0) return false;
      place = 1;
    } else if (c >= '0' && c <= '9') {
      place /= 10;
      value = place == 0 ? value * 10 + (c - '0') : value + place * (c - '0');
    } else {
      return false;
    }
  }
  return !text.empty() && std::fabs(value - pitch_mm) < 1e-9;
}

}  // namespace

std::span<const ThreadRow> Threads() { return kRows; }
std::span<const ThreadRow> PipeThreads() { return kPipeRows; }

const ThreadRow* FindThread(std::string_view designation) {
  const std::string plain = Plain(designation);
  const std::size_t cross = plain.find('x');
  const std::string_view name = std::string_view(plain).substr(0, cross);
  for (const ThreadRow& row : kRows) {
    if (row.designation != name) continue;
    if (cross == std::string::npos) return &row;
    return PitchMatches(std::string_view(plain).substr(cross + 1), row.pitch_mm) ? &row : nullptr;
  }
  for (const ThreadRow& row : kPipeRows) {
    if (row.designation == plain) return &row;
  }
  return nullptr;
}

std::vector<std::string_view> NearestThreads(std::string_view designation) {
  std::vector<std::string_view> known;
  for (const ThreadRow& row : kRows) known.push_back(row.designation);
  for (const ThreadRow& row : kPipeRows) known.push_back(row.designation);
  return NearestWords(Plain(designation), known, 3);
}

double PitchDiameter_mm(const ThreadRow& row) {
  if (row.pipe) return row.major_mm - kPipeDepthPerPitch * row.pitch_mm;
  return row.major_mm - 0.75 * kHeightPerPitch * row.pitch_mm;
}
double MinorDiameter_mm(const ThreadRow& row) {
  if (row.pipe) return row.major_mm - 2 * kPipeDepthPerPitch * row.pitch_mm;
  return row.major_mm - 1.25 * kHeightPerPitch * row.pitch_mm;
}

SizeLimits ExternalMajor_6g(const ThreadRow& row) {
  const double upper = row.major_mm - row.g_deviation_mm;
  return {upper - row.grade6_major_mm, upper};
}
SizeLimits ExternalPitch_6g(const ThreadRow& row) {
  const double upper = PitchDiameter_mm(row) - row.g_deviation_mm;
  return {upper - row.grade6_pitch_external_mm, upper};
}
SizeLimits InternalPitch_6H(const ThreadRow& row) {
  const double lower = PitchDiameter_mm(row);
  return {lower, lower + row.grade6_pitch_internal_mm};
}
SizeLimits InternalMinor_6H(const ThreadRow& row) {
  const double lower = MinorDiameter_mm(row);
  return {lower, lower + row.grade6_minor_internal_mm};
}

double ThreadDepthShare(const ThreadRow& row, double hole_mm) {
  return (row.major_mm - hole_mm) / (row.major_mm - MinorDiameter_mm(row));
}

std::span<const double> ScrewLengths_mm() { return kLengths_mm; }

std::optional<double> ScrewLengthAtOrBelow_mm(double longest_mm) {
  std::optional<double> found;
  for (const double length : kLengths_mm) {
    if (length <= longest_mm) found = length;
  }
  return found;
}

}  // namespace fitwright::trade
