#include "fitwright/trade/fits.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "fitwright/base/check.h"
#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

// ISO 286-1:2010 / ISO 286-2:2010. All tables in micrometres. A step is "over the one before, up to
// and including". How come by: IT grades and d..s read in public transcriptions that agree; a b c j
// t u read in one; J6..J8, cd ef fg, v..zc from memory. fits_test.cc names what each was checked
// against.
constexpr std::array<double, 13> kMainSteps_mm{3,   6,   10,  18,  30,  50, 80,
                                               120, 180, 250, 315, 400, 500};
constexpr std::array<double, 25> kFineSteps_mm{3,   6,   10,  14,  18,  24,  30,  40,  50,
                                               65,  80,  100, 120, 140, 160, 180, 200, 225,
                                               250, 280, 315, 355, 400, 450, 500};
constexpr int kGrades = 18;

// ISO 286-1 table 1: IT1..IT18 for each main step.
constexpr double kGrade_um[13][kGrades] = {
    {0.8, 1.2, 2, 3, 4, 6, 10, 14, 25, 40, 60, 100, 140, 250, 400, 600, 1000, 1400},
    {1, 1.5, 2.5, 4, 5, 8, 12, 18, 30, 48, 75, 120, 180, 300, 480, 750, 1200, 1800},
    {1, 1.5, 2.5, 4, 6, 9, 15, 22, 36, 58, 90, 150, 220, 360, 580, 900, 1500, 2200},
    {1.2, 2, 3, 5, 8, 11, 18, 27, 43, 70, 110, 180, 270, 430, 700, 1100, 1800, 2700},
    {1.5, 2.5, 4, 6, 9, 13, 21, 33, 52, 84, 130, 210, 330, 520, 840, 1300, 2100, 3300},
    {1.5, 2.5, 4, 7, 11, 16, 25, 39, 62, 100, 160, 250, 390, 620, 1000, 1600, 2500, 3900},
    {2, 3, 5, 8, 13, 19, 30, 46, 74, 120, 190, 300, 460, 740, 1200, 1900, 3000, 4600},
    {2.5, 4, 6, 10, 15, 22, 35, 54, 87, 140, 220, 350, 540, 870, 1400, 2200, 3500, 5400},
    {3.5, 5, 8, 12, 18, 25, 40, 63, 100, 160, 250, 400, 630, 1000, 1600, 2500, 4000, 6300},
    {4.5, 7, 10, 14, 20, 29, 46, 72, 115, 185, 290, 460, 720, 1150, 1850, 2900, 4600, 7200},
    {6, 8, 12, 16, 23, 32, 52, 81, 130, 210, 320, 520, 810, 1300, 2100, 3200, 5200, 8100},
    {7, 9, 13, 18, 25, 36, 57, 89, 140, 230, 360, 570, 890, 1400, 2300, 3600, 5700, 8900},
    {8, 10, 15, 20, 27, 40, 63, 97, 155, 250, 400, 630, 970, 1550, 2500, 4000, 6300, 9700}};

// IT01 and IT0, from memory; IT0 over 50 to 80 mm (1.2) is one that transcriptions get wrong.
constexpr std::array<double, 13> kGrade01_um{0.3, 0.4, 0.4, 0.5, 0.6, 0.6, 0.8,
                                             1,   1.2, 2,   2.5, 3,   4};
constexpr std::array<double, 13> kGrade0_um{0.5, 0.6, 0.6, 0.8, 1, 1, 1.2, 1.5, 2, 3, 4, 5, 6};

constexpr double kNone = 1e9;  // the standard gives no value at this step

// Upper deviations es of shafts a..h, main steps.
struct MainRow {
  std::string_view letters;
  std::array<double, 13> um;
};
constexpr MainRow kClearanceMain[] = {
    {"cd", {-34, -46, -56, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone}},
    {"d", {-20, -30, -40, -50, -65, -80, -100, -120, -145, -170, -190, -210, -230}},
    {"e", {-14, -20, -25, -32, -40, -50, -60, -72, -85, -100, -110, -125, -135}},
    {"ef", {-10, -14, -18, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone}},
    {"f", {-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68}},
    {"fg", {-4, -6, -8, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone, kNone}},
    {"g", {-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20}},
    {"h", {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}}};

struct FineRow {
  std::string_view letters;
  std::array<double, 25> um;
};
// Upper deviations es, fine steps. a and b are not used up to 1 mm.
constexpr FineRow kClearanceFine[] = {
    {"a", {-270, -270, -280, -290, -290, -300, -300, -310,  -320,  -340,  -360,  -380, -410,
           -460, -520, -580, -660, -740, -820, -920, -1050, -1200, -1350, -1500, -1650}},
    {"b", {-140, -140, -150, -150, -150, -160, -160, -170, -180, -190, -200, -220, -240,
           -260, -280, -310, -340, -380, -420, -480, -540, -600, -680, -760, -840}},
    {"c", {-60,  -70,  -80,  -95,  -95,  -110, -110, -120, -130, -140, -150, -170, -180,
           -200, -210, -230, -240, -260, -280, -300, -330, -360, -400, -440, -480}}};

// Lower deviations ei of shafts m..p, main steps; k is for IT4 to IT7, 0 at other grades.
constexpr MainRow kTightMain[] = {{"k", {0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5}},
                                  {"m", {2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23}},
                                  {"n", {4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40}},
                                  {"p", {6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68}}};

// Lower deviations ei, fine steps.
constexpr FineRow kTightFine[] = {
    {"r", {10, 15, 19, 23, 23, 28, 28, 34, 34,  41,  43,  51, 54,
           63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132}},
    {"s", {14, 19,  23,  28,  28,  35,  35,  43,  43,  53,  59,  71, 79,
           92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252}},
    {"t", {kNone, kNone, kNone, kNone, kNone, kNone, 41,  48,  54,  66,  75,  91, 104,
           122,   134,   146,   166,   180,   196,   218, 240, 268, 294, 330, 360}},
    {"u", {18,  23,  28,  33,  33,  41,  48,  60,  70,  87,  102, 124, 144,
           170, 190, 210, 236, 258, 284, 315, 350, 390, 435, 490, 540}},
    {"v", {kNone, kNone, kNone, kNone, 39,  47,  55,  68,  81,  102, 120, 146, 172,
           202,   228,   252,   284,   310, 340, 385, 425, 475, 530, 595, 660}},
    {"x", {20,  28,  34,  40,  45,  54,  64,  80,  97,  122, 146, 178, 210,
           248, 280, 310, 350, 385, 425, 475, 525, 590, 660, 740, 820}},
    {"y", {kNone, kNone, kNone, kNone, kNone, 63,  75,  94,  114, 144, 174, 214, 254,
           300,   340,   380,   425,   470,   520, 580, 650, 730, 820, 920, 1000}},
    {"z", {26,  35,  42,  50,  60,  73,  88,  112, 136, 172,  210,  258, 310,
           365, 415, 465, 520, 575, 640, 710, 790, 900, 1000, 1100, 1250}},
    {"za", {32,  42,  52,  64,  77,  98,  118, 148,  180,  226,  274,  335, 400,
            470, 535, 600, 670, 740, 820, 920, 1000, 1150, 1300, 1450, 1600}},
    {"zb", {40,  50,  67,  90,  108, 136,  160,  200,  242,  300,  360,  445, 525,
            620, 700, 780, 880, 960, 1050, 1200, 1300, 1500, 1650, 1850, 2100}},
    {"zc", {60,  80,  97,   130,  150,  188,  218,  274,  325,  405,  480,  585, 690,
            800, 900, 1000, 1150, 1250, 1350, 1550, 1700, 1900, 2100, 2400, 2600}}};

// Lower deviations ei of shafts j5 and j6, j7, main steps; j8 up to 3 mm only.
constexpr std::array<double, 13> kShaftJ5J6_um{-2, -2,  -2,  -3,  -4,  -5, -7,
                                               -9, -11, -13, -16, -18, -20};
constexpr std::array<double, 13> kShaftJ7_um{-4,  -4,  -5,  -6,  -8,  -10, -12,
                                             -15, -18, -21, -26, -28, -32};
constexpr double kShaftJ8To3_um = -6;
// Upper deviations ES of holes J6, J7, J8, main steps.
constexpr std::array<double, 13> kHoleJ_um[3] = {
    {2, 5, 5, 6, 8, 10, 13, 16, 18, 22, 25, 29, 33},
    {4, 6, 8, 10, 12, 14, 18, 22, 26, 30, 36, 39, 43},
    {6, 10, 12, 15, 20, 24, 28, 34, 41, 47, 55, 60, 66}};

// Relative slack so that 3.0000000000000004 is still the step up to and including 3.
constexpr double kStepSlack = 1e-12;

template <std::size_t N>
std::size_t StepOf(const std::array<double, N>& steps, double nominal_mm) {
  std::size_t i = 0;
  while (i + 1 < N && nominal_mm > steps[i] * (1 + kStepSlack)) ++i;
  return i;
}

bool InRange(double nominal_mm) {
  return nominal_mm > 0 && nominal_mm <= kFitRange_mm * (1 + kStepSlack);
}

double Grade_um(double nominal_mm, int grade) {
  return kGrade_um[StepOf(kMainSteps_mm, nominal_mm)][grade - 1];
}

template <typename Rows>
const auto* FindRow(const Rows& rows, std::string_view letters) {
  for (const auto& row : rows) {
    if (row.letters == letters) return &row;
  }
  return static_cast<decltype(&rows[0])>(nullptr);
}

std::optional<double> Given(double um) {
  return um == kNone ? std::nullopt : std::optional<double>(um);
}

// Upper deviation es of the clearance shafts a..h.
std::optional<double> ClearanceDeviation_um(std::string_view letters, double nominal_mm) {
  if (const MainRow* row = FindRow(kClearanceMain, letters)) {
    return Given(row->um[StepOf(kMainSteps_mm, nominal_mm)]);
  }
  if (const FineRow* row = FindRow(kClearanceFine, letters)) {
    if (letters != "c" && nominal_mm <= 1) return std::nullopt;
    return Given(row->um[StepOf(kFineSteps_mm, nominal_mm)]);
  }
  return std::nullopt;
}

// Lower deviation ei of the shafts k..zc as tabled (k: as for IT4 to IT7).
std::optional<double> TightDeviation_um(std::string_view letters, double nominal_mm) {
  if (const MainRow* row = FindRow(kTightMain, letters)) {
    return Given(row->um[StepOf(kMainSteps_mm, nominal_mm)]);
  }
  if (const FineRow* row = FindRow(kTightFine, letters)) {
    return Given(row->um[StepOf(kFineSteps_mm, nominal_mm)]);
  }
  return std::nullopt;
}

struct Deviations_um {
  double lower = 0;
  double upper = 0;
};

std::optional<Deviations_um> ShaftJ(double nominal_mm, int grade) {
  const std::size_t step = StepOf(kMainSteps_mm, nominal_mm);
  double lower = kNone;
  if (grade == 5 || grade == 6) lower = kShaftJ5J6_um[step];
  if (grade == 7) lower = kShaftJ7_um[step];
  if (grade == 8 && step == 0) lower = kShaftJ8To3_um;
  if (lower == kNone) return std::nullopt;
  return Deviations_um{lower, lower + Grade_um(nominal_mm, grade)};
}

std::optional<Deviations_um> HoleJ(double nominal_mm, int grade) {
  if (grade < 6 || grade > 8) return std::nullopt;
  const double upper = kHoleJ_um[grade - 6][StepOf(kMainSteps_mm, nominal_mm)];
  return Deviations_um{upper - Grade_um(nominal_mm, grade), upper};
}

std::optional<Deviations_um> Shaft(std::string_view letters, double nominal_mm, int grade) {
  const double width = Grade_um(nominal_mm, grade);
  if (letters == "js") return Deviations_um{-width / 2, width / 2};
  if (letters == "j") return ShaftJ(nominal_mm, grade);
  if (const auto upper = ClearanceDeviation_um(letters, nominal_mm)) {
    return Deviations_um{*upper - width, *upper};
  }
  auto lower = TightDeviation_um(letters, nominal_mm);
  if (!lower) return std::nullopt;
  if (letters == "k" && (grade < 4 || grade > 7)) lower = 0;
  return Deviations_um{*lower, *lower + width};
}

// Upper deviation ES of holes K..ZC, ISO 286-1: -ei of the shaft of the same letters, plus delta =
// ITn - IT(n-1) for sizes over 3 mm, grades to 8 (K M N) or 7 (P to ZC).
std::optional<double> TightHoleUpper_um(std::string_view shaft, double nominal_mm, int grade) {
  constexpr int kLeastDeltaGrade = 3;
  const bool kmn = shaft == "k" || shaft == "m" || shaft == "n";
  const int last_delta_grade = kmn ? 8 : 7;
  const auto lower = TightDeviation_um(shaft, nominal_mm);
  if (!lower) return std::nullopt;
  const bool small = StepOf(kMainSteps_mm, nominal_mm) == 0;
  if (shaft == "k" && (small || grade > last_delta_grade)) return 0;
  if (shaft == "n" && grade > last_delta_grade) {
    if (nominal_mm <= 1) return std::nullopt;
    return small ? -*lower : 0;
  }
  if (small || grade > last_delta_grade) return -*lower;
  if (grade < kLeastDeltaGrade) return std::nullopt;
  // The one exception in the table: M6 over 250 to 315 mm.
  if (shaft == "m" && grade == 6 && nominal_mm > 250 && nominal_mm <= 315) return -9;
  return -*lower + Grade_um(nominal_mm, grade) - Grade_um(nominal_mm, grade - 1);
}

std::optional<Deviations_um> Hole(std::string_view shaft, double nominal_mm, int grade) {
  const double width = Grade_um(nominal_mm, grade);
  if (shaft == "js") return Deviations_um{-width / 2, width / 2};
  if (shaft == "j") return HoleJ(nominal_mm, grade);
  if (const auto upper = ClearanceDeviation_um(shaft, nominal_mm)) {
    return Deviations_um{-*upper, -*upper + width};
  }
  const auto upper = TightHoleUpper_um(shaft, nominal_mm, grade);
  if (!upper) return std::nullopt;
  return Deviations_um{*upper - width, *upper};
}

struct FitName {
  bool hole = false;
  std::string letters;  // lower case
  int grade = 0;
};

std::optional<FitName> ReadFitName(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  FitName name;
  const auto lower = [](char c) { return c >= 'a' && c <= 'z'; };
  const auto upper = [](char c) { return c >= 'A' && c <= 'Z'; };
  std::size_t at = 0;
  name.hole = !text.empty() && upper(text.front());
  while (at < text.size() && (name.hole ? upper(text[at]) : lower(text[at]))) {
    name.letters += static_cast<char>(name.hole ? text[at] - 'A' + 'a' : text[at]);
    ++at;
  }
  if (at == 0 || at > 2 || at == text.size()) return std::nullopt;
  const auto read = std::from_chars(text.data() + at, text.data() + text.size(), name.grade);
  const bool whole = read.ec == std::errc{} && read.ptr == text.data() + text.size();
  if (!whole || name.grade < 1 || name.grade > kGrades) return std::nullopt;
  return name;
}

std::optional<Error> SizeFault(double nominal_mm) {
  return RangeFault(nominal_mm, 0, kFitRange_mm, "a fit");
}

}  // namespace

double ToleranceGrade_mm(double nominal_mm, int grade) {
  FW_CHECK(InRange(nominal_mm) && grade >= 1 && grade <= kGrades, nominal_mm, grade);
  return Grade_um(nominal_mm, grade) / 1000;
}

Result<FitLimits> FindFit(double nominal_mm, std::string_view fit) {
  if (auto fault = SizeFault(nominal_mm)) return Unexpected(*std::move(fault));
  const auto name = ReadFitName(fit);
  if (!name) {
    return Unexpected(Fault(ErrorCode::kUnknownFit, std::string(fit),
                            "this is not an ISO 286 tolerance class (a letter or two and a grade)",
                            "write H7 for a hole or g6 for a shaft, for example"));
  }
  const auto deviations = name->hole ? Hole(name->letters, nominal_mm, name->grade)
                                     : Shaft(name->letters, nominal_mm, name->grade);
  if (!deviations) {
    return Unexpected(
        Fault(ErrorCode::kUnknownFit, std::string(fit),
              fmt::format("ISO 286 gives no such tolerance class at {} mm", nominal_mm),
              name->hole ? "use one it gives, such as F8, H7, JS7 or P7, or write limits"
                         : "use one it gives, such as f7, g6, h6, js6 or p6, or write limits"));
  }
  return FitLimits{deviations->lower / 1000, deviations->upper / 1000, name->hole, name->grade};
}

Result<double> FindToleranceGrade_mm(double nominal_mm, std::string_view grade) {
  if (auto fault = SizeFault(nominal_mm)) return Unexpected(*std::move(fault));
  const std::size_t step = StepOf(kMainSteps_mm, nominal_mm);
  if (grade == "IT01") return kGrade01_um[step] / 1000;
  if (grade == "IT0") return kGrade0_um[step] / 1000;
  int number = 0;
  const char* const end = grade.data() + grade.size();
  if (grade.size() >= 3 && grade.size() <= 4 && grade.starts_with("IT") && grade[2] != '0') {
    const auto read = std::from_chars(grade.data() + 2, end, number);
    if (read.ec != std::errc{} || read.ptr != end) number = 0;
  }
  if (number < 1 || number > kGrades) {
    return Unexpected(Fault(ErrorCode::kUnknownFit, std::string(grade),
                            "this is not a grade of ISO 286-1", "write IT01, IT0 or IT1 to IT18"));
  }
  return ToleranceGrade_mm(nominal_mm, number);
}

Result<Size> MakeFitSize(double nominal_mm, std::string_view fit) {
  const auto limits = FindFit(nominal_mm, fit);
  if (!limits) return Unexpected(limits.error());
  Size size;
  size.nominal_mm = nominal_mm;
  size.lower_mm = nominal_mm + limits->lower_mm;
  size.upper_mm = nominal_mm + limits->upper_mm;
  size.origin = LimitsOrigin::kFit;
  size.fit = std::string(fit);
  return size;
}

std::vector<std::string> KnownFits(double nominal_mm, bool hole) {
  constexpr std::string_view kLetters[] = {"a", "b", "c",  "cd", "d", "e",  "ef", "f", "fg", "g",
                                           "h", "j", "js", "k",  "m", "n",  "p",  "r", "s",  "t",
                                           "u", "v", "x",  "y",  "z", "za", "zb", "zc"};
  std::vector<std::string> known;
  if (!InRange(nominal_mm)) return known;
  for (const std::string_view letters : kLetters) {
    std::string shown(letters);
    for (char& c : shown) c = hole ? static_cast<char>(c - 'a' + 'A') : c;
    for (int grade = 5; grade <= 11; ++grade) {
      const auto deviations =
          hole ? Hole(letters, nominal_mm, grade) : Shaft(letters, nominal_mm, grade);
      if (deviations) known.push_back(shown + std::to_string(grade));
    }
  }
  return known;
}

}  // namespace fitwright::trade
