#include "fitwright/trade/inch_fits.h"

#include <array>
#include <optional>
#include <string>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

constexpr double kThou_mm = 0.0254;
constexpr double kInch_mm = 25.4;
constexpr double kSlack = 1e-12;

// ASME B4.1-1967. Thousandths of an inch. RC (to 4.73 in), LT (to 3.15), LN (to 4.73), LC6 to LC11
// (to 1.19) and FN (to 3.94) were read as a handbook prints them, hole, shaft and limits of
// clearance agreeing in each row; LC1 to LC5 and LC6 to LC9 over 1.19 in are put together from the
// grades and allowances below, as the standard does. Rows beyond are left out.
constexpr std::size_t kSteps = 8;
using Row = std::array<double, kSteps>;
constexpr Row kSteps_in{0.12, 0.24, 0.40, 0.71, 1.19, 1.97, 3.15, 4.73};

// Grades 4 to 11 as the fits use them.
constexpr int kFirstGrade = 4;
constexpr std::array<Row, 8> kGrades = {{{0.15, 0.15, 0.15, 0.2, 0.25, 0.3, 0.3, 0.4},
                                         {0.2, 0.2, 0.25, 0.3, 0.4, 0.4, 0.5, 0.6},
                                         {0.25, 0.3, 0.4, 0.4, 0.5, 0.6, 0.7, 0.9},
                                         {0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.4},
                                         {0.6, 0.7, 0.9, 1.0, 1.2, 1.6, 1.8, 2.2},
                                         {1.0, 1.2, 1.4, 1.6, 2.0, 2.5, 3.0, 3.5},
                                         {1.6, 1.8, 2.2, 2.8, 3.5, 4.0, 4.5, 5.0},
                                         {2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 9.0}}};

// Allowances: what the shaft's upper limit lies under the nominal size.
constexpr Row kC = {2.5, 2.8, 3.0, 3.5, 4.5, 5.0, 6.0, 7.0};
constexpr Row kD = {1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0};
constexpr Row kE = {0.6, 0.8, 1.0, 1.2, 1.6, 2.0, 2.5, 3.0};
constexpr Row kF = {0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.4};
constexpr Row kG = {0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.4, 0.5};
constexpr Row kH = {0, 0, 0, 0, 0, 0, 0, 0};
constexpr Row kLoosest = {4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0};  // RC9

struct ClearanceFit {
  std::string_view name;
  int hole_grade;
  int shaft_grade;
  const Row* allowance;
};
constexpr ClearanceFit kClearance[] = {
    {"RC1", 5, 4, &kG},         {"RC2", 6, 5, &kG},  {"RC3", 7, 6, &kF}, {"RC4", 8, 7, &kF},
    {"RC5", 8, 7, &kE},         {"RC6", 9, 8, &kE},  {"RC7", 9, 8, &kD}, {"RC8", 10, 9, &kC},
    {"RC9", 11, 10, &kLoosest}, {"LC1", 6, 5, &kH},  {"LC2", 7, 6, &kH}, {"LC3", 8, 7, &kH},
    {"LC4", 10, 9, &kH},        {"LC5", 7, 6, &kG},  {"LC6", 9, 8, &kF}, {"LC7", 10, 9, &kE},
    {"LC8", 10, 9, &kD},        {"LC9", 11, 10, &kC}};
// The one row that the grades do not give: RC9 over 0.12 to 0.24 in prints the shaft -4.5 to -6.0,
// not -6.3.
constexpr std::size_t kRc9Odd = 1;
constexpr double kRc9OddWidth = 1.5;

// Fits whose shafts are tabled themselves: upper and lower limit; the hole by grade, or by width.
struct Limits {
  double upper;
  double lower;
};
constexpr double kNone = 1e9;
constexpr Limits kNoLimits{kNone, kNone};
struct TabledFit {
  std::string_view name;
  int hole_grade;
  std::array<Limits, kSteps> shaft;
};
constexpr TabledFit kTabled[] = {{"LT1",
                                  7,
                                  {{{0.12, -0.12},
                                    {0.15, -0.15},
                                    {0.2, -0.2},
                                    {0.2, -0.2},
                                    {0.25, -0.25},
                                    {0.3, -0.3},
                                    {0.3, -0.3},
                                    kNoLimits}}},
                                 {"LT2",
                                  8,
                                  {{{0.2, -0.2},
                                    {0.25, -0.25},
                                    {0.3, -0.3},
                                    {0.35, -0.35},
                                    {0.4, -0.4},
                                    {0.5, -0.5},
                                    {0.6, -0.6},
                                    kNoLimits}}},
                                 {"LT3",
                                  7,
                                  {{kNoLimits,
                                    kNoLimits,
                                    {0.5, 0.1},
                                    {0.5, 0.1},
                                    {0.6, 0.1},
                                    {0.7, 0.1},
                                    {0.8, 0.1},
                                    kNoLimits}}},
                                 {"LT4",
                                  8,
                                  {{kNoLimits,
                                    kNoLimits,
                                    {0.7, 0.1},
                                    {0.8, 0.1},
                                    {0.9, 0.1},
                                    {1.1, 0.1},
                                    {1.3, 0.1},
                                    kNoLimits}}},
                                 {"LT5",
                                  7,
                                  {{{0.5, 0.25},
                                    {0.6, 0.3},
                                    {0.8, 0.4},
                                    {0.9, 0.5},
                                    {1.1, 0.6},
                                    {1.3, 0.7},
                                    {1.5, 0.8},
                                    kNoLimits}}},
                                 {"LT6",
                                  7,
                                  {{{0.65, 0.25},
                                    {0.8, 0.3},
                                    {1.0, 0.4},
                                    {1.2, 0.5},
                                    {1.4, 0.6},
                                    {1.7, 0.7},
                                    {2.0, 0.8},
                                    kNoLimits}}},
                                 {"LN1",
                                  6,
                                  {{{0.45, 0.25},
                                    {0.5, 0.3},
                                    {0.65, 0.4},
                                    {0.8, 0.4},
                                    {1.0, 0.5},
                                    {1.1, 0.6},
                                    {1.3, 0.8},
                                    {1.6, 1.0}}}},
                                 {"LN2",
                                  7,
                                  {{{0.65, 0.4},
                                    {0.8, 0.5},
                                    {1.0, 0.6},
                                    {1.1, 0.7},
                                    {1.3, 0.8},
                                    {1.6, 1.0},
                                    {2.1, 1.4},
                                    {2.5, 1.6}}}},
                                 {"LN3",
                                  7,
                                  {{{0.75, 0.5},
                                    {0.9, 0.6},
                                    {1.2, 0.8},
                                    {1.4, 1.0},
                                    {1.7, 1.2},
                                    {2.0, 1.4},
                                    {2.3, 1.6},
                                    {2.9, 2.0}}}}};

// LC10 and LC11: hole width, allowance, shaft width; the shafts carry no letter.
struct WideFit {
  std::string_view name;
  std::array<double, 5> width;
  std::array<double, 5> allowance;
};
constexpr WideFit kWide[] = {{"LC10", {4, 5, 6, 7, 8}, {4, 4.5, 5, 6, 7}},
                             {"LC11", {6, 7, 9, 10, 12}, {5, 6, 7, 8, 10}}};

// Force fits have steps of their own.
constexpr std::size_t kForceSteps = 12;
constexpr std::array<double, kForceSteps> kForceSteps_in{0.12, 0.24, 0.40, 0.56, 0.71, 0.95,
                                                         1.19, 1.58, 1.97, 2.56, 3.15, 3.94};
struct ForceFit {
  std::string_view name;
  int hole_grade;
  std::array<Limits, kForceSteps> shaft;
};
constexpr ForceFit kForce[] = {{"FN1",
                                6,
                                {{{0.5, 0.3},
                                  {0.6, 0.4},
                                  {0.75, 0.5},
                                  {0.8, 0.5},
                                  {0.9, 0.6},
                                  {1.1, 0.7},
                                  {1.2, 0.8},
                                  {1.3, 0.9},
                                  {1.4, 1.0},
                                  {1.8, 1.3},
                                  {1.9, 1.4},
                                  {2.4, 1.8}}}},
                               {"FN2",
                                7,
                                {{{0.85, 0.6},
                                  {1.0, 0.7},
                                  {1.4, 1.0},
                                  {1.6, 1.2},
                                  {1.6, 1.2},
                                  {1.9, 1.4},
                                  {1.9, 1.4},
                                  {2.4, 1.8},
                                  {2.4, 1.8},
                                  {2.7, 2.0},
                                  {2.9, 2.2},
                                  {3.7, 2.8}}}},
                               {"FN3",
                                7,
                                {{kNoLimits,
                                  kNoLimits,
                                  kNoLimits,
                                  kNoLimits,
                                  kNoLimits,
                                  kNoLimits,
                                  {2.1, 1.6},
                                  {2.6, 2.0},
                                  {2.8, 2.2},
                                  {3.2, 2.5},
                                  {3.7, 3.0},
                                  {4.4, 3.5}}}},
                               {"FN4",
                                7,
                                {{{0.95, 0.7},
                                  {1.2, 0.9},
                                  {1.6, 1.2},
                                  {1.8, 1.4},
                                  {1.8, 1.4},
                                  {2.1, 1.6},
                                  {2.3, 1.8},
                                  {3.1, 2.5},
                                  {3.4, 2.8},
                                  {4.2, 3.5},
                                  {4.7, 4.0},
                                  {5.9, 5.0}}}},
                               {"FN5",
                                8,
                                {{{1.3, 0.9},
                                  {1.7, 1.2},
                                  {2.0, 1.4},
                                  {2.3, 1.6},
                                  {2.5, 1.8},
                                  {3.0, 2.2},
                                  {3.3, 2.5},
                                  {4.0, 3.0},
                                  {5.0, 4.0},
                                  {6.2, 5.0},
                                  {7.2, 6.0},
                                  {8.4, 7.0}}}}};

template <std::size_t N>
std::size_t StepOf(const std::array<double, N>& steps_in, double nominal_mm) {
  std::size_t i = 0;
  while (i + 1 < N && nominal_mm > steps_in[i] * kInch_mm * (1 + kSlack)) ++i;
  return i;
}

double GradeAt(double nominal_mm, int grade) {
  return kGrades[static_cast<std::size_t>(grade - kFirstGrade)][StepOf(kSteps_in, nominal_mm)];
}

InchFit InMm(double hole_width, Limits shaft) {
  InchFit fit;
  fit.hole_upper_mm = hole_width * kThou_mm;
  fit.shaft_lower_mm = shaft.lower * kThou_mm;
  fit.shaft_upper_mm = shaft.upper * kThou_mm;
  return fit;
}

std::string Plain(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    if (c == ' ') continue;
    plain += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  }
  return plain;
}

struct Found {
  double over_in = 0;  // tabled over
  double to_in = 0;    // up to and including
  InchFit fit;
};

InchFit Clearance(const ClearanceFit& row, double nominal_mm) {
  const std::size_t step = StepOf(kSteps_in, nominal_mm);
  double width = GradeAt(nominal_mm, row.shaft_grade);
  if (row.allowance == &kLoosest && step == kRc9Odd) width = kRc9OddWidth;
  const double upper = -(*row.allowance)[step];
  return InMm(GradeAt(nominal_mm, row.hole_grade), {upper, upper - width});
}

// A fit tabled by its shaft's limits, with the span of sizes that it has them for.
template <std::size_t N>
Found Tabled(const std::array<double, N>& steps_in, const std::array<Limits, N>& shaft,
             int hole_grade, double nominal_mm) {
  Found found;
  for (std::size_t i = 0; i < N; ++i) {
    const bool given = shaft[i].upper != kNone;
    if (!given && found.to_in == 0) found.over_in = steps_in[i];
    if (given) found.to_in = steps_in[i];
  }
  const Limits limits = shaft[StepOf(steps_in, nominal_mm)];
  if (limits.upper != kNone) found.fit = InMm(GradeAt(nominal_mm, hole_grade), limits);
  return found;
}

std::optional<Found> Look(std::string_view name, double nominal_mm) {
  for (const ClearanceFit& row : kClearance) {
    if (row.name == name) return Found{0, kSteps_in.back(), Clearance(row, nominal_mm)};
  }
  for (const TabledFit& row : kTabled) {
    if (row.name == name) return Tabled(kSteps_in, row.shaft, row.hole_grade, nominal_mm);
  }
  for (const ForceFit& row : kForce) {
    if (row.name == name) return Tabled(kForceSteps_in, row.shaft, row.hole_grade, nominal_mm);
  }
  for (const WideFit& row : kWide) {
    if (row.name != name) continue;
    Found found{0, kSteps_in[row.width.size() - 1], {}};
    const std::size_t step = StepOf(kSteps_in, nominal_mm);
    if (step < row.width.size()) {
      const double upper = -row.allowance[step];
      found.fit = InMm(row.width[step], {upper, upper - row.width[step]});
    }
    return found;
  }
  return std::nullopt;
}

}  // namespace

Result<InchFit> FindInchFit(double nominal_mm, std::string_view fit) {
  const std::string name = Plain(fit);
  const auto found = Look(name, nominal_mm);
  if (!found) {
    return Unexpected(Fault(ErrorCode::kUnknownFit, std::string(fit),
                            "this is not a fit of ASME B4.1",
                            "write RC1 to RC9, LC1 to LC11, LT1 to LT6, LN1 to LN3 or FN1 to FN5"));
  }
  const std::string what = fmt::format("the inch fit {}", name);
  if (auto fault = RangeFault(nominal_mm, found->over_in * kInch_mm * (1 + kSlack),
                              found->to_in * kInch_mm, what.c_str())) {
    return Unexpected(*std::move(fault));
  }
  return found->fit;
}

std::vector<std::string_view> InchFits() {
  std::vector<std::string_view> names;
  for (const ClearanceFit& row : kClearance) names.push_back(row.name);
  for (const WideFit& row : kWide) names.push_back(row.name);
  for (const TabledFit& row : kTabled) names.push_back(row.name);
  for (const ForceFit& row : kForce) names.push_back(row.name);
  return names;
}

Result<double> InchGrade_mm(double nominal_mm, int grade) {
  const int last = kFirstGrade + static_cast<int>(kGrades.size()) - 1;
  if (grade < kFirstGrade || grade > last) {
    return Unexpected(Fault(ErrorCode::kOutOfRange, fmt::format("{}", grade),
                            "the inch grades are tabled here from 4 to 11",
                            "choose a grade from 4 to 11"));
  }
  if (auto fault = RangeFault(nominal_mm, 0, kSteps_in.back() * kInch_mm, "an inch grade")) {
    return Unexpected(*std::move(fault));
  }
  return GradeAt(nominal_mm, grade) * kThou_mm;
}

}  // namespace fitwright::trade
