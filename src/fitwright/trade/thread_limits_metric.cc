#include <fmt/format.h>

#include <array>
#include <cmath>

#include "fitwright/trade/thread_limits_by_series.h"

namespace fitwright::trade {
namespace {

// ISO 965-1:1998. Its tables follow the formulas below, rounded to the R40 series, but not always
// to the nearest term: so they are tables here, and a test holds each entry to within one term.
//   fundamental deviations  es(e) = -(50 + 11 P), es(g) = -(15 + 11 P), EI(G) = +(15 + 11 P)
//   Td(6) = 180 P^(2/3) - 3.15 P^(-1/2);  TD1(6) = 433 P - 190 P^1.22 to 0.8, 230 P^0.7 from 1
//   Td2(6) = 90 P^0.4 d^0.1, d the geometric mean of the range of diameters; TD2(6) = 1.32 Td2(6)
// All from memory; the rows of grade 6 for M3 to M24 agree with limits that were read
// (tests/reference/threads.h). Deviation f, grades 3 and 9, lengths S and L: left out.
// 0 where the standard gives no tolerance.
struct PitchRow {
  double pitch_mm;
  int e_um;       // es, as a positive; 0 none
  int g_um;       // es of g as a positive, and EI of G
  int td_um[3];   // Td of grades 4, 6, 8
  int td1_um[4];  // TD1 of grades 4, 5, 6, 7
};
// clang-format off
constexpr auto kPitches = std::to_array<PitchRow>({
    {0.2,  0,  17, {36, 56, 0},      {38, 0, 0, 0}},
    {0.25, 0,  18, {42, 67, 0},      {45, 56, 0, 0}},
    {0.3,  0,  18, {48, 75, 0},      {53, 67, 85, 0}},
    {0.35, 0,  19, {53, 85, 0},      {63, 80, 100, 0}},
    {0.4,  0,  19, {60, 95, 0},      {71, 90, 112, 0}},
    {0.45, 0,  20, {63, 100, 0},     {80, 100, 125, 0}},
    {0.5,  50, 20, {67, 106, 0},     {90, 112, 140, 180}},
    {0.6,  53, 21, {80, 125, 0},     {100, 125, 160, 200}},
    {0.7,  56, 22, {90, 140, 0},     {112, 140, 180, 224}},
    {0.75, 56, 22, {90, 140, 0},     {118, 150, 190, 236}},
    {0.8,  60, 24, {95, 150, 236},   {125, 160, 200, 250}},
    {1,    60, 26, {112, 180, 280},  {150, 190, 236, 300}},
    {1.25, 63, 28, {132, 212, 335},  {170, 212, 265, 335}},
    {1.5,  67, 32, {150, 236, 375},  {190, 236, 300, 375}},
    {1.75, 71, 34, {170, 265, 425},  {212, 265, 335, 425}},
    {2,    71, 38, {180, 280, 450},  {236, 300, 375, 475}},
    {2.5,  80, 42, {212, 335, 530},  {280, 355, 450, 560}},
    {3,    85, 48, {236, 375, 600},  {315, 400, 500, 630}},
    {3.5,  90, 53, {265, 425, 670},  {355, 450, 560, 710}},
    {4,    95, 60, {300, 475, 750},  {375, 475, 600, 750}},
});

// Tolerances of the pitch diameter: diameters over `over_mm` up to the next row's.
struct RangeRow {
  double over_mm;
  double up_to_mm;
  double pitch_mm;
  int td2_um[3];  // Td2 of grades 4, 6, 8
  int tD2_um[4];  // TD2 of grades 4, 5, 6, 7
};
constexpr auto kRanges = std::to_array<RangeRow>({
    {0.99, 1.4, 0.2,   {30, 48, 0},     {40, 0, 0, 0}},
    {0.99, 1.4, 0.25,  {34, 53, 0},     {45, 56, 0, 0}},
    {0.99, 1.4, 0.3,   {36, 56, 0},     {48, 60, 75, 0}},
    {1.4, 2.8, 0.2,    {32, 50, 0},     {42, 0, 0, 0}},
    {1.4, 2.8, 0.25,   {36, 56, 0},     {48, 60, 0, 0}},
    {1.4, 2.8, 0.35,   {40, 63, 0},     {53, 67, 85, 0}},
    {1.4, 2.8, 0.4,    {42, 67, 0},     {56, 71, 90, 0}},
    {1.4, 2.8, 0.45,   {45, 71, 0},     {60, 75, 95, 0}},
    {2.8, 5.6, 0.35,   {42, 67, 0},     {56, 71, 90, 0}},
    {2.8, 5.6, 0.5,    {48, 75, 0},     {63, 80, 100, 125}},
    {2.8, 5.6, 0.6,    {53, 85, 0},     {71, 90, 112, 140}},
    {2.8, 5.6, 0.7,    {56, 90, 0},     {75, 95, 118, 150}},
    {2.8, 5.6, 0.75,   {56, 90, 0},     {75, 95, 118, 150}},
    {2.8, 5.6, 0.8,    {60, 95, 150},   {80, 100, 125, 160}},
    {5.6, 11.2, 0.75,  {63, 100, 0},    {85, 106, 132, 170}},
    {5.6, 11.2, 1,     {71, 112, 180},  {95, 118, 150, 190}},
    {5.6, 11.2, 1.25,  {75, 118, 190},  {100, 125, 160, 200}},
    {5.6, 11.2, 1.5,   {85, 132, 212},  {112, 140, 180, 224}},
    {11.2, 22.4, 1,    {75, 118, 190},  {100, 125, 160, 200}},
    {11.2, 22.4, 1.25, {85, 132, 212},  {112, 140, 180, 224}},
    {11.2, 22.4, 1.5,  {90, 140, 224},  {118, 150, 190, 236}},
    {11.2, 22.4, 1.75, {95, 150, 236},  {125, 160, 200, 250}},
    {11.2, 22.4, 2,    {100, 160, 250}, {132, 170, 212, 265}},
    {11.2, 22.4, 2.5,  {106, 170, 265}, {140, 180, 224, 280}},
    {22.4, 45, 1,      {80, 125, 200},  {106, 132, 170, 212}},
    {22.4, 45, 1.5,    {95, 150, 236},  {125, 160, 200, 250}},
    {22.4, 45, 2,      {106, 170, 265}, {140, 180, 224, 280}},
    {22.4, 45, 3,      {125, 200, 315}, {170, 212, 265, 335}},
    {22.4, 45, 3.5,    {132, 212, 335}, {180, 224, 280, 355}},
    {22.4, 45, 4,      {140, 224, 355}, {190, 236, 300, 375}},
});
// clang-format on

constexpr double kMmPerUm = 0.001;

double ToMicrometre(double value_mm) { return std::round(value_mm * 1000) / 1000; }

const PitchRow* FindPitch(double pitch_mm) {
  for (const PitchRow& row : kPitches) {
    if (std::abs(row.pitch_mm - pitch_mm) < 1e-9) return &row;
  }
  return nullptr;
}
const RangeRow* FindRange(double major_mm, double pitch_mm) {
  for (const RangeRow& row : kRanges) {
    const bool within = major_mm > row.over_mm && major_mm <= row.up_to_mm;
    if (within && std::abs(row.pitch_mm - pitch_mm) < 1e-9) return &row;
  }
  return nullptr;
}

Unexpected NoSuchGrade(const ThreadRow& row, std::string_view klass) {
  return Unexpected(Error{
      ErrorCode::kOutOfRange,
      fmt::format("ISO 965-1 gives no tolerance of class {} for a pitch of {:g} mm", klass,
                  row.pitch_mm),
      std::string(klass),
      "6H and 6G begin at a pitch of 0.3 mm, 5H at 0.25 mm, 6e and 7H at 0.5 mm, 8g at 0.8 mm",
      {}});
}

}  // namespace

Result<ExternalThreadLimits> MetricExternalLimits(const ThreadRow& row, std::string_view klass) {
  const PitchRow* pitch = FindPitch(row.pitch_mm);
  const RangeRow* range = FindRange(row.major_mm, row.pitch_mm);
  FW_CHECK(pitch != nullptr && range != nullptr, row.designation);
  const std::size_t grade = static_cast<std::size_t>(klass.front() - '4') / 2;
  const char letter = klass.back();
  const int deviation_um = letter == 'h' ? 0 : letter == 'g' ? pitch->g_um : pitch->e_um;
  const bool none = letter == 'e' && pitch->e_um == 0;
  if (none || pitch->td_um[grade] == 0 || range->td2_um[grade] == 0) {
    return NoSuchGrade(row, klass);
  }
  const double major = ToMicrometre(row.major_mm) - deviation_um * kMmPerUm;
  const double pitch_mm = ToMicrometre(PitchDiameter_mm(row)) - deviation_um * kMmPerUm;
  return ExternalThreadLimits{{major - pitch->td_um[grade] * kMmPerUm, major},
                              {pitch_mm - range->td2_um[grade] * kMmPerUm, pitch_mm},
                              std::nullopt};
}

Result<InternalThreadLimits> MetricInternalLimits(const ThreadRow& row, std::string_view klass) {
  const PitchRow* pitch = FindPitch(row.pitch_mm);
  const RangeRow* range = FindRange(row.major_mm, row.pitch_mm);
  FW_CHECK(pitch != nullptr && range != nullptr, row.designation);
  const auto grade = static_cast<std::size_t>(klass.front() - '4');
  if (pitch->td1_um[grade] == 0 || range->tD2_um[grade] == 0) return NoSuchGrade(row, klass);
  const double deviation_mm = klass.back() == 'G' ? pitch->g_um * kMmPerUm : 0;
  const double pitch_mm = ToMicrometre(PitchDiameter_mm(row)) + deviation_mm;
  const double minor_mm = ToMicrometre(MinorDiameter_mm(row)) + deviation_mm;
  return InternalThreadLimits{row.major_mm + deviation_mm,
                              {pitch_mm, pitch_mm + range->tD2_um[grade] * kMmPerUm},
                              {minor_mm, minor_mm + pitch->td1_um[grade] * kMmPerUm}};
}

}  // namespace fitwright::trade
