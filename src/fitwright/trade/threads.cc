#include "fitwright/trade/threads.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <string>

#include "fitwright/trade/nearest.h"
#include "fitwright/units/geometry.h"

namespace fitwright::trade {
namespace {

// ISO 68-1: H = sqrt(3)/2 P; d2 = d - 3/4 H, D1 = d - 5/4 H, d3 = d - 17/12 H.
// ASME B1.1, rounded root (UNR), reference: D - 11/8 H.
constexpr double kHeightPerPitch = 0.86602540378443864676;
// BS 84, ISO 228-1: two thirds of the sharp 55 degree vee.
constexpr double kWhitworthDepth_pitches = 0.640327;
// BS 93: 0.6 p, which its table prints to 0.005 mm.
constexpr double kBaDepth_pitches = 0.6;
constexpr double kBaDepthStep_mm = 0.005;

constexpr double kSame_mm = 1e-6;
// A number size is 0.013 in more for each number from 0.060 in (ASME B1.1).
constexpr double kNumberZero_in = 0.060;
constexpr double kNumberStep_in = 0.013;

// Small letters, without spaces and inch marks.
std::string Plain(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    if (c == ' ' || c == '"') continue;
    plain += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return plain;
}

bool TakeFront(std::string_view& text, std::string_view front) {
  if (!text.starts_with(front)) return false;
  text.remove_prefix(front.size());
  return true;
}
bool TakeBack(std::string_view& text, std::string_view back) {
  if (!text.ends_with(back)) return false;
  text.remove_suffix(back.size());
  return true;
}

// All of the text as a number of digits with at most one point; nothing else.
std::optional<double> PlainNumber(std::string_view text) {
  if (text.find_first_not_of("0123456789.") != std::string_view::npos) return std::nullopt;
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return std::nullopt;
  return value;
}

// "1/4", "0.25", "1".
std::optional<double> Inches(std::string_view text) {
  const std::size_t slash = text.find('/');
  if (slash == std::string_view::npos) return PlainNumber(text);
  const auto over = PlainNumber(text.substr(0, slash));
  const auto under = PlainNumber(text.substr(slash + 1));
  if (!over || !under || *under == 0) return std::nullopt;
  return *over / *under;
}

std::span<const ThreadRow> RowsOf(ThreadSeries series) {
  if (IsMetric(series)) return MetricThreads();
  if (IsUnified(series)) return UnifiedThreads();
  if (series == ThreadSeries::kBa) return BaThreads();
  return series == ThreadSeries::kPipe ? PipeThreads() : WhitworthThreads();
}

// What is asked for; pitch or threads to the inch may be left out (0).
struct Wanted {
  double major_mm = 0;
  double pitch_mm = 0;
  double per_inch = 0;
  std::optional<ThreadSeries> series;
};

bool Fits(const ThreadRow& row, const Wanted& wanted) {
  if (std::abs(row.major_mm - wanted.major_mm) > kSame_mm) return false;
  if (wanted.series && row.series != *wanted.series) return false;
  if (wanted.per_inch > 0 && std::abs(row.per_inch - wanted.per_inch) > kSame_mm) return false;
  return wanted.pitch_mm <= 0 || std::abs(row.pitch_mm - wanted.pitch_mm) < kSame_mm;
}

// The only row that fits; null for none and for several.
const ThreadRow* OnlyRow(std::span<const ThreadRow> rows, const Wanted& wanted) {
  const ThreadRow* found = nullptr;
  for (const ThreadRow& row : rows) {
    if (!Fits(row, wanted)) continue;
    if (found != nullptr) return nullptr;
    found = &row;
  }
  return found;
}

// After the "m": "3", "3x0.5".
const ThreadRow* FindMetric(std::string_view text) {
  const std::size_t cross = text.find('x');
  const auto size = PlainNumber(text.substr(0, cross));
  if (!size) return nullptr;
  Wanted wanted;
  wanted.major_mm = *size;
  if (cross == std::string_view::npos) {
    wanted.series = ThreadSeries::kIsoCoarse;
  } else {
    const auto pitch = PlainNumber(text.substr(cross + 1));
    if (!pitch || *pitch <= 0) return nullptr;
    wanted.pitch_mm = *pitch;
  }
  return OnlyRow(MetricThreads(), wanted);
}

// Size and threads to the inch: "1/4-20", "#4-40", "no.4-40", "4-40", "1/4x40", and the size alone.
const ThreadRow* FindInch(std::string_view text, std::optional<ThreadSeries> series,
                          bool inch_mark) {
  const bool number = TakeFront(text, "#") || TakeFront(text, "no.") || TakeFront(text, "no");
  const std::size_t split = text.find_first_of("-x");
  const std::string_view size_text = text.substr(0, split);
  Wanted wanted;
  wanted.series = series;
  if (split != std::string_view::npos) {
    const auto per_inch = PlainNumber(text.substr(split + 1));
    if (!per_inch || *per_inch <= 0) return nullptr;
    wanted.per_inch = *per_inch;
  } else if (!series) {
    return nullptr;
  }
  const auto size = number ? PlainNumber(size_text) : Inches(size_text);
  if (!size) return nullptr;
  const auto rows = RowsOf(series.value_or(ThreadSeries::kUnc));
  const bool whole = size_text.find_first_of("./") == std::string_view::npos;
  const ThreadRow* by_number = nullptr;
  if (number || (whole && !inch_mark)) {
    wanted.major_mm = (kNumberZero_in + kNumberStep_in * *size) * kMmPerInch;
    by_number = OnlyRow(rows, wanted);
  }
  if (number) return by_number;
  wanted.major_mm = *size * kMmPerInch;
  const ThreadRow* by_inch = OnlyRow(rows, wanted);
  // "1 UNC" may be number 1 or one inch: not guessed.
  if (by_number != nullptr && by_inch != nullptr) return nullptr;
  return by_number != nullptr ? by_number : by_inch;
}

const ThreadRow* FindNamed(std::span<const ThreadRow> rows, std::string_view plain) {
  for (const ThreadRow& row : rows) {
    if (Plain(row.designation) == plain) return &row;
  }
  return nullptr;
}

}  // namespace

std::vector<const ThreadRow*> AllThreads() {
  std::vector<const ThreadRow*> all;
  for (const auto rows :
       {MetricThreads(), UnifiedThreads(), BaThreads(), WhitworthThreads(), PipeThreads()}) {
    for (const ThreadRow& row : rows) all.push_back(&row);
  }
  return all;
}

const ThreadRow* FindThread(std::string_view designation) {
  const std::string plain = Plain(designation);
  const bool inch_mark = designation.find('"') != std::string_view::npos;
  std::string_view text = plain;
  if (text.empty()) return nullptr;
  if (text.front() == 'm') return FindMetric(text.substr(1));
  if (text.front() == 'g') return FindNamed(PipeThreads(), text);
  if (TakeBack(text, "bspp")) return FindNamed(PipeThreads(), "g" + std::string(text));
  if (TakeFront(text, "ba") || TakeBack(text, "ba")) {
    return FindNamed(BaThreads(), std::string(text) + "ba");
  }
  constexpr std::pair<std::string_view, ThreadSeries> kSuffixes[] = {
      {"unef", ThreadSeries::kUnef}, {"unf", ThreadSeries::kUnf}, {"unc", ThreadSeries::kUnc},
      {"bsw", ThreadSeries::kBsw},   {"bsf", ThreadSeries::kBsf}, {"me", ThreadSeries::kModel}};
  for (const auto& [suffix, series] : kSuffixes) {
    if (TakeBack(text, suffix)) return FindInch(text, series, inch_mark);
  }
  // "1/4x40" without its series is the model maker's way of writing, not the unified one.
  return text.find('x') == std::string_view::npos ? FindInch(text, std::nullopt, inch_mark)
                                                  : nullptr;
}

std::vector<std::string_view> NearestThreads(std::string_view designation) {
  std::vector<std::string_view> known;
  for (const ThreadRow* row : AllThreads()) known.push_back(row->designation);
  return NearestWords(designation, known, 3);
}

std::string_view KnownThreads() {
  return "ISO metric M1 to M36 (M6, M6x0.75), unified #0 to 1 in (1/4-20 UNC, #4-40), BA (2 BA), "
         "BSW and BSF (1/4 BSW), model maker's (1/4x40 ME) and G1/16 to G1/2";
}

bool IsMetric(ThreadSeries series) {
  return series == ThreadSeries::kIsoCoarse || series == ThreadSeries::kIsoFine;
}
bool IsUnified(ThreadSeries series) {
  return series == ThreadSeries::kUnc || series == ThreadSeries::kUnf ||
         series == ThreadSeries::kUnef;
}
bool IsWhitworthForm(ThreadSeries series) {
  return !IsMetric(series) && !IsUnified(series) && series != ThreadSeries::kBa;
}

std::string_view StandardOf(ThreadSeries series) {
  switch (series) {
    case ThreadSeries::kIsoCoarse:
    case ThreadSeries::kIsoFine:
      return "ISO 261, ISO 724";
    case ThreadSeries::kUnc:
    case ThreadSeries::kUnf:
    case ThreadSeries::kUnef:
      return "ASME B1.1";
    case ThreadSeries::kBa:
      return "BS 93";
    case ThreadSeries::kBsw:
    case ThreadSeries::kBsf:
      return "BS 84";
    case ThreadSeries::kModel:
      return "55 degrees as BS 84, sizes by common practice";
    case ThreadSeries::kPipe:
      return "ISO 228-1";
  }
  FailCheck("series has a standard", __FILE__, __LINE__, WordOf(series).data());
}

double BasicDepth_mm(const ThreadRow& row) {
  if (IsWhitworthForm(row.series)) return kWhitworthDepth_pitches * row.pitch_mm;
  if (row.series == ThreadSeries::kBa) {
    return std::round(kBaDepth_pitches * row.pitch_mm / kBaDepthStep_mm) * kBaDepthStep_mm;
  }
  return 0.625 * kHeightPerPitch * row.pitch_mm;
}

double PitchDiameter_mm(const ThreadRow& row) {
  if (IsMetric(row.series) || IsUnified(row.series)) {
    return row.major_mm - 0.75 * kHeightPerPitch * row.pitch_mm;
  }
  return row.major_mm - BasicDepth_mm(row);
}

double MinorDiameter_mm(const ThreadRow& row) { return row.major_mm - 2 * BasicDepth_mm(row); }

double RootDiameter_mm(const ThreadRow& row) {
  if (IsMetric(row.series)) return row.major_mm - 17.0 / 12.0 * kHeightPerPitch * row.pitch_mm;
  if (IsUnified(row.series)) return row.major_mm - 11.0 / 8.0 * kHeightPerPitch * row.pitch_mm;
  return MinorDiameter_mm(row);
}

double PointDepth_mm(const ThreadRow& row, bool inside) {
  return inside ? BasicDepth_mm(row) : (row.major_mm - RootDiameter_mm(row)) / 2;
}

double IncludedAngle_deg(const ThreadRow& row) {
  if (row.series == ThreadSeries::kBa) return 47.5;
  return IsWhitworthForm(row.series) ? 55 : 60;
}

}  // namespace fitwright::trade
